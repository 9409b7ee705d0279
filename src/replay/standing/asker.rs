//! What all standing questions share: where they start from, the settings that they are asked at, how a case is played,
//! and how long they look.

use super::influences::{Feeds, Influences, of_screen};
use crate::Row;
use crate::machine::{Deed, Machine, Till};
use crate::plan::ActorKind;
use crate::replay_circuit::ReplayCircuit;
use crate::setting::{Pick, Setting, Timing};
use crate::time::Time;
use circuit::{ActorId, Corner, Positions, State, position};
use explore::{About, Move};
use model::{InputId, ScreenId, Shown, WorksPromise};
use states::Solved;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// Maximum number of start states for the questions of one screen. With more, the simplest are used, and that is
/// reported.
pub const MOST_STARTS: usize = 256;

/// A move: an input, and the position that it is put to.
pub(super) type Put = (InputId, usize);

/// Where a question starts: the vehicle after a few moves, settled.
#[derive(Debug, Clone)]
pub(super) struct Start {
    /// Its name, as in a table of states.
    pub name: String,
    /// The moves that lead there from every input at rest.
    pub way: Vec<Put>,
    /// Where they lead to.
    pub positions: Positions,
    /// The state there at the nominal corner.
    pub state: State,
}

/// The subject of a question: what decides it, and the states that differ in that.
#[derive(Debug, Clone)]
pub(super) struct Subject {
    pub concern: Influences,
    pub starts: Vec<Start>,
    /// How many states differ in it, including those left out.
    pub states: usize,
}

/// A case to play: the moves to its start, and what happens from there.
#[derive(Debug, Clone)]
pub(super) struct Case {
    pub way: Vec<Put>,
    pub script: Vec<(Time, Deed)>,
    pub setting: Setting,
    /// Relays that move in a share of their time.
    pub quick: Vec<ActorId>,
    pub until: Time,
    /// Whether it may end sooner.
    pub till: Till,
}

/// Machines after earlier sequences of moves, so that a longer sequence continues from a shorter one.
type LeadIns = BTreeMap<(Corner, Timing, Vec<Put>), Rc<Machine>>;

/// Asks questions of a harness.
pub(super) struct Asker<'r> {
    pub replayed: ReplayCircuit<'r>,
    pub solved: &'r Solved<'r>,
    feeds: Feeds<'r>,
    /// Every settled state, simplest first, of a circuit that is solved as a whole.
    states: Option<Vec<State>>,
    screens: BTreeMap<ScreenId, Rc<Subject>>,
    lead_ins: LeadIns,
    has_timers: bool,
    /// Whether states that differ only in irrelevant inputs are left out.
    pub leaves_out: bool,
    /// How long a question plays: everything that takes time, one after the other, and some flashes.
    pub horizon: Time,
}

/// Longest time that a question plays.
const LONGEST: Time = Time::milliseconds(60_000);

/// The time for some slow flashes.
const FLASHES: Time = Time::milliseconds(6_000);

impl<'r> Asker<'r> {
    pub fn new(solved: &'r Solved<'r>) -> Asker<'r> {
        let replayed = ReplayCircuit::new(solved);
        let timers = replayed.plan.actors.iter().filter_map(|a| a.kind.timer());
        let longest = timers.clone().map(|t| Timing::Long.off(Time::of(t.set), t.tolerance));
        let starts = replayed.plan.starters.iter().map(|s| s.start_up);
        let screens = replayed.plan.screens.iter().map(|s| s.switch_over);
        let sum = longest.fold(Time::ZERO, |a, b| a + b)
            + starts.max().unwrap_or(Time::ZERO)
            + screens.max().unwrap_or(Time::ZERO);
        let has_timers = timers.clone().any(|t| t.tolerance.value() > 0.0);
        let horizon = (sum + FLASHES).min(LONGEST);
        let circuit = &solved.assembly.circuit;
        let mut states = vec![];
        let mut feeds = Feeds::new(circuit, solved.model.job.nominal);
        solved.exploration.visit(circuit, &mut |solution| {
            feeds.look(solution);
            states.push(solution.state.clone());
        });
        Asker {
            replayed,
            solved,
            feeds,
            // A circuit solved in zones only lists the states of each zone.
            states: (solved.exploration.zones() == 1).then(|| settled(solved, states)),
            screens: BTreeMap::new(),
            lead_ins: BTreeMap::new(),
            has_timers,
            leaves_out: true,
            horizon,
        }
    }

    /// The settings that a question is asked at: the usual one first, then every corner. Without flashers their rate
    /// doesn't matter, without timers their tolerance doesn't.
    pub fn settings(&self, flashing: bool) -> Vec<Setting> {
        let mut all = vec![Setting::default()];
        let mut corners = Setting::corners();
        corners.sort_by_key(|setting| setting.corner != Corner::NOMINAL);
        for mut setting in corners {
            if !flashing {
                (setting.rate, setting.duty) = (Pick::Middle, Pick::Middle);
            }
            if !self.has_timers {
                setting.timers = Timing::AsSet;
            }
            if !all.contains(&setting) {
                all.push(setting);
            }
        }
        all
    }

    /// What decides a screen's picture, and the states that differ in that.
    pub fn screen(&mut self, screen: ScreenId) -> Rc<Subject> {
        if let Some(subject) = self.screens.get(&screen) {
            return subject.clone();
        }
        let mut about = About::default();
        self.solved.about_screen(screen, &mut about);
        let subject = Rc::new(self.subject(of_screen(self.solved, &self.feeds, screen), &about));
        self.screens.insert(screen, subject.clone());
        subject
    }

    /// What decides whether a part works and should, and the states that differ in that.
    pub fn works(&mut self, promise: &WorksPromise) -> Subject {
        let about = self.solved.about_works(promise);
        let concern = self.feeds.concern(&about);
        self.subject(concern, &about)
    }

    /// What decides the positions of some actors, and the states that differ in that.
    pub fn actors(&mut self, actors: Vec<ActorId>) -> Subject {
        let about = About { actors, ..About::default() };
        let concern = self.feeds.concern(&about);
        self.subject(concern, &about)
    }

    /// Settled states that differ in what matters: the simplest of each kind, in order, simplest first.
    /// Flashers that are on stay on in them.
    fn subject(&mut self, mut concern: Influences, about: &About) -> Subject {
        let solved = self.solved;
        if !self.leaves_out {
            concern.inputs.fill(true);
            concern.actors.fill(true);
        }
        let apart = match &self.states {
            Some(_) => None,
            None => {
                let mut states = vec![];
                let mut each = |solution: &circuit::Solution| states.push(solution.state.clone());
                solved.exploration.visit_about(&solved.assembly.circuit, about, &mut each);
                Some(settled(solved, states))
            }
        };
        let mut seen = BTreeSet::new();
        let mut starts: Vec<Start> = vec![];
        for state in apart.iter().chain(&self.states).flatten() {
            let part = concern.part_of(state);
            if seen.contains(&part) {
                continue;
            }
            if starts.len() == MOST_STARTS {
                seen.insert(part);
                continue;
            }
            let Some(way) = solved.exploration.way_to(state).and_then(|way| plain(&way)) else { continue };
            seen.insert(part);
            let (name, positions) = (solved.state_words(state), state.positions.clone());
            starts.push(Start { name, way, positions, state: state.clone() });
        }
        Subject { concern, starts, states: seen.len() }
    }

    /// Screens with more states than were tried, and how many they have.
    pub fn left_out(&self) -> Vec<(ScreenId, usize)> {
        let cut = self.screens.iter().filter(|(_, subject)| subject.states > subject.starts.len());
        cut.map(|(screen, subject)| (*screen, subject.states)).collect()
    }

    /// The line of a screen's intent that applies after a start, and what it asks for.
    pub fn wanted(&self, screen: ScreenId, state: &State) -> Option<(usize, Shown)> {
        let views = &self.replayed.plan.screens[screen.0].views;
        let view = views.iter().position(|view| state.holds(view))?;
        Some((view, self.solved.model.screens[screen.0].views[view].show))
    }

    /// The harness after a sequence of moves, settled, with its flashers held on until the case begins.
    pub fn lead_in(&mut self, setting: &Setting, way: &[Put]) -> Machine {
        (*self.led_in(setting, way)).clone().flashing_as(setting)
    }

    /// The same, with flashers at any rate.
    fn led_in(&mut self, setting: &Setting, way: &[Put]) -> Rc<Machine> {
        let key = (setting.corner, setting.timers, way.to_vec());
        let kept = setting.times.is_empty();
        if let Some(machine) = self.lead_ins.get(&key).filter(|_| kept) {
            return machine.clone();
        }
        let machine = Rc::new(match way.split_last() {
            None => Machine::at_rest(&mut self.replayed, setting),
            Some((last, before)) => {
                let mut machine = self.lead_in(setting, before);
                machine.put(&mut self.replayed, &[*last]);
                machine
            }
        });
        if kept {
            self.lead_ins.insert(key, machine.clone());
        }
        machine
    }

    /// A case of one move that happens at once.
    pub fn case(&self, start: &Start, moved: &[Put], setting: &Setting) -> Case {
        let script = if moved.is_empty() { vec![] } else { vec![(Time::ZERO, Deed::Put(moved.to_vec()))] };
        let (way, setting) = (start.way.clone(), setting.clone());
        Case { way, script, setting, quick: vec![], until: self.horizon, till: Till::End }
    }

    /// Plays a case.
    pub fn play(&mut self, case: &Case) -> Machine {
        let mut machine = self.lead_in(&case.setting, &case.way);
        machine.quicken(&case.quick);
        machine.begin(&mut self.replayed);
        machine.play(&mut self.replayed, &case.script, case.until, case.until, case.till);
        machine
    }

    /// Plays a case at every setting. If the moments at a corner of supply and copper are the same as at the nominal
    /// one, the case isn't played again there. Returns how many settings were tried.
    pub fn play_all(
        &mut self,
        flashing: bool,
        make: &dyn Fn(&Asker, &Setting) -> Case,
        each: &mut dyn FnMut(&mut Asker<'r>, Case, Machine),
    ) -> usize {
        // What was played at the nominal corner: the setting, and how it began.
        let mut nominal: Vec<(Setting, Rc<Machine>, Vec<usize>)> = vec![];
        let settings = self.settings(flashing);
        for setting in &settings {
            let case = make(self, setting);
            let here = Setting { corner: Corner::NOMINAL, ..setting.clone() };
            let lead_in = self.led_in(setting, &case.way);
            let before = nominal.iter().find(|(other, ..)| *other == here);
            if let Some((_, first, visited)) = before
                && first.stands_like(&lead_in)
                && self.replayed.same(visited, first.level, lead_in.level)
            {
                continue;
            }
            let machine = self.play(&case);
            if setting.corner == Corner::NOMINAL {
                nominal.push((here, lead_in, machine.visited.clone()));
            }
            each(self, case, machine);
        }
        settings.len()
    }

    /// Every allowed move of one relevant input from a start.
    pub fn moves(&self, concern: &Influences, start: &Start) -> Vec<Put> {
        let circuit = &self.solved.assembly.circuit;
        let mut all = vec![];
        for (i, input) in self.solved.model.inputs.iter().enumerate().filter(|(i, _)| concern.inputs[*i]) {
            let id = self.solved.assembly.input(InputId(i));
            for to in (0..input.positions.len()).filter(|to| *to != usize::from(start.positions.of(id))) {
                if start.positions.moved(circuit, id, position(to)).is_some() {
                    all.push((InputId(i), to));
                }
            }
        }
        all
    }

    /// Whether a flasher that matters is on in these positions.
    pub fn flashes(&self, concern: &Influences, positions: &Positions) -> bool {
        let mut inputs = self.solved.model.inputs.iter().zip(&positions.0).zip(&concern.inputs);
        inputs.any(|((input, at), mine)| *mine && input.flash.is_some() && *at != 0)
    }

    /// A move in words: `reverse on`.
    pub fn move_words(&self, (input, to): Put) -> String {
        let input = &self.solved.model.inputs[input.0];
        format!("{} {}", input.name, input.positions[to])
    }

    /// A setting in words, with the flash of the flashers that are on.
    pub fn setting_words(&self, setting: &Setting, positions: &Positions) -> String {
        let mut words = setting.to_string();
        let inputs = self.solved.model.inputs.iter().zip(&positions.0);
        let mut flashes: Vec<String> = vec![];
        for (input, _) in inputs.filter(|(_, at)| **at != 0) {
            if let Some(flash) = setting.flash_words(input)
                && !flashes.contains(&flash)
            {
                flashes.push(flash);
            }
        }
        if !flashes.is_empty() {
            words.push_str(&format!(", flashers {}", flashes.join(" and ")));
        }
        words
    }

    /// What happens around a moment of a record.
    pub fn evidence(&self, machine: &Machine, at: Time) -> Vec<Row> {
        crate::around(self.solved, &self.replayed.plan, &machine.record, at)
    }

    /// What happens in a record from one moment to another.
    pub fn evidence_between(&self, machine: &Machine, from: Time, to: Time) -> Vec<Row> {
        crate::between(self.solved, &self.replayed.plan, &machine.record, from, to)
    }

    /// The actors that remember on purpose: latches, toggles, timers.
    pub fn memory(&self) -> Vec<ActorId> {
        let kinds = self.replayed.plan.actors.iter().enumerate();
        let remembers = |kind: ActorKind| !matches!(kind, ActorKind::Coil { .. } | ActorKind::Threshold);
        kinds.filter(|(_, actor)| remembers(actor.kind)).map(|(i, _)| ActorId(i as u32)).collect()
    }
}

/// States that have settled, the simplest first.
fn settled(solved: &Solved, mut states: Vec<State>) -> Vec<State> {
    let circuit = &solved.assembly.circuit;
    states.retain(|state| state.pending(circuit).is_empty());
    let mut seen = BTreeSet::new();
    states.retain(|state| seen.insert(state.clone()));
    states.sort_by_key(|state| state.positions.away());
    states
}

/// The input moves among some moves; `None` if a power loss is among them. Times run out by
/// themselves, so they need no move.
fn plain(way: &[Move]) -> Option<Vec<Put>> {
    let mut puts = vec![];
    for step in way {
        match step {
            Move::Input(input, to) => puts.push((InputId(input.index()), usize::from(*to))),
            Move::Connect | Move::Elapsed(_) => {}
            Move::PowerLoss => return None,
        }
    }
    Some(puts)
}
