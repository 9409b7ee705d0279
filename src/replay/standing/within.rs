//! How late does each picture come at worst, and how long does it stay after it should have gone?

use super::asker::{Asker, Case, Put, Start};
use crate::Row;
use crate::display::Displayed;
use crate::machine::{Machine, Till};
use crate::promise::first;
use crate::setting::Setting;
use crate::time::Time;
use crate::timeline::{Lane, Stage};
use circuit::{State, position};
use model::{PartId, ScreenId, Shown};
use std::collections::BTreeMap;
use std::rc::Rc;

/// The worst time to a picture that has a `within`.
#[derive(Debug, Clone, PartialEq)]
pub struct Within {
    /// The screen.
    pub screen: ScreenId,
    /// The line of its intent.
    pub view: usize,
    /// What it asks for.
    pub shown: Shown,
    /// The time allowed.
    pub limit: Time,
    /// Total of moves into the view and settings tried.
    pub tried: usize,
    /// The worst of them with the screen up; `None` if no move leads into the view.
    pub worst: Option<Arrival>,
    /// The worst move that also switches the screen on, so that it starts up first.
    pub cold: Option<Arrival>,
}

/// How long a picture took after a move.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrival {
    /// The state before, in words.
    pub state: String,
    /// The move, in words.
    pub step: String,
    /// The setting, in words.
    pub setting: String,
    /// Time from the move until the view's line applied, if it depends on the harness's memory.
    pub counted: Time,
    /// Time from then until the picture; `None` if it didn't come.
    pub took: Option<Time>,
    /// What happened on the way.
    pub evidence: Vec<Row>,
}

impl Arrival {
    /// When it comes, in words: `comes 400 ms after reverse on`.
    pub fn comes(&self) -> String {
        let counts = match self.counted > Time::ZERO {
            true => format!(", plus {} until its view applied", self.counted.seconds()),
            false => String::new(),
        };
        match self.took {
            Some(took) => format!("comes {} after {}{counts}", took.seconds(), self.step),
            None => format!("doesn't come after {}", self.step),
        }
    }
}

/// How long a picture stays on after its view has ended.
#[derive(Debug, Clone, PartialEq)]
pub struct Linger {
    /// The screen.
    pub screen: ScreenId,
    /// Whose picture.
    pub shown: Shown,
    /// The longest of all moves out of the view; its time is `None` if the picture doesn't go.
    pub worst: Option<Arrival>,
}

/// An arrival without its timeline: the case to play to see it.
#[derive(Clone)]
pub(super) struct Late {
    pub counted: Time,
    pub took: Option<Time>,
    pub name: String,
    /// The move, and a move just before it if there is one.
    pub moved: Put,
    pub before: Option<Put>,
    pub case: Case,
    /// When the time begins to count.
    pub from: Time,
}

/// Length of the timeline if a picture doesn't come.
const AFTER: Time = Time::milliseconds(5_000);

impl Late {
    /// After a move from a start, counted from the move.
    pub fn new(took: Option<Time>, start: &Start, moved: Put, case: Case) -> Late {
        let (counted, from) = (Time::ZERO, Time::ZERO);
        Late { counted, took, name: start.name.clone(), moved, before: None, case, from }
    }

    /// Keeps the later of two; a picture that never comes is the latest.
    pub fn keep(worst: &mut Option<Late>, took: Option<Time>, make: impl FnOnce() -> Late) {
        if worst.as_ref().is_none_or(|worst| took.unwrap_or(Time::NEVER) > worst.key()) {
            *worst = Some(make());
        }
    }

    /// Sort key: how late it is.
    pub fn key(&self) -> Time {
        self.took.unwrap_or(Time::NEVER)
    }

    /// Plays it again and records the timeline.
    pub fn tell(self, asker: &mut Asker) -> Arrival {
        let machine = asker.play(&Case { till: Till::End, ..self.case.clone() });
        let step = self.step(asker);
        Arrival {
            state: self.name,
            step,
            counted: self.counted,
            setting: asker.setting_words(&self.case.setting, &machine.lever),
            took: self.took,
            evidence: {
                let to = self.from + self.counted + self.took.unwrap_or(AFTER);
                asker.evidence_between(&machine, self.from, to)
            },
        }
    }

    fn step(&self, asker: &Asker) -> String {
        let moved = asker.move_words(self.moved);
        match self.before {
            Some(before) => format!("{moved}, just after {}", asker.move_words(before)),
            None => moved,
        }
    }
}

pub fn ask(asker: &mut Asker, into: &mut MovesIntoViews) -> Vec<Within> {
    let model = asker.solved.model;
    let mut all = vec![];
    for (i, screen) in model.screens.iter().enumerate() {
        for (v, view) in screen.views.iter().enumerate() {
            if let (Some(limit), true) = (view.within, view.show != Shown::Any) {
                all.push(within(asker, into, ScreenId(i), v, view.show, Time::of(limit)));
            }
        }
    }
    all
}

fn within(
    asker: &mut Asker,
    into: &mut MovesIntoViews,
    screen: ScreenId,
    view: usize,
    shown: Shown,
    limit: Time,
) -> Within {
    let ways = into.of(asker, screen, view, limit);
    let latest = |of: fn(&MoveInto) -> &Option<Late>| {
        let mut worst: Option<&Late> = None;
        for late in ways.by_move.iter().filter_map(|(_, way)| of(way).as_ref()) {
            if worst.is_none_or(|worst| late.key() > worst.key()) {
                worst = Some(late);
            }
        }
        worst.cloned()
    };
    let (warm, cold) = (latest(|way| &way.warm), latest(|way| &way.cold));
    let (worst, cold) = (warm.map(|late| late.tell(asker)), cold.map(|late| late.tell(asker)));
    Within { screen, view, shown, limit, tried: ways.tried, worst, cold }
}

/// Every single move into a view, with the latest arrival after each.
#[derive(Clone, Default)]
pub(super) struct MovesInto {
    /// Total number of settings tried.
    pub tried: usize,
    /// In the order met, from the simplest state on.
    pub by_move: Vec<(Put, MoveInto)>,
}

/// The moves into views that were tried so far, by screen and line of its intent.
#[derive(Default)]
pub(super) struct MovesIntoViews(BTreeMap<(ScreenId, usize), Rc<MovesInto>>);

impl MovesIntoViews {
    /// The moves into one view; tried once, with the limit of who asks first.
    pub fn of(&mut self, asker: &mut Asker, screen: ScreenId, view: usize, limit: Time) -> Rc<MovesInto> {
        let tried = || Rc::new(ways_in(asker, screen, view, limit));
        self.0.entry((screen, view)).or_insert_with(tried).clone()
    }
}

/// The latest arrival with the screen up before the move, and with the screen switched on by it.
#[derive(Clone, Default)]
pub(super) struct MoveInto {
    pub warm: Option<Late>,
    pub cold: Option<Late>,
}

/// Tries every single move into a view. A view that ends before `limit` without its picture proves nothing.
fn ways_in(asker: &mut Asker, screen: ScreenId, view: usize, limit: Time) -> MovesInto {
    let shown = asker.solved.model.screens[screen.0].views[view].show;
    let mut ways = MovesInto::default();
    let subject = asker.screen(screen);
    for start in &subject.starts {
        if asker.wanted(screen, &start.state).is_some_and(|(wanted, _)| wanted == view) {
            continue;
        }
        for moved in asker.moves(&subject.concern, start) {
            let Some(after) = state_after(asker, screen, start, moved) else { continue };
            if asker.wanted(screen, &after).is_none_or(|(wanted, _)| wanted != view) {
                continue;
            }
            let till = Till::Shown(screen, shown, Some(view));
            let make = |asker: &Asker, setting: &Setting| Case { till, ..asker.case(start, &[moved], setting) };
            let known = ways.by_move.iter().position(|(other, _)| *other == moved).unwrap_or_else(|| {
                ways.by_move.push((moved, MoveInto::default()));
                ways.by_move.len() - 1
            });
            let way = &mut ways.by_move[known].1;
            let flashing = asker.flashes(&subject.concern, &after.positions);
            ways.tried += asker.play_all(flashing, &make, &mut |asker, case, machine| {
                let Some((counted, took)) = took(&machine, screen, view, shown, limit) else { return };
                let worst = if was_up(asker, &machine, screen) { &mut way.warm } else { &mut way.cold };
                Late::keep(worst, took, || Late { counted, ..Late::new(took, start, moved, case) });
            });
        }
    }
    ways
}

/// When a view begins to apply, and how long its picture takes from then; `None` inside if it doesn't come. `None` if
/// the view doesn't apply, or ends before that is decided.
pub(super) fn took(
    machine: &Machine,
    screen: ScreenId,
    view: usize,
    shown: Shown,
    limit: Time,
) -> Option<(Time, Option<Time>)> {
    let record = &machine.record;
    let (from, to, _) = record.wanted[screen.0].spans(record.to).find(|(_, _, wanted)| **wanted == Some(view))?;
    let took = first(&record.screens[screen.0], from, to, |display| display.agrees(shown)).map(|at| at - from);
    (took.is_some() || to - from >= limit).then_some((from, took))
}

/// Whether a screen was up when the record began.
pub(super) fn was_up(asker: &Asker, machine: &Machine, screen: ScreenId) -> bool {
    let starter = asker.replayed.plan.screens[screen.0].starter;
    starter.is_none_or(|s| machine.record.parts[s].points.first().is_some_and(|(_, stage)| *stage == Stage::Up))
}

/// The state after a move. If the intent depends on the harness's memory, the move is played at the
/// nominal setting; otherwise the actors keep their positions.
pub(super) fn state_after(asker: &mut Asker, screen: ScreenId, start: &Start, moved: Put) -> Option<State> {
    let views = &asker.solved.model.screens[screen.0].views;
    let remembers = views.iter().any(|view| view.when.names_signals());
    moved_state(asker, remembers, start, moved)
}

/// The state after a move. Where it depends on the harness's memory, the move is played at the nominal setting; otherwise
/// the actors keep their positions.
pub(super) fn moved_state(asker: &mut Asker, remembers: bool, start: &Start, moved: Put) -> Option<State> {
    let assembly = &asker.solved.assembly;
    let positions = start.positions.moved(&assembly.circuit, assembly.input(moved.0), position(moved.1))?;
    if !remembers {
        return Some(State { positions, memory: start.state.memory.clone() });
    }
    let mut machine = asker.lead_in(&Setting::default(), &start.way);
    machine.put(&mut asker.replayed, &[moved]);
    Some(machine.state)
}

/// When a source's picture is last visible: live, frozen, or while the screen changes over from it.
fn last_seen(lane: &Lane<Displayed>, source: PartId, end: Time) -> Time {
    let (mut last, mut from_it) = (Time::ZERO, false);
    for (_, to, display) in lane.spans(end) {
        from_it = display.is_of(source) || (from_it && *display == Displayed::Changing);
        if from_it {
            last = to;
        }
    }
    last
}

/// The longest time that a picture may be visible after its view has ended, over every single move out of it.
pub fn linger(asker: &mut Asker, screen: ScreenId, view: usize) -> Linger {
    let shown = asker.solved.model.screens[screen.0].views[view].show;
    let mut answer = Linger { screen, shown, worst: None };
    let Shown::Source(source) = shown else { return answer };
    let subject = asker.screen(screen);
    let mut worst = None;
    for start in &subject.starts {
        if asker.wanted(screen, &start.state).is_none_or(|(wanted, _)| wanted != view) {
            continue;
        }
        for moved in asker.moves(&subject.concern, start) {
            let next = state_after(asker, screen, start, moved).and_then(|state| asker.wanted(screen, &state));
            if next.is_none_or(|(_, next)| next == shown || next == Shown::Any) {
                continue;
            }
            // What repeats without a change on any screen stays like that.
            let till = Till::Repeats;
            let make = |asker: &Asker, setting: &Setting| Case { till, ..asker.case(start, &[moved], setting) };
            let flashing = asker.flashes(&subject.concern, &start.positions);
            asker.play_all(flashing, &make, &mut |_, case, machine| {
                let record = &machine.record;
                let last = last_seen(&record.screens[screen.0], source, record.to);
                let took = (last < record.to).then_some(last);
                Late::keep(&mut worst, took, || Late::new(took, start, moved, case));
            });
        }
    }
    answer.worst = worst.map(|late: Late| late.tell(asker));
    answer
}
