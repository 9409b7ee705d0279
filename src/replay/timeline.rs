//! A record over time: a lane for each input, contact, timer, part and screen.

use super::display::{Displayed, ScreenMotion};
use super::replay_circuit::ReplayCircuit;
use super::time::Time;
use circuit::{Position, Positions, State};
use model::InputId;

/// Values with the moments at which they began, in order of time. Two at one moment
/// mean that the first lasted zero time.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane<T> {
    /// The moments and the values.
    pub points: Vec<(Time, T)>,
}

impl<T: PartialEq> Lane<T> {
    /// Nothing yet.
    pub(super) fn new() -> Self {
        Lane { points: vec![] }
    }

    /// Records a value, unless it equals the last one.
    pub(super) fn note(&mut self, at: Time, value: &T)
    where
        T: Clone,
    {
        if self.points.last().is_none_or(|(_, last)| last != value) {
            self.points.push((at, value.clone()));
        }
    }

    /// Writes what was recorded after one moment and up to another that many times more.
    fn repeat(&mut self, from: Time, to: Time, times: i64)
    where
        T: Clone,
    {
        let after = self.points.partition_point(|(at, _)| *at <= from);
        let round = self.points[after..].to_vec();
        for n in 1..=times {
            let by = (to - from) * n;
            self.points.extend(round.iter().map(|(at, value)| (*at + by, value.clone())));
        }
    }

    /// The value at a moment, the later one where two begin there.
    pub fn at(&self, moment: Time) -> Option<&T> {
        let after = self.points.partition_point(|(at, _)| *at <= moment);
        self.points[..after].last().map(|(_, value)| value)
    }

    /// Each value with the moments from and to which it lasted, the last one up to `end`.
    pub fn spans(&self, end: Time) -> impl Iterator<Item = (Time, Time, &T)> {
        let ends = self.points.iter().skip(1).map(|(at, _)| *at).chain([end]);
        self.points.iter().zip(ends).map(|((from, value), to)| (*from, to, value))
    }
}

/// What a part with a supply is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// It has no power.
    Off,
    /// It has power and is starting up.
    Starting,
    /// It works: a camera sends its picture.
    Up,
}

impl Stage {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Stage::Off => "off",
            Stage::Starting => "starting",
            Stage::Up => "on",
        }
    }
}

/// What happened, with times.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Until when it was played, counted from zero.
    pub to: Time,
    /// By input, the position it was put to: a flasher's lever.
    pub levers: Vec<Lane<Position>>,
    /// By input, the position as the circuit senses it: a flasher's lamps.
    pub inputs: Vec<Lane<Position>>,
    /// By actor of the circuit.
    pub actors: Vec<Lane<bool>>,
    /// By starter of the plan.
    pub parts: Vec<Lane<Stage>>,
    /// By screen, what it displays.
    pub screens: Vec<Lane<Displayed>>,
    /// By screen, what it would display without start-up and switch-over times.
    pub picks: Vec<Lane<Displayed>>,
    /// By screen, the line of the intent that applies.
    pub wanted: Vec<Lane<Option<usize>>>,
    /// By promise that a part works, whether it should.
    pub asked: Vec<Lane<bool>>,
    /// By promise that a part works, whether it does.
    pub works: Vec<Lane<bool>>,
    /// Moves that aren't allowed: an input's `needs` didn't hold, or another input excludes it.
    pub refused: Vec<(Time, InputId, usize)>,
    /// Changes of the flash and of the supply, in words.
    pub remarks: Vec<(Time, String)>,
    /// What every screen displayed at a look, just before anything from outside at that moment.
    pub looks: Vec<(Time, Vec<Displayed>)>,
}

impl Record {
    /// Empty lanes.
    pub(super) fn new(replayed: &ReplayCircuit, inputs: usize) -> Record {
        let screens = replayed.plan.screens.len();
        Record {
            to: Time::ZERO,
            levers: vec![Lane::new(); inputs],
            inputs: vec![Lane::new(); inputs],
            actors: vec![Lane::new(); replayed.plan.actors.len()],
            parts: vec![Lane::new(); replayed.plan.starters.len()],
            screens: vec![Lane::new(); screens],
            picks: vec![Lane::new(); screens],
            wanted: vec![Lane::new(); screens],
            asked: vec![Lane::new(); replayed.plan.works.len()],
            works: vec![Lane::new(); replayed.plan.works.len()],
            refused: vec![],
            remarks: vec![],
            looks: vec![],
        }
    }

    /// Writes what was recorded after one moment and up to another, which is the last, that many times more.
    pub(super) fn repeat(&mut self, from: Time, to: Time, times: i64) {
        self.levers.iter_mut().chain(&mut self.inputs).for_each(|lane| lane.repeat(from, to, times));
        let switched = self.actors.iter_mut().chain(&mut self.asked).chain(&mut self.works);
        switched.for_each(|lane| lane.repeat(from, to, times));
        self.parts.iter_mut().for_each(|lane| lane.repeat(from, to, times));
        self.screens.iter_mut().chain(&mut self.picks).for_each(|lane| lane.repeat(from, to, times));
        self.wanted.iter_mut().for_each(|lane| lane.repeat(from, to, times));
    }

    /// Records every lane's value.
    pub(super) fn note(
        &mut self,
        replayed: &ReplayCircuit,
        now: Time,
        lever: &Positions,
        state: &State,
        stages: impl Iterator<Item = Stage>,
        screens: &[ScreenMotion],
    ) {
        for (i, lane) in self.levers.iter_mut().enumerate() {
            lane.note(now, &lever.0[i]);
        }
        for (i, lane) in self.inputs.iter_mut().enumerate() {
            lane.note(now, &state.positions.0[i]);
        }
        for (i, lane) in self.actors.iter_mut().enumerate() {
            lane.note(now, &state.memory.on(circuit::ActorId(i as u32)));
        }
        let stages: Vec<Stage> = stages.collect();
        self.parts.iter_mut().zip(&stages).for_each(|(lane, stage)| lane.note(now, stage));
        for (i, screen) in screens.iter().enumerate() {
            self.screens[i].note(now, &screen.display);
            self.picks[i].note(now, &screen.pick(&replayed.plan.screens[i]));
        }
        let (at, on) = (|id| lever.of(id), |id| state.memory.on(id));
        for (lane, screen) in self.wanted.iter_mut().zip(&replayed.plan.screens) {
            lane.note(now, &screen.views.iter().position(|view| view.holds(&at, &on)));
        }
        for (i, plan) in replayed.plan.works.iter().enumerate() {
            let is_up = plan.starter.is_none_or(|starter| stages[starter] == Stage::Up);
            self.asked[i].note(now, &plan.asked.holds(&at, &on));
            self.works[i].note(now, &(is_up && state.holds(&plan.works)));
        }
    }
}
