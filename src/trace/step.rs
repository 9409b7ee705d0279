//! The next step: where to look or probe, in which setting, so that the answer excludes most for its minutes.
//!
//! The measure is the expected loss of entropy, as in J. de Kleer and B. C. Williams, Diagnosing multiple faults,
//! Artificial Intelligence 32, 1987, 97-130, divided by the minutes that the step takes.

use super::belief::Belief;
use super::fault::Failure;
use super::group::Group;
use super::seen::{Answered, Observation, ScreenSeen};
use super::setting::SetState;
use super::simulate::{Shown, Simulated};
use facts::Facts;
use model::{ElementId, ElementKind, PartKind, PinId, ScreenId};
use quantity::Volts;
use serde::Serialize;
use std::collections::BTreeMap;

/// Minutes that steps take (typical: common practice, no source).
const LOOK: f64 = 0.3;
const PULL_FUSE: f64 = 1.0;
const PROBE_PART: f64 = 1.5;
const PROBE_CONNECTOR: f64 = 2.0;
const OPEN_LOOM: f64 = 8.0;
const SET_STATE: f64 = 0.5;
const MOVE_INPUT: f64 = 0.3;

/// Below this share of the nominal voltage a meter shows nothing, from the other on full voltage.
const BANDS: [f64; 2] = [0.1, 0.75];

/// A gain below this is none.
const LEAST_GAIN: f64 = 1e-3;

/// The outcome of a circuit that does not settle.
const UNSETTLED: u8 = u8::MAX;

/// Suspects named for an answer.
const NAMED: usize = 4;

/// Where to look or probe.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Probe {
    /// Look at a screen.
    Screen(String),
    /// See or hear whether a lamp, a buzzer or another part works.
    Part(String),
    /// Look whether a fuse is whole.
    Fuse(String),
    /// Measure between a pin and the battery's negative.
    Pin {
        /// The pin.
        pin: String,
        /// Where it is.
        place: String,
        /// The wires on it, with their colours.
        wires: Vec<String>,
    },
}

/// A step, and what each answer means.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextStep {
    /// The state to set: `key run, reverse`.
    pub state: String,
    /// Where to look or probe.
    pub probe: Probe,
    /// Minutes that it takes.
    pub minutes: f64,
    /// The answers, the most probable first.
    pub answers: Vec<Answer>,
}

/// An answer and what it means.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Answer {
    /// What is seen or read: `black`, `12.1 V to 12.4 V`.
    pub shows: String,
    /// Its probability.
    pub probability: f64,
    /// The suspects that remain then, the most probable first; a few of them.
    pub suspects: Vec<String>,
    /// How many more remain.
    pub more: usize,
}

/// What the steps are chosen from.
pub(crate) struct Steps<'s, 'm> {
    pub facts: &'s Facts<'m>,
    pub faults: &'s [Failure],
    pub settings: &'s [SetState],
    pub now: Option<&'s SetState>,
    pub shown: &'s Simulated,
    pub likely: &'s [usize],
    pub belief: &'s Belief,
    pub unreachable: &'s [PinId],
    pub observations: &'s [Observation],
}

/// Something to look at in a setting.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Look {
    Screen(ScreenId),
    Works(usize),
    Fuse(ElementId),
    Pin(PinId),
}

/// What is seen there, as far as it can be distinguished: a place in a list of bands, or a picture.
type Outcome = (u8, Option<ScreenSeen>);

impl Steps<'_, '_> {
    /// The likely faults by what every step would show, the most probable group first.
    pub fn groups(&self) -> Vec<Group> {
        let looks = self.looks();
        let mut of: BTreeMap<Vec<Outcome>, Group> = BTreeMap::new();
        for (place, fault) in self.likely.iter().enumerate() {
            let settings = 0..self.settings.len();
            let signature = settings.flat_map(|at| {
                let shown = self.shown.at(place, at);
                looks.iter().map(move |look| self.outcome(shown, *look))
            });
            let group = of.entry(signature.collect()).or_insert_with(|| Group {
                faults: Vec::new(),
                example: place,
                probability: 0.0,
            });
            group.faults.push(*fault);
            group.probability += self.belief.of_fault(*fault);
        }
        let mut groups: Vec<Group> = of.into_values().collect();
        groups.sort_by(|a, b| b.probability.total_cmp(&a.probability).then(a.example.cmp(&b.example)));
        groups
    }

    /// The step with the largest gain for its minutes.
    pub fn best(&self, groups: &[Group]) -> Option<NextStep> {
        let mut best: Option<(f64, usize, Look, f64)> = None;
        let looks = self.looks();
        for (at, setting) in self.settings.iter().enumerate() {
            for &look in &looks {
                if self.is_known(setting, look) {
                    continue;
                }
                let minutes = self.minutes(setting, look);
                let gain = self.gain(groups, at, look);
                let rate = gain / minutes;
                if gain > LEAST_GAIN && best.as_ref().is_none_or(|(known, ..)| rate > known * (1.0 + 1e-9)) {
                    best = Some((rate, at, look, minutes));
                }
            }
        }
        let (_, at, look, minutes) = best?;
        Some(NextStep {
            state: self.settings[at].name.clone(),
            probe: self.probe(look),
            minutes,
            answers: self.answers(groups, at, look),
        })
    }

    /// Whether this was looked at before. The same look again shows nothing new.
    fn is_known(&self, setting: &SetState, look: Look) -> bool {
        let same = |one: &Observation| match (one.what, look) {
            (Answered::Fuse(fuse, _), Look::Fuse(other)) => fuse == other,
            (Answered::Screen(screen, _), Look::Screen(other)) => screen == other && one.setting.name == setting.name,
            (Answered::Works(promise, _), Look::Works(other)) => promise == other && one.setting.name == setting.name,
            (Answered::Volts(pin, _), Look::Pin(other)) => pin == other && one.setting.name == setting.name,
            _ => false,
        };
        self.observations.iter().any(same)
    }

    /// Screens first, then the pins that a meter reaches.
    fn looks(&self) -> Vec<Look> {
        let model = self.facts.model;
        let screens = (0..model.screens.len()).map(|i| Look::Screen(ScreenId(i)));
        let works = (0..model.works.len()).map(Look::Works);
        let is_fuse = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Fuse { .. });
        let fuses = (0..model.elements.len()).map(ElementId).filter(is_fuse).map(Look::Fuse);
        let can_be_read = |pin: &PinId| {
            let kind = model.part(model.pin(*pin).part).kind;
            let is_there = self.facts.connectivity().is_joined(*pin) || kind == PartKind::Ground;
            self.facts.solved.assembly.pin(*pin).is_some() && is_there && !self.unreachable.contains(pin)
        };
        screens.chain(works).chain(fuses).chain(model.pin_ids().filter(can_be_read).map(Look::Pin)).collect()
    }

    fn outcome(&self, shown: Option<&Shown>, look: Look) -> Outcome {
        match (shown, look) {
            (None, _) => (UNSETTLED, None),
            (Some(shown), Look::Screen(screen)) => (0, Some(shown.screens[screen.0])),
            (Some(shown), Look::Works(promise)) => (u8::from(shown.works[promise]), None),
            (Some(shown), Look::Fuse(fuse)) => (u8::from(shown.blown.contains(&fuse)), None),
            (Some(shown), Look::Pin(pin)) => (self.band(shown.volts[pin.0]), None),
        }
    }

    fn band(&self, volts: Option<Volts>) -> u8 {
        let share = volts.unwrap_or(Volts::new(0.0)).value().abs() / self.facts.model.job.nominal.value();
        BANDS.iter().filter(|limit| share >= **limit).count() as u8
    }

    /// The groups by what they show.
    fn split<'g>(&self, groups: &'g [Group], at: usize, look: Look) -> BTreeMap<Outcome, Vec<&'g Group>> {
        let mut split: BTreeMap<Outcome, Vec<&Group>> = BTreeMap::new();
        for group in groups {
            split.entry(self.outcome(self.shown.at(group.example, at), look)).or_default().push(group);
        }
        split
    }

    /// The expected loss of entropy, in bits.
    fn gain(&self, groups: &[Group], at: usize, look: Look) -> f64 {
        let split = self.split(groups, at, look);
        let sum = |groups: &[&Group]| groups.iter().map(|group| group.probability).sum::<f64>();
        let total: f64 = groups.iter().map(|group| group.probability).sum();
        let part = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
        // Every answer follows from the fault, so the entropy of the answers is what is learned.
        split.values().map(|groups| part(sum(groups) / total)).sum()
    }

    fn minutes(&self, setting: &SetState, look: Look) -> f64 {
        let is_set = self.now.is_some_and(|now| now.name == setting.name);
        let set = if is_set { 0.0 } else { SET_STATE + MOVE_INPUT * setting.away as f64 };
        set + match look {
            Look::Screen(_) | Look::Works(_) => LOOK,
            Look::Fuse(_) => return PULL_FUSE,
            Look::Pin(pin) => match self.facts.model.part(self.facts.model.pin(pin).part).kind {
                PartKind::Connector => PROBE_CONNECTOR,
                PartKind::Splice => OPEN_LOOM,
                _ => PROBE_PART,
            },
        }
    }

    fn probe(&self, look: Look) -> Probe {
        let model = self.facts.model;
        match look {
            Look::Works(promise) => Probe::Part(model.part(model.works[promise].part).name.to_string()),
            Look::Fuse(fuse) => Probe::Fuse(model.part(model.element(fuse).part).name.to_string()),
            Look::Screen(screen) => Probe::Screen(model.screens[screen.0].name.to_string()),
            Look::Pin(pin) => Probe::Pin {
                pin: model.pin_name(pin),
                place: model.place_name(model.part(model.pin(pin).part).at).to_string(),
                wires: model
                    .wires_on(pin)
                    .map(|wire| {
                        let wire = model.wire(wire);
                        wire.colour.map_or_else(|| wire.id.to_string(), |colour| format!("{} {colour}", wire.id))
                    })
                    .collect(),
            },
        }
    }

    fn answers(&self, groups: &[Group], at: usize, look: Look) -> Vec<Answer> {
        let total: f64 = groups.iter().map(|group| group.probability).sum();
        let split = self.split(groups, at, look);
        let answer = |(outcome, groups): (&Outcome, &Vec<&Group>)| {
            let names = groups.iter().map(|group| self.name(group));
            Answer {
                shows: self.shows(*outcome, groups, at, look),
                probability: groups.iter().map(|group| group.probability).sum::<f64>() / total,
                suspects: names.take(NAMED).collect(),
                more: groups.len().saturating_sub(NAMED),
            }
        };
        let mut answers: Vec<Answer> = split.iter().map(answer).collect();
        answers.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        answers
    }

    /// The most frequent fault of a group.
    fn name(&self, group: &Group) -> String {
        let best = group
            .faults
            .iter()
            .max_by(|a, b| self.belief.of_fault(**a).total_cmp(&self.belief.of_fault(**b)).then(b.cmp(a)));
        best.map_or_else(String::new, |fault| self.faults[*fault].words.clone())
    }

    fn shows(&self, outcome: Outcome, groups: &[&Group], at: usize, look: Look) -> String {
        let pin = match (look, outcome) {
            (_, (UNSETTLED, _)) => return "comes and goes".to_string(),
            (Look::Screen(_), (_, seen)) => return seen.map(|seen| seen.words(self.facts.model)).unwrap_or_default(),
            (Look::Works(_), (on, _)) => return if on == 1 { "on" } else { "off" }.to_string(),
            (Look::Fuse(_), (blown, _)) => return if blown == 1 { "blown" } else { "whole" }.to_string(),
            (Look::Pin(pin), _) => pin,
        };
        let read = |group: &&Group| self.shown.at(group.example, at).and_then(|shown| shown.volts[pin.0]);
        let volts: Vec<Volts> = groups.iter().filter_map(read).collect();
        let least = volts.iter().copied().fold(None, |least: Option<Volts>, v| Some(least.map_or(v, |l| l.min(v))));
        let most = volts.iter().copied().fold(None, |most: Option<Volts>, v| Some(most.map_or(v, |m| m.max(v))));
        match (outcome.0, least, most) {
            (0, ..) => format!("under {}", Volts::new(self.facts.model.job.nominal.value() * BANDS[0])),
            (_, Some(least), Some(most)) if (most - least).value() < 0.05 => format!("about {least}"),
            (_, Some(least), Some(most)) => format!("{least} to {most}"),
            _ => "nothing".to_string(),
        }
    }
}
