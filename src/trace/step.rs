//! The next step: where to look or probe, in which setting, so that the answer excludes most for its minutes.
//!
//! The measure is the expected loss of entropy, as in J. de Kleer and B. C. Williams, Diagnosing multiple faults,
//! Artificial Intelligence 32, 1987, 97-130, divided by the minutes that the step takes.

use super::belief::Belief;
use super::dictionary::Dictionary;
use super::extra::Extra;
use super::fault::Failure;
use super::group::SuspectGroup;
use super::look::{Look, needs_state};
use super::measure::Measure;
use super::probe::{Answer, NextStep, Words};
use super::seen::{Answered, Observation};
use super::setting::SetState;
use super::skipped::Skipped;
use facts::Facts;
use model::{ElementId, ElementKind, PartKind, PinId, PlaceId, ScreenId, WireId};
use std::collections::BTreeMap;

/// Minutes that steps take (typical: common practice, no source).
const LOOK: f64 = 0.3;
const PULL_FUSE: f64 = 1.0;
const PROBE_PART: f64 = 1.5;
const PROBE_CONNECTOR: f64 = 2.0;
const OPEN_LOOM: f64 = 8.0;
const SET_STATE: f64 = 0.5;
const MOVE_INPUT: f64 = 0.3;
const SECOND_LEAD: f64 = 0.5;
const UNPLUG: f64 = 1.5;
const BATTERY_OFF: f64 = 3.0;
const METER_IN_SERIES: f64 = 3.0;
const UNPLUG_CABLE: f64 = 4.0;
const WIGGLE: f64 = 1.5;

/// A gain below this is none.
const LEAST_GAIN: f64 = 0.01;

/// What is always looked at: screens and parts first, then fuses, cables, places, and the voltages of pins.
pub(crate) fn looks(facts: &Facts, faults: &[Failure]) -> Vec<Look> {
    let model = facts.model;
    let screens = (0..model.screens.len()).map(|i| Look::Screen(ScreenId(i)));
    let works = (0..model.works.len()).map(Look::Works);
    let is_fuse = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Fuse { .. });
    let fuses = (0..model.elements.len()).map(ElementId).filter(is_fuse).map(Look::Fuse);
    let is_cable = |wire: &WireId| faults.iter().any(|fault| fault.harm.cable() == Some(*wire));
    let cables = model.wire_ids().filter(is_cable).map(Look::Cable);
    let places = (0..model.places.len()).map(|at| Look::Wiggle(PlaceId(at)));
    let can_be_read = |pin: &PinId| {
        let kind = model.part(model.pin(*pin).part).kind;
        let is_there = facts.connectivity().is_joined(*pin) || kind == PartKind::Ground;
        facts.solved.assembly.pin(*pin).is_some() && is_there
    };
    let pins = model.pin_ids().filter(can_be_read).map(|pin| Look::Meter(Measure::Volts(pin)));
    screens.chain(works).chain(fuses).chain(cables).chain(places).chain(pins).collect()
}

/// What the steps are chosen from.
pub(crate) struct Steps<'s, 'm> {
    pub facts: &'s Facts<'m>,
    pub faults: &'s [Failure],
    pub dictionary: &'s Dictionary,
    pub now: Option<&'s SetState>,
    pub likely: &'s [usize],
    pub belief: &'s Belief,
    pub skipped: &'s Skipped,
    pub observations: &'s [Observation],
    pub extra: &'s [Extra],
}

/// A step with its gain in bits for each minute.
pub(crate) struct Chosen {
    pub at: usize,
    pub look: Look,
    minutes: f64,
    pub gain: f64,
}

impl Steps<'_, '_> {
    /// The likely faults by what every step would show, the most probable group first.
    pub fn groups(&self) -> Vec<SuspectGroup> {
        let looks: Vec<usize> =
            (0..self.dictionary.looks.len()).filter(|at| !self.skipped.holds(self.dictionary.looks[*at])).collect();
        let mut of: BTreeMap<Vec<u16>, SuspectGroup> = BTreeMap::new();
        for fault in self.likely {
            let settings = 0..self.dictionary.settings.len();
            let codes = settings.flat_map(|at| looks.iter().map(move |look| (at, *look)));
            let codes = codes.map(|(at, look)| self.dictionary.code(*fault, at, look));
            let more = self.extra.iter().filter(|extra| !self.skipped.holds(Look::Meter(extra.measure)));
            let signature = codes.chain(more.map(|extra| extra.code(*fault))).collect();
            let none = || SuspectGroup { faults: Vec::new(), example: *fault, probability: 0.0 };
            let group = of.entry(signature).or_insert_with(none);
            group.faults.push(*fault);
            group.probability += self.belief.of_fault(*fault);
        }
        let mut groups: Vec<SuspectGroup> = of.into_values().collect();
        groups.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.example.cmp(&b.example)));
        groups
    }

    /// The step with the largest gain for its minutes.
    pub fn choose(&self, groups: &[SuspectGroup]) -> Option<Chosen> {
        let mut best: Option<Chosen> = None;
        let mut take = |at: usize, look: Look, gain: f64| {
            if gain <= LEAST_GAIN || self.is_known(at, look) || self.skipped.holds_in(look, &self.setting(at).name) {
                return;
            }
            let minutes = self.minutes(self.setting(at), look);
            let rate = |chosen: &Chosen| chosen.gain / chosen.minutes;
            if best.as_ref().is_none_or(|known| gain / minutes > rate(known) * (1.0 + 1e-9)) {
                best = Some(Chosen { at, look, minutes, gain });
            }
        };
        for at in 0..self.dictionary.settings.len() {
            for (place, look) in self.dictionary.looks.iter().enumerate() {
                take(at, *look, gain(groups, |group| self.dictionary.code(group.example, at, place)));
            }
        }
        for extra in self.extra {
            take(extra.setting, Look::Meter(extra.measure), gain(groups, |group| extra.code(group.example)));
        }
        best
    }

    /// The step in words, with what each answer means.
    pub fn step(&self, groups: &[SuspectGroup], chosen: &Chosen) -> NextStep {
        let Chosen { at, look, minutes, .. } = *chosen;
        let words = Words { model: self.facts.model };
        NextStep {
            state: if needs_state(look) { self.setting(at).name.clone() } else { String::new() },
            probe: words.probe(look),
            ask: words.ask(look),
            minutes,
            cautions: words.cautions(self.facts, self.setting(at), self.now, look),
            answers: self.answers(groups, at, look),
        }
    }

    fn setting(&self, at: usize) -> &SetState {
        &self.dictionary.settings[at]
    }

    /// Whether this was looked at before. The same look again shows nothing new.
    fn is_known(&self, at: usize, look: Look) -> bool {
        let state = &self.setting(at).name;
        let same = |one: &Observation| {
            let what = match one.what {
                Answered::Fuse(fuse, _) => Look::Fuse(fuse),
                Answered::Screen(screen, _) => Look::Screen(screen),
                Answered::Works(promise, _) => Look::Works(promise),
                Answered::Cable(wire, _) => Look::Cable(wire),
                Answered::Wiggle(place, _) => Look::Wiggle(place),
                Answered::Meter(measure, _) => Look::Meter(measure),
            };
            what == look && (!needs_state(look) || one.setting.name == *state)
        };
        self.observations.iter().any(same)
    }

    fn minutes(&self, setting: &SetState, look: Look) -> f64 {
        let is_set = self.now.is_some_and(|now| now.name == setting.name);
        let set = if is_set { 0.0 } else { SET_STATE + MOVE_INPUT * setting.away as f64 };
        let model = self.facts.model;
        let reach = |pin: PinId| match model.part(model.pin(pin).part).kind {
            PartKind::Connector => PROBE_CONNECTOR,
            PartKind::Splice => OPEN_LOOM,
            _ => PROBE_PART,
        };
        match look {
            Look::Screen(_) | Look::Works(_) => set + LOOK,
            Look::Fuse(_) => PULL_FUSE,
            Look::Cable(_) => UNPLUG_CABLE,
            Look::Wiggle(_) => WIGGLE,
            Look::Meter(Measure::Volts(pin) | Measure::Lamp(pin)) => set + reach(pin),
            Look::Meter(Measure::Unplugged(pin)) => set + UNPLUG + reach(pin),
            Look::Meter(Measure::Drop(from, to)) => set + SECOND_LEAD + reach(from).max(reach(to)),
            Look::Meter(Measure::Ohms(from, to)) => BATTERY_OFF + SECOND_LEAD + reach(from).max(reach(to)),
            Look::Meter(Measure::Amps(_)) => set + METER_IN_SERIES,
        }
    }

    /// What a fault shows there, as a tech distinguishes it.
    fn code(&self, fault: usize, at: usize, look: Look) -> u16 {
        let extra = self.extra.iter().find(|extra| Look::Meter(extra.measure) == look && extra.setting == at);
        match (extra, self.dictionary.looks.iter().position(|one| *one == look)) {
            (_, Some(place)) => self.dictionary.code(fault, at, place),
            (Some(extra), None) => extra.code(fault),
            (None, None) => 0,
        }
    }

    fn answers(&self, groups: &[SuspectGroup], at: usize, look: Look) -> Vec<Answer> {
        let total: f64 = groups.iter().map(|group| group.probability).sum();
        let mut split: BTreeMap<u16, Vec<&SuspectGroup>> = BTreeMap::new();
        for group in groups {
            split.entry(self.code(group.example, at, look)).or_default().push(group);
        }
        let words = Words { model: self.facts.model };
        let answer = |(code, groups): (&u16, &Vec<&SuspectGroup>)| {
            let faults: Vec<usize> = groups.iter().map(|group| group.example).collect();
            Answer {
                shows: words.shows(self.dictionary, self.extra, *code, &faults, at, look),
                probability: groups.iter().map(|group| group.probability).sum::<f64>() / total,
                suspects: groups.iter().map(|group| self.name(group)).take(Answer::NAMED).collect(),
                more: groups.len().saturating_sub(Answer::NAMED),
            }
        };
        let mut answers: Vec<Answer> = split.iter().map(answer).collect();
        answers.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        answers
    }

    /// The most frequent fault of a group.
    fn name(&self, group: &SuspectGroup) -> String {
        let best = group
            .faults
            .iter()
            .max_by(|a, b| self.belief.of_fault(**a).total_cmp(&self.belief.of_fault(**b)).then(b.cmp(a)));
        best.map_or_else(String::new, |fault| self.faults[*fault].words.clone())
    }
}

/// The expected loss of entropy, in bits. Every answer follows from the fault, so the entropy of the answers is what is
/// learned.
pub(crate) fn gain(groups: &[SuspectGroup], code: impl Fn(&SuspectGroup) -> u16) -> f64 {
    let total: f64 = groups.iter().map(|group| group.probability).sum();
    let mut sums: Vec<(u16, f64)> = Vec::new();
    for group in groups {
        let code = code(group);
        match sums.iter_mut().find(|(known, _)| *known == code) {
            Some((_, sum)) => *sum += group.probability,
            None => sums.push((code, group.probability)),
        }
    }
    if sums.len() < 2 {
        return 0.0;
    }
    sums.iter().map(|(_, sum)| sum / total).filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum()
}
