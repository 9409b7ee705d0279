//! Parts that need time to come up once they have power: cameras, screens, modules.

use crate::plan::Plan;
use crate::replay_circuit::Still;
use crate::time::Time;
use crate::timeline::Stage;

/// How far each part with a start-up time has come, in the plan's order.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Startup {
    /// Whether it is up.
    pub up: Vec<bool>,
    /// Whether it has power.
    pub powered: Vec<bool>,
    due: Vec<Time>,
}

impl Startup {
    /// Nothing has power.
    pub fn new(parts: usize) -> Startup {
        Startup { up: vec![false; parts], powered: vec![false; parts], due: vec![Time::NEVER; parts] }
    }

    /// Times when parts come up next.
    pub fn due(&self) -> impl Iterator<Item = Time> {
        self.due.iter().copied()
    }

    /// Whether a part is coming up.
    pub fn is_busy(&self) -> bool {
        self.due.iter().any(|due| *due != Time::NEVER)
    }

    /// Brings up the parts whose time has come.
    pub fn advance(&mut self, now: Time) {
        for i in 0..self.due.len() {
            if self.due[i] <= now {
                (self.due[i], self.up[i]) = (Time::NEVER, true);
            }
        }
    }

    /// Parts that gain power start; parts that lose power are down at once.
    pub fn follow(&mut self, plan: &Plan, still: &Still, now: Time) {
        for (i, starter) in plan.starters.iter().enumerate() {
            let powered = still.powered[i];
            if powered && !self.powered[i] {
                self.up[i] = starter.start_up == Time::ZERO;
                self.due[i] = if self.up[i] { Time::NEVER } else { now + starter.start_up };
            } else if !powered {
                (self.up[i], self.due[i]) = (false, Time::NEVER);
            }
            self.powered[i] = powered;
        }
    }

    /// Moves the zero of time.
    pub fn shift(&mut self, by: Time) {
        self.due.iter_mut().filter(|due| **due != Time::NEVER).for_each(|due| *due = *due - by);
    }

    /// Every part's stage.
    pub fn stages(&self) -> impl Iterator<Item = Stage> {
        self.powered.iter().zip(&self.up).map(|state| match state {
            (false, _) => Stage::Off,
            (true, false) => Stage::Starting,
            (true, true) => Stage::Up,
        })
    }
}
