//! The harness in motion: from one event to the next, at exact times.
//!
//! At one moment things happen in this order, and everything that happens in one step happens together:
//! 1. what is due inside the harness: relays operate and release, timers run out, parts come up, screens change over;
//!    then whatever moves at once (trigger inputs, latches), until nothing more does;
//! 2. a look at the screens, where one is asked for;
//! 3. what comes from outside: flashers turn on or off, someone moves an input, the supply changes.
//!
//! So a hold that runs out at the very moment when the next flash comes has run out.

mod flashers;
mod instant;
mod leap;
mod startup;

use super::display::{Displayed, ScreenMotion};
use super::plan::ActorKind;
use super::replay_circuit::{LevelId, ReplayCircuit};
use super::setting::Setting;
use super::time::Time;
use super::timeline::Record;
use circuit::{ActorId, Positions, State};
use flashers::Flashers;
use leap::leap;
use model::{InputId, ScreenId, Shown};
use startup::Startup;

/// Largest number of rounds at one moment. A circuit that needs more counts as never settling.
const ROUNDS: usize = 200;

/// A harness in motion. A clone continues independently.
#[derive(Debug, Clone)]
pub(super) struct Machine {
    setting: Setting,
    /// The supply's level now.
    pub level: LevelId,
    pub now: Time,
    /// Where inputs are put, flashers by their lever.
    pub lever: Positions,
    /// The circuit: inputs as it senses them, and where its actors are.
    pub state: State,
    /// Whether each actor's start held when last looked.
    started: Vec<bool>,
    /// When each actor's start last ended, if that was after the last wait.
    ended: Vec<Option<Time>>,
    actor_due: Vec<Time>,
    /// By actor, the time that its timer runs for.
    times: Vec<Time>,
    /// Relays that move faster than the catalogue says.
    quick: Vec<ActorId>,
    startup: Startup,
    screens: Vec<ScreenMotion>,
    flashers: Flashers,
    /// Whether the record is kept.
    recording: bool,
    /// Moments passed since then, at the supply level of the start.
    pub visited: Vec<usize>,
    pub record: Record,
    /// Why it stopped.
    pub stopped: Option<String>,
}

/// How long to play.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Till {
    /// To the end.
    End,
    /// After the script, until a screen shows something; with a view, only while that view applies.
    Shown(ScreenId, Shown, Option<usize>),
    /// Until the flashers begin a round equal to the one before, in which no screen changed.
    Repeats,
}

/// Everything when the flashers begin a round, with times counted from there.
#[derive(Debug, Clone, PartialEq)]
struct Phase {
    state: State,
    started: Vec<bool>,
    actor_due: Vec<Time>,
    powered: Vec<bool>,
    display_changes: Vec<usize>,
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
    /// Its state with every input at rest, long after the battery was connected.
    pub fn at_rest(replayed: &mut ReplayCircuit, setting: &Setting) -> Machine {
        let circuit = &replayed.wiring.assembly.circuit;
        let actors = replayed.plan.actors.len();
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
            ended: vec![None; actors],
            actor_due: vec![Time::NEVER; actors],
            times: replayed.plan.actors.iter().map(|a| timer(a.kind)).collect(),
            quick: vec![],
            startup: Startup::new(replayed.plan.starters.len()),
            screens: vec![ScreenMotion::new(); replayed.plan.screens.len()],
            flashers: Flashers::new(circuit.inputs.len()),
            recording: false,
            visited: vec![],
            record: Record::new(replayed, circuit.inputs.len()),
            stopped: None,
            setting: setting.clone(),
        };
        machine.level = replayed.level(setting.corner);
        machine.settle(replayed);
        machine.rest(replayed);
        machine
    }

    /// Lets time pass until nothing is due but flashes, at most a minute.
    pub fn rest(&mut self, replayed: &mut ReplayCircuit) {
        let until = self.now + REST;
        while self.stopped.is_none() && self.due() <= until {
            self.happen(replayed, self.due().min(self.flashers.next_edge()), &[]);
        }
    }

    /// Whether it is in the same state as another one, at any corner, so that both continue alike while their moments
    /// are the same.
    pub fn stands_like(&self, other: &Machine) -> bool {
        let screens = self.screens.iter().zip(&other.screens);
        (&self.state, &self.lever, &self.started) == (&other.state, &other.lever, &other.started)
            && (&self.startup.up, &self.startup.powered, &self.times)
                == (&other.startup.up, &other.startup.powered, &other.times)
            && self.quiet()
            && other.quiet()
            && screens.into_iter().all(|(a, b)| a.stands_like(b))
    }

    /// Whether nothing is due but flashes.
    pub fn quiet(&self) -> bool {
        self.due() == Time::NEVER
    }

    /// Puts inputs to positions, then waits until all is quiet.
    pub fn put(&mut self, replayed: &mut ReplayCircuit, changes: &[(InputId, usize)]) {
        self.deed(replayed, &Deed::Put(changes.to_vec()));
        self.settle(replayed);
        self.rest(replayed);
        self.ended.fill(None);
    }

    /// What is on a screen's display now.
    pub fn display(&self, screen: ScreenId) -> &Displayed {
        &self.screens[screen.0].display
    }

    /// The same, with its flashers at another setting's rate.
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

    /// Sets the time to zero and starts the record here. Flashers that are on begin to flash now.
    pub fn begin(&mut self, replayed: &mut ReplayCircuit) {
        let by = self.now;
        self.now = Time::ZERO;
        self.ended.fill(None);
        for due in self.actor_due.iter_mut().filter(|due| **due != Time::NEVER) {
            *due = *due - by;
        }
        self.startup.shift(by);
        self.screens.iter_mut().for_each(|screen| screen.shift(by));
        self.flashers.flashing = true;
        self.flashers.stop_all();
        for i in 0..self.lever.0.len() {
            if self.lever.0[i] != 0 {
                self.flash(replayed, InputId(i));
            }
        }
        self.record = Record::new(replayed, self.lever.0.len());
        self.recording = true;
        self.visited.clear();
        self.note(replayed);
    }

    /// Plays a script, in order of time, until a moment; or, if that is before `latest`, until it is quiet
    /// after that moment. Ends sooner where `till` says so.
    pub fn play(
        &mut self,
        replayed: &mut ReplayCircuit,
        script: &[(Time, Deed)],
        until: Time,
        latest: Time,
        till: Till,
    ) {
        let mut next = 0;
        let mut phase: Option<Phase> = None;
        let mut round = None;
        loop {
            let step = script.get(next).map_or(Time::NEVER, |(at, _)| *at);
            let at = self.due().min(self.flashers.next_edge()).min(step);
            let end = if self.quiet() && step == Time::NEVER { until } else { latest.max(until) };
            if self.stopped.is_some() {
                break;
            }
            let known = step == Time::NEVER
                && match till {
                    Till::Shown(screen, shown, view) => {
                        let wanted = self.record.wanted[screen.0].points.last().and_then(|(_, wanted)| *wanted);
                        at > self.now && self.display(screen).agrees(shown) && (view.is_none() || view == wanted)
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
            self.happen(replayed, at, &script[first..next]);
            match script.get(next) {
                None => leap(self, &mut round, until, till),
                Some(_) => round = None,
            }
        }
        self.record.to = self.now;
    }

    /// Whether everything repeats the flashers' last round; notes the phase when they begin one.
    fn repeats(&self, before: &mut Option<Phase>) -> bool {
        let starting = self.screens.iter().any(|screen| screen.due.is_some() || screen.display == Displayed::Starting);
        if !self.flashers.begin_a_round(self.now) || self.startup.is_busy() || starting {
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
            powered: self.startup.powered.clone(),
            display_changes: self.record.screens.iter().map(|lane| lane.points.len()).collect(),
        };
        let same = before.as_ref() == Some(&phase);
        *before = Some(phase);
        same
    }

    /// When something inside the harness is due next.
    fn due(&self) -> Time {
        let screens = self.screens.iter().filter_map(|s| s.due);
        self.actor_due.iter().copied().chain(self.startup.due()).chain(screens).min().unwrap_or(Time::NEVER)
    }

    /// The circuit's state, with whether each actor's start held when last looked, as a settled state has it.
    pub fn rested(&self, replayed: &ReplayCircuit) -> State {
        let mut state = self.state.clone();
        for (i, plan) in replayed.plan.actors.iter().enumerate() {
            let remembers = matches!(plan.kind, ActorKind::Toggle { .. } | ActorKind::Pulse(_));
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
