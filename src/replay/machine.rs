//! The harness in motion: from one event to the next, at exact times.
//!
//! At one moment things happen in this order, and everything that happens in one step happens together:
//! 1. what is due inside the harness: relays operate and release, timers run out, parts come up, screens change over;
//!    then whatever moves at once (trigger inputs, latches), until nothing more does;
//! 2. a look at the screens, where one is asked for;
//! 3. what comes from outside: flashers turn on or off, someone moves an input, the supply changes.
//!
//! So a hold that runs out at the very moment when the next flash comes has run out.

use super::flash::Pattern;
use super::glass::{Glass, ScreenMotion};
use super::plan::ActorKind;
use super::rig::{LevelId, Rig, Still};
use super::setting::Setting;
use super::time::Time;
use super::timeline::{Record, Stage};
use crate::model::{InputId, ScreenId, Shown};
use crate::solve::{ActorId, Positions, State};

/// Rounds of actors that move at once, and of things due at one moment, after which they are taken never to come to rest.
const ROUNDS: usize = 200;

/// A harness in motion. Cloned, it goes on twice.
#[derive(Debug, Clone)]
pub(super) struct Machine {
    setting: Setting,
    level: LevelId,
    pub now: Time,
    /// Where inputs are put, flashers by their lever.
    pub lever: Positions,
    /// The circuit: inputs as it sees them, and where its actors are.
    pub state: State,
    /// Whether each actor's start held when last looked.
    started: Vec<bool>,
    actor_due: Vec<Time>,
    /// By actor, the time that its timer runs for.
    times: Vec<Time>,
    /// Relays that move sooner than the catalogue has it.
    quick: Vec<ActorId>,
    up: Vec<bool>,
    powered: Vec<bool>,
    up_due: Vec<Time>,
    screens: Vec<ScreenMotion>,
    /// Whether flashers flash; until then they stay on.
    flashing: bool,
    clocks: Vec<Option<Clock>>,
    /// Whether what happens is taken down.
    recording: bool,
    pub record: Record,
    /// Why it can't go on.
    pub stopped: Option<String>,
}

/// A flasher that flashes.
#[derive(Debug, Clone)]
struct Clock {
    pattern: Pattern,
    start: Time,
    on: bool,
    next: Time,
}

/// How long to play.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Till {
    /// To the end.
    End,
    /// Until a screen shows something, the script being over; with a view, while that one counts.
    Shown(ScreenId, Shown, Option<usize>),
    /// Until the flashers begin a round that goes just as the one before, in which no screen has changed.
    Repeats,
}

/// Where everything is when the flashers begin a round, times counted from there.
#[derive(Debug, Clone, PartialEq)]
struct Phase {
    state: State,
    started: Vec<bool>,
    actor_due: Vec<Time>,
    powered: Vec<bool>,
    glass_changes: Vec<usize>,
}

/// What is done to the harness from outside.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Deed {
    /// Inputs are put to positions.
    Put(Vec<(InputId, usize)>),
    /// Flash with this setting's rate, on-time share and pattern from now on.
    Flash(Setting),
    /// The supply goes to another level.
    Supply(LevelId),
    /// Note what is on every screen.
    Look,
}

impl Machine {
    /// As it stands with every input at rest, long after the battery was connected.
    pub fn at_rest(rig: &mut Rig, setting: &Setting) -> Machine {
        let circuit = &rig.wiring.assembly.circuit;
        let actors = rig.plan.actors.len();
        let timer = |kind: ActorKind| {
            kind.timer().map_or(Time::ZERO, |t| {
                let given = setting.times.iter().find(|(signal, _)| *signal == t.signal).map(|(_, time)| *time);
                setting.timers.off(given.unwrap_or_else(|| Time::of(t.set)), t.tolerance)
            })
        };
        let mut machine = Machine {
            level: LevelId::default(),
            now: Time::ZERO,
            lever: Positions::at_rest(circuit),
            state: State::at_rest(circuit),
            started: vec![false; actors],
            actor_due: vec![Time::NEVER; actors],
            times: rig.plan.actors.iter().map(|a| timer(a.kind)).collect(),
            quick: vec![],
            up: vec![false; rig.plan.starters.len()],
            powered: vec![false; rig.plan.starters.len()],
            up_due: vec![Time::NEVER; rig.plan.starters.len()],
            screens: vec![ScreenMotion::new(); rig.plan.screens.len()],
            flashing: false,
            clocks: vec![None; circuit.inputs.len()],
            recording: false,
            record: Record::new(rig, circuit.inputs.len()),
            stopped: None,
            setting: setting.clone(),
        };
        machine.level = rig.level(setting.corner);
        machine.settle(rig);
        machine.rest(rig);
        machine
    }

    /// Lets time pass until nothing is due but flashes, at most a minute.
    pub fn rest(&mut self, rig: &mut Rig) {
        let until = self.now + REST;
        while self.stopped.is_none() && self.due() <= until {
            self.happen(rig, self.due().min(self.next_edge()), &[]);
        }
    }

    /// Whether nothing is due but flashes.
    pub fn quiet(&self) -> bool {
        self.due() == Time::NEVER
    }

    /// Puts inputs to positions, then waits until all is quiet.
    pub fn put(&mut self, rig: &mut Rig, changes: &[(InputId, usize)]) {
        self.deed(rig, &Deed::Put(changes.to_vec()));
        self.settle(rig);
        self.rest(rig);
    }

    /// What is on a screen's glass now.
    pub fn glass(&self, screen: ScreenId) -> &Glass {
        &self.screens[screen.0].glass
    }

    /// The same with its flashers flashing as another setting has it.
    pub fn flashing_as(mut self, setting: &Setting) -> Machine {
        self.setting.rate = setting.rate;
        self.setting.duty = setting.duty;
        self.setting.pattern.clone_from(&setting.pattern);
        self
    }

    /// From here on, these relays move in a share of their time.
    pub fn quicken(&mut self, relays: &[ActorId]) {
        self.quick = relays.to_vec();
    }

    /// Calls this moment nought and starts the record here. Flashers that are on begin to flash now.
    pub fn begin(&mut self, rig: &mut Rig) {
        let by = self.now;
        self.now = Time::ZERO;
        for due in self.actor_due.iter_mut().chain(&mut self.up_due).filter(|due| **due != Time::NEVER) {
            *due = *due - by;
        }
        self.screens.iter_mut().for_each(|screen| screen.shift(by));
        self.flashing = true;
        for i in 0..self.clocks.len() {
            self.clocks[i] = None;
            if self.lever.0[i] != 0 {
                self.start_clock(rig, InputId(i));
            }
        }
        self.record = Record::new(rig, self.lever.0.len());
        self.recording = true;
        self.note(rig);
    }

    /// Goes on through a script, in order of time, until a moment; or, where that is sooner than `latest`, until it is quiet
    /// after that moment.
    pub fn play(&mut self, rig: &mut Rig, script: &[(Time, Deed)], until: Time, latest: Time) {
        self.play_till(rig, script, until, latest, Till::End);
    }

    /// The same, ending sooner where what is asked for is known sooner.
    pub fn play_till(&mut self, rig: &mut Rig, script: &[(Time, Deed)], until: Time, latest: Time, till: Till) {
        let mut next = 0;
        let mut phase: Option<Phase> = None;
        loop {
            let step = script.get(next).map_or(Time::NEVER, |(at, _)| *at);
            let at = self.due().min(self.next_edge()).min(step);
            let end = if self.quiet() && step == Time::NEVER { until } else { latest.max(until) };
            if self.stopped.is_some() {
                break;
            }
            let known = step == Time::NEVER
                && match till {
                    Till::Shown(screen, shown, view) => {
                        let wanted = self.record.wanted[screen.0].points.last().and_then(|(_, wanted)| *wanted);
                        at > self.now && self.glass(screen).agrees(shown) && (view.is_none() || view == wanted)
                    }
                    Till::Repeats => self.repeats(&mut phase),
                    Till::End => false,
                };
            if at > end || known {
                self.now = self.now.max(end.min(at));
                break;
            }
            let first = next;
            while script.get(next).is_some_and(|(when, _)| *when <= at) {
                next += 1;
            }
            self.happen(rig, at, &script[first..next]);
        }
        self.record.to = self.now;
    }

    /// When something inside the harness is due next.
    fn due(&self) -> Time {
        let screens = self.screens.iter().filter_map(|s| s.due);
        self.actor_due.iter().chain(&self.up_due).copied().chain(screens).min().unwrap_or(Time::NEVER)
    }

    fn next_edge(&self) -> Time {
        self.clocks.iter().flatten().map(|clock| clock.next).min().unwrap_or(Time::NEVER)
    }

    /// Everything that happens at one moment; the deeds are those that come from outside.
    fn happen(&mut self, rig: &mut Rig, at: Time, deeds: &[(Time, Deed)]) {
        self.now = at;
        self.inside(rig);
        if deeds.iter().any(|(_, deed)| *deed == Deed::Look) {
            let seen = self.screens.iter().map(|s| s.glass.clone()).collect();
            self.record.looks.push((self.now, seen));
        }
        deeds.iter().for_each(|(_, deed)| self.deed(rig, deed));
        if self.edges() || !deeds.is_empty() {
            self.settle(rig);
            self.inside(rig);
        }
    }

    /// Whether all will go on as in the flashers' last round; notes the phase when they begin one.
    fn repeats(&self, before: &mut Option<Phase>) -> bool {
        let mut clocks = self.clocks.iter().flatten();
        let Some(first) = clocks.next() else { return false };
        let together = clocks.all(|clock| clock.start == first.start && clock.pattern == first.pattern);
        let begins = (self.now - first.start).count() % first.pattern.length().count() == 0;
        let busy = self.up_due.iter().any(|due| *due != Time::NEVER)
            || self.screens.iter().any(|screen| screen.due.is_some() || screen.glass == Glass::Starting);
        if !together || !begins || busy {
            return false;
        }
        let phase = Phase {
            state: self.state.clone(),
            started: self.started.clone(),
            actor_due: self
                .actor_due
                .iter()
                .map(|due| if *due == Time::NEVER { *due } else { *due - self.now })
                .collect(),
            powered: self.powered.clone(),
            glass_changes: self.record.screens.iter().map(|lane| lane.points.len()).collect(),
        };
        let same = before.as_ref() == Some(&phase);
        *before = Some(phase);
        same
    }

    /// Brings about all that is due now inside the harness.
    fn inside(&mut self, rig: &mut Rig) {
        for _ in 0..ROUNDS {
            if self.due() > self.now || self.stopped.is_some() {
                return;
            }
            for i in 0..self.actor_due.len() {
                if self.actor_due[i] <= self.now {
                    self.actor_due[i] = Time::NEVER;
                    let id = ActorId(i as u32);
                    let on = self.state.memory.on(id);
                    self.state.memory.set_on(id, !on);
                }
            }
            for i in 0..self.up_due.len() {
                if self.up_due[i] <= self.now {
                    (self.up_due[i], self.up[i]) = (Time::NEVER, true);
                }
            }
            for (screen, plan) in self.screens.iter_mut().zip(&rig.plan.screens) {
                if screen.due.is_some_and(|due| due <= self.now) {
                    screen.show(plan);
                }
            }
            self.settle(rig);
        }
        self.stopped = Some("relays or timers without any time of their own move each other without end".into());
    }

    /// Turns flashers on or off whose time has come; tells whether there were any.
    fn edges(&mut self) -> bool {
        let mut any = false;
        for i in 0..self.clocks.len() {
            let Some(clock) = &mut self.clocks[i] else { continue };
            if clock.next <= self.now {
                let (on, next) = clock.pattern.at(self.now - clock.start);
                (clock.on, clock.next) = (on, clock.start + next);
                self.state.positions.0[i] = if on { self.lever.0[i] } else { 0 };
                any = true;
            }
        }
        any
    }

    fn deed(&mut self, rig: &mut Rig, deed: &Deed) {
        match deed {
            Deed::Put(changes) => self.move_inputs(rig, changes),
            Deed::Flash(setting) => {
                *self = self.clone().flashing_as(setting);
                let on: Vec<usize> = (0..self.clocks.len()).filter(|i| self.clocks[*i].take().is_some()).collect();
                on.into_iter().for_each(|i| self.start_clock(rig, InputId(i)));
            }
            Deed::Supply(level) => self.level = *level,
            Deed::Look => {}
        }
    }

    /// Moves levers: in the order given, and again those whose needs came only with a later one.
    fn move_inputs(&mut self, rig: &mut Rig, changes: &[(InputId, usize)]) {
        let circuit = &rig.wiring.assembly.circuit;
        let mut left: Vec<(InputId, usize)> = changes.to_vec();
        loop {
            let before = left.len();
            left.retain(|&(input, position)| {
                let moved = self.lever.moved(circuit, rig.wiring.assembly.input(input), position as u8);
                let refused = moved.is_none();
                self.lever = moved.unwrap_or_else(|| self.lever.clone());
                refused
            });
            if left.is_empty() || left.len() == before {
                break;
            }
        }
        self.record.refused.extend(left.into_iter().map(|(input, position)| (self.now, input, position)));
        for i in 0..self.lever.0.len() {
            if self.lever.0[i] == 0 {
                self.clocks[i] = None;
            } else if self.clocks[i].is_none() && self.flashing {
                self.start_clock(rig, InputId(i));
            }
            let dark = self.clocks[i].as_ref().is_some_and(|clock| !clock.on);
            self.state.positions.0[i] = if dark { 0 } else { self.lever.0[i] };
        }
    }

    /// Starts a flasher; in phase with one that flashes already, as hazard lamps do.
    fn start_clock(&mut self, rig: &Rig, input: InputId) {
        let Some(pattern) = self.setting.pattern(&rig.wiring.model.inputs[input.0]) else { return };
        let other = self.clocks.iter().flatten().find(|clock| clock.pattern == pattern).map(|clock| clock.start);
        let start = other.unwrap_or(self.now);
        let (on, next) = pattern.at(self.now - start);
        self.state.positions.0[input.0] = if on { self.lever.0[input.0] } else { 0 };
        self.clocks[input.0] = Some(Clock { pattern, start, on, next: start + next });
    }

    /// Lets everything that moves at once do so, sets times for the rest, and shows the screens what there is to see.
    fn settle(&mut self, rig: &mut Rig) {
        for _ in 0..ROUNDS {
            let still = match rig.still(self.level, &self.state) {
                Ok(still) => still,
                Err(why) => {
                    self.stopped = Some(why);
                    break;
                }
            };
            let still = rig.get(self.level, still);
            self.power(rig, still);
            if !self.actors(rig, still) {
                for (i, (screen, plan)) in self.screens.iter_mut().zip(&rig.plan.screens).enumerate() {
                    screen.look(rig.wiring.model, ScreenId(i), plan, &still.screens[i], &self.up, self.now);
                }
                self.note(rig);
                return;
            }
        }
        self.stopped.get_or_insert_with(|| "trigger inputs and latches move each other without end".into());
    }

    fn power(&mut self, rig: &Rig, still: &Still) {
        for (i, starter) in rig.plan.starters.iter().enumerate() {
            let powered = still.powered[i];
            if powered && !self.powered[i] {
                self.up[i] = starter.start_up == Time::ZERO;
                self.up_due[i] = if self.up[i] { Time::NEVER } else { self.now + starter.start_up };
            } else if !powered {
                (self.up[i], self.up_due[i]) = (false, Time::NEVER);
            }
            self.powered[i] = powered;
        }
    }

    /// Moves what moves at once, all of it together; tells whether anything did.
    fn actors(&mut self, rig: &Rig, still: &Still) -> bool {
        let mut moved = vec![];
        for (i, plan) in rig.plan.actors.iter().enumerate() {
            let id = ActorId(i as u32);
            let facts = still.actors[i];
            let on = self.state.memory.on(id);
            let powered = facts.powered && plan.starter.is_none_or(|s| self.up[s]);
            let start = powered && facts.start;
            let before = std::mem::replace(&mut self.started[i], start);
            let begins = start && !before;
            let due = &mut self.actor_due[i];
            let next = match plan.kind {
                ActorKind::Coil { operate, release } => {
                    if facts.wants == on {
                        *due = Time::NEVER;
                    } else if *due == Time::NEVER {
                        let time = if facts.wants { operate } else { release };
                        *due = self.now + if self.quick.contains(&id) { time.share(QUICK) } else { time };
                    }
                    on
                }
                ActorKind::Threshold => facts.wants,
                ActorKind::Latch => powered && !facts.reset && (on || start),
                ActorKind::Toggle => powered && (on ^ begins),
                ActorKind::Hold(_) => {
                    if start || !on || !powered {
                        *due = Time::NEVER;
                    } else if *due == Time::NEVER {
                        *due = self.now + self.times[i];
                    }
                    powered && (on || start)
                }
                ActorKind::Delay(_) => {
                    if !start || on {
                        *due = Time::NEVER;
                    } else if *due == Time::NEVER {
                        *due = self.now + self.times[i];
                    }
                    on && start
                }
                ActorKind::Pulse(_) => {
                    if begins {
                        *due = self.now + self.times[i];
                    } else if !powered {
                        *due = Time::NEVER;
                    }
                    powered && (on || begins)
                }
            };
            if next != on {
                moved.push((id, next));
            }
        }
        for (id, on) in &moved {
            self.state.memory.set_on(*id, *on);
        }
        !moved.is_empty()
    }

    /// Notes where everything is.
    fn note(&mut self, rig: &Rig) {
        if !self.recording {
            return;
        }
        let stage = |i: usize| match (self.powered[i], self.up[i]) {
            (false, _) => Stage::Off,
            (true, false) => Stage::Starting,
            (true, true) => Stage::Up,
        };
        self.record.note(rig, self.now, &self.lever, &self.state, (0..self.up.len()).map(stage), &self.screens);
    }

    /// Where the circuit stands, with what its actors last saw of their starts, as a settled state has it.
    pub fn rested(&self, rig: &Rig) -> State {
        let mut state = self.state.clone();
        for (i, plan) in rig.plan.actors.iter().enumerate() {
            let remembers = matches!(plan.kind, ActorKind::Toggle | ActorKind::Pulse(_));
            state.memory.set_was(ActorId(i as u32), remembers && self.started[i]);
        }
        state
    }
}

/// Longest wait for quiet.
const REST: Time = Time::milliseconds(60_000);

/// Share of its catalogued time in which a quick relay moves: catalogues give the longest times (common practice, no
/// source).
const QUICK: f64 = 0.3;
