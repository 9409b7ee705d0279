//! Flashers: inputs that turn on and off by themselves while their lever is on.

use crate::flash::Pattern;
use crate::time::Time;
use model::InputId;

/// The clock of each input that flashes now, by input.
#[derive(Debug, Clone)]
pub(super) struct Flashers {
    /// Whether flashers flash; until then they stay on.
    pub flashing: bool,
    clocks: Vec<Option<Clock>>,
}

#[derive(Debug, Clone)]
struct Clock {
    pattern: Pattern,
    start: Time,
    on: bool,
    next: Time,
}

impl Flashers {
    /// None flashes.
    pub fn new(inputs: usize) -> Flashers {
        Flashers { flashing: false, clocks: vec![None; inputs] }
    }

    /// When a flasher turns on or off next.
    pub fn next_edge(&self) -> Time {
        self.clocks.iter().flatten().map(|clock| clock.next).min().unwrap_or(Time::NEVER)
    }

    /// Turns those on or off whose time has come, and returns them with whether they are on.
    pub fn advance(&mut self, now: Time) -> Vec<(InputId, bool)> {
        let due = |clock: &&mut Clock| clock.next <= now;
        let clocks = self.clocks.iter_mut().enumerate();
        let due = clocks.filter_map(|(i, clock)| clock.as_mut().filter(due).map(|clock| (InputId(i), clock)));
        let advanced = due.map(|(input, clock)| {
            let (on, next) = clock.pattern.at(now - clock.start);
            (clock.on, clock.next) = (on, clock.start + next);
            (input, on)
        });
        advanced.collect()
    }

    /// Starts one, in phase with a flasher that already runs, as hazard lamps do. Returns whether it begins on.
    pub fn start(&mut self, input: InputId, pattern: Pattern, now: Time) -> bool {
        let other = self.clocks.iter().flatten().find(|clock| clock.pattern == pattern).map(|clock| clock.start);
        let start = other.unwrap_or(now);
        let (on, next) = pattern.at(now - start);
        self.clocks[input.0] = Some(Clock { pattern, start, on, next: start + next });
        on
    }

    /// Goes on by some whole rounds.
    pub fn go_on(&mut self, by: Time) {
        self.clocks.iter_mut().flatten().for_each(|clock| clock.next = clock.next + by);
    }

    /// Stops one.
    pub fn stop(&mut self, input: InputId) {
        self.clocks[input.0] = None;
    }

    /// Stops all, and returns those that ran.
    pub fn stop_all(&mut self) -> Vec<InputId> {
        (0..self.clocks.len()).filter(|i| self.clocks[*i].take().is_some()).map(InputId).collect()
    }

    /// Whether an input flashes.
    pub fn runs(&self, input: InputId) -> bool {
        self.clocks[input.0].is_some()
    }

    /// Whether an input is in the dark half of its flash.
    pub fn is_dark(&self, input: InputId) -> bool {
        self.clocks[input.0].as_ref().is_some_and(|clock| !clock.on)
    }

    /// Whether all flash together and begin a round now.
    pub fn begin_a_round(&self, now: Time) -> bool {
        let mut clocks = self.clocks.iter().flatten();
        let Some(first) = clocks.next() else { return false };
        let together = clocks.all(|clock| clock.start == first.start && clock.pattern == first.pattern);
        together && (now - first.start).count() % first.pattern.length().count() == 0
    }
}
