//! The next step: where to look or probe, in which setting, so that the answer excludes most for its minutes.
//!
//! The measure is the expected loss of entropy, as in J. de Kleer and B. C. Williams, Diagnosing multiple faults,
//! Artificial Intelligence 32, 1987, 97-130, divided by the minutes that the step takes.

use super::belief::Belief;
use super::choice::{Division, best};
use super::dictionary::Dictionary;
use super::evidence::{TraceEvidence, WRONG};
use super::extra::Extra;
use super::fault::{Failure, Mending, PictureHarm};
use super::group::{AlikeFaults, SuspectGroup, classes, grouped};
use super::measure::Measure;
use super::observable::{Observable, needs_state, splices};
use super::probe::{Answer, NextStep, Probe, Words};
use super::renewed::{is_of_old_fuse, since};
use super::seen::Observation;
use super::setting::SetState;
use super::skipped::Skipped;
use facts::Facts;
use model::{ElementId, ElementKind, PartId, PartKind, PinId, PlaceId, ScreenId, WireId};
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// Minutes that steps take (typical: common practice, no source).
pub(crate) const LOOK: f64 = 0.3;
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
const NEW_FUSE: f64 = 2.0;
const AT_BATTERY: f64 = 5.0;
const WIGGLE: f64 = 1.5;

/// Minutes that each step costs beside its own: to find the place, to write down, to think (typical, common practice, no
/// source).
pub(crate) const EACH_STEP: f64 = 0.5;

/// Minutes that a look counts as more when it was made before: what misled the first time may mislead again, so that another
/// look at another place is worth more (typical, common practice, no source).
const SAME_AGAIN: f64 = 1.0;

/// Answers that are less probable are not named.
const LEAST_ANSWER: f64 = 0.005;

/// How probable it is at least that a fuse is blown before a new one is asked for (common practice, no source).
const BLOWN: f64 = 0.8;

/// How often the same look is asked for. The second time shows whether the first was a slip, the third which of the two
/// was.
const MOST_TIMES: usize = 3;

/// How often a look is asked for. What blew one new fuse blows the next.
fn most_times(look: Observable) -> usize {
    match look {
        Observable::NewFuse(_) => 1,
        _ => MOST_TIMES,
    }
}

/// What is always looked at: screens and parts first, then fuses, cables, places, and the voltages of pins.
pub(crate) fn looks(facts: &Facts, faults: &[Failure]) -> Vec<Observable> {
    let model = facts.model;
    let screens = (0..model.screens.len()).map(|i| Observable::Screen(ScreenId(i)));
    let works = (0..model.works.len()).map(Observable::Works);
    let is_fuse = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Fuse { .. });
    let fuses = (0..model.elements.len()).map(ElementId).filter(is_fuse);
    let fuses = fuses.flat_map(|fuse| [Observable::Fuse(fuse), Observable::NewFuse(fuse)]);
    let plugs: BTreeSet<PartId> = faults.iter().filter_map(|fault| fault.harm.exchanged).collect();
    let plugs = plugs.into_iter().map(Observable::Plug);
    // Where a screen has another input, the plug of its picture can be put into this one.
    let inputs = faults.iter().flat_map(|fault| fault.harm.pictures.iter()).filter_map(|harm| match harm {
        PictureHarm::DeadInput(pin) => Some(*pin),
        _ => None,
    });
    let inputs: Vec<PinId> = inputs.collect();
    let has_other =
        |pin: &&PinId| inputs.iter().any(|other| other != *pin && model.pin(*other).part == model.pin(**pin).part);
    let swaps: Vec<Observable> = inputs.iter().filter(has_other).map(|pin| Observable::Input(*pin)).collect();
    let is_cable = |wire: &WireId| faults.iter().any(|fault| fault.harm.cable() == Some(wire));
    let cables = model.wire_ids().filter(is_cable).map(Observable::Cable);
    let places = (0..model.places.len()).map(|at| Observable::Wiggle(PlaceId(at)));
    let can_be_read = |pin: &PinId| {
        let kind = model.part(model.pin(*pin).part).kind;
        // A pin in a plug of the part itself can't be reached: its mate has the wire.
        let is_there = model.wires_on(*pin).next().is_some() || kind == PartKind::Ground;
        facts.solved.assembly.pin(*pin).is_some() && is_there
    };
    let pins = model.pin_ids().filter(can_be_read).map(|pin| Observable::Meter(Measure::Volts(pin)));
    screens
        .chain(works)
        .chain([Observable::Drain])
        .chain(fuses)
        .chain(plugs)
        .chain(swaps)
        .chain(cables)
        .chain(places)
        .chain(pins)
        .collect()
}

/// What the steps are chosen from.
pub(crate) struct Steps<'s, 'm> {
    pub facts: &'s Facts<'m>,
    pub faults: &'s [Failure],
    pub dictionary: &'s Dictionary,
    pub now: Option<&'s SetState>,
    /// Whether the tech has set that state, or only knows that the complaint was seen in it.
    pub now_is_set: bool,
    pub likely: &'s [usize],
    pub belief: &'s Belief,
    pub skipped: &'s Skipped,
    pub observations: &'s [Observation],
    pub extra: &'s [Extra],
}

/// A step with its gain in bits for each minute.
pub(crate) struct Chosen {
    pub at: usize,
    pub look: Observable,
    pub minutes: f64,
    pub gain: f64,
}

impl Steps<'_, '_> {
    /// The likely faults by what every step would show and by their repair, the most probable suspect first.
    pub fn groups(&self) -> Vec<SuspectGroup> {
        let dictionary = self.dictionary;
        let is_left = |look: &Observable| !self.skipped.holds(*look);
        let looks: Vec<bool> = dictionary.looks.iter().map(is_left).collect();
        let more: Vec<&Extra> = self.extra.iter().filter(|extra| is_left(&Observable::Meter(extra.measure))).collect();
        let mut of: BTreeMap<(Cow<[u16]>, Vec<u16>), AlikeFaults> = BTreeMap::new();
        for fault in self.likely {
            let codes = dictionary.codes(*fault);
            let kept =
                || codes.iter().zip(looks.iter().cycle()).filter(|(_, is_left)| **is_left).map(|(code, _)| *code);
            let codes = if looks.contains(&false) { Cow::Owned(kept().collect()) } else { Cow::Borrowed(codes) };
            let more = more.iter().map(|extra| extra.code(*fault)).collect();
            let none = || AlikeFaults { faults: Vec::new(), probability: 0.0 };
            let alike = of.entry((codes, more)).or_insert_with(none);
            alike.faults.push(*fault);
            alike.probability += self.belief.of_fault(*fault);
        }
        grouped(of.into_values().collect(), self.faults)
    }

    /// The step that separates the suspects best for its minutes.
    pub fn choose(&self, groups: &[SuspectGroup]) -> Option<Chosen> {
        if groups.len() < 2 {
            return None;
        }
        let examples: Vec<usize> = groups.iter().flat_map(|group| &group.alike).map(AlikeFaults::example).collect();
        let codes: Vec<&[u16]> = examples.iter().map(|fault| self.dictionary.codes(*fault)).collect();
        // Of the steps that divide the suspects alike, such as the pins of one net, the cheapest counts.
        let mut cheapest: BTreeMap<Vec<u8>, (Division, usize, Observable)> = BTreeMap::new();
        for (at, look, place) in self.open() {
            let column = place.map(|place| at * self.dictionary.looks.len() + place);
            let division = match column {
                Some(column) => Division::new(codes.iter().map(|codes| codes[column])),
                None => Division::new(examples.iter().map(|fault| self.code(*fault, at, look))),
            };
            let Some(division) = division else { continue };
            let division = division.at_cost(self.cost(at, look));
            match cheapest.get_mut(&division.answers) {
                Some(known) if known.0.cost <= division.cost => {}
                Some(known) => *known = (division, at, look),
                None => drop(cheapest.insert(division.answers.clone(), (division, at, look))),
            }
        }
        let (divisions, steps): (Vec<Division>, Vec<(usize, Observable)>) =
            cheapest.into_values().map(|(division, at, look)| (division, (at, look))).unzip();
        let classes = classes(groups);
        let best = best(&classes, &divisions, WRONG)?;
        let (at, look) = steps[best];
        let gain = divisions[best].gain(&classes, WRONG);
        Some(Chosen { at, look, minutes: self.minutes(self.setting(at), look), gain })
    }

    /// What a step costs, in minutes.
    fn cost(&self, at: usize, look: Observable) -> f64 {
        let again = if self.times_seen(at, look) > 0 { SAME_AGAIN } else { 0.0 };
        self.minutes(self.setting(at), look) + EACH_STEP + again
    }

    /// Every step that can be taken: its setting, what is looked at, and its place in the dictionary, if it has one.
    pub fn open(&self) -> impl Iterator<Item = (usize, Observable, Option<usize>)> + '_ {
        let known = (0..self.dictionary.settings.len()).flat_map(move |at| {
            self.dictionary.looks.iter().enumerate().map(move |(place, look)| (at, *look, Some(place)))
        });
        let extra = self.extra.iter().map(|extra| (extra.setting, Observable::Meter(extra.measure), None));
        let due: Vec<bool> = self.dictionary.looks.iter().map(|look| self.is_due(*look)).collect();
        known.chain(extra).filter(move |(at, look, place)| {
            place.is_none_or(|place| due[place])
                && !is_of_old_fuse(*look, self.observations)
                && self.times_seen(*at, *look) < most_times(*look)
                && !self.skipped.holds_in(*look, &self.setting(*at).name)
        })
    }

    /// A new fuse is put in only where the old fuse is probably blown.
    fn is_due(&self, look: Observable) -> bool {
        let Observable::NewFuse(fuse) = look else { return true };
        let Some(old) = self.dictionary.looks.iter().position(|look| *look == Observable::Fuse(fuse)) else {
            return false;
        };
        let weight = |fault: &usize| self.belief.of_fault(*fault);
        let blown = self.likely.iter().filter(|fault| self.dictionary.code(**fault, 0, old) == 1);
        blown.map(weight).sum::<f64>() >= BLOWN * self.likely.iter().map(weight).sum::<f64>()
    }

    /// The first of the doubtful observations, by their numbers from 1, that can be made once more.
    pub fn doubted(&self, groups: &[SuspectGroup], evidence: &[TraceEvidence], doubtful: &[usize]) -> Option<Chosen> {
        let mut all = doubtful.iter().map(|number| &evidence[number - 1]);
        let open = all.find(|one| {
            let look = one.observation.what.look();
            let is_known = self.dictionary.looks.contains(&look) || self.extra_at(one.setting, look).is_some();
            let is_step = is_known && !self.skipped.holds_in(look, &one.observation.setting.name);
            is_step && !is_of_old_fuse(look, self.observations) && self.times_seen(one.setting, look) < most_times(look)
        })?;
        Some(self.chosen(groups, open.setting, open.observation.what.look()))
    }

    /// A certain step.
    pub fn chosen(&self, groups: &[SuspectGroup], at: usize, look: Observable) -> Chosen {
        let examples = groups.iter().flat_map(|group| &group.alike).map(AlikeFaults::example);
        let division = Division::new(examples.map(|fault| self.code(fault, at, look)));
        let gain = division.map_or(0.0, |division| division.gain(&classes(groups), WRONG));
        Chosen { at, look, minutes: self.minutes(self.setting(at), look), gain }
    }

    /// The step in words, with what each answer means.
    pub fn step(&self, groups: &[SuspectGroup], chosen: &Chosen) -> NextStep {
        let Chosen { at, look, minutes, .. } = *chosen;
        let words = self.words();
        NextStep {
            state: match look {
                Observable::Mended(_) => String::new(),
                // Where the complaint shows.
                Observable::Wiggle(_) => {
                    self.observations.first().map_or_else(String::new, |one| one.setting.name.clone())
                }
                _ if needs_state(look) => self.setting(at).name.clone(),
                _ => String::new(),
            },
            probe: match look {
                Observable::Mended(mending) => self.mend(mending),
                Observable::NewFuse(fuse) => self.new_fuse(groups, fuse),
                _ => words.probe(look),
            },
            ask: words.ask(look),
            again: self.times_seen(at, look) > 0,
            minutes,
            cautions: words.cautions(self.set_for(at, look), self.now.filter(|_| self.now_is_set), look),
            answers: self.answers(groups, at, look),
        }
    }

    /// A new fuse, with the states in which a suspect would blow it.
    fn new_fuse(&self, groups: &[SuspectGroup], fuse: ElementId) -> Probe {
        let blows = |fault: usize| self.dictionary.harms[fault].blows_when(fuse);
        let settings: BTreeSet<usize> = groups.iter().flat_map(SuspectGroup::faults).filter_map(blows).collect();
        let settings: Vec<String> = settings.into_iter().map(|at| self.setting(at).name.clone()).collect();
        match self.words().probe(Observable::NewFuse(fuse)) {
            Probe::NewFuse { fuse, rating, .. } => Probe::NewFuse { fuse, rating, states: settings },
            other => other,
        }
    }

    /// A repair, and where to look then.
    fn mend(&self, mending: Mending) -> Probe {
        let state = self.observations.first().map_or_else(String::new, |one| one.setting.name.clone());
        Probe::Mend { action: mending.action(self.facts.model), state }
    }

    /// The setting of a look; wires are moved, and repairs tried, in that of the complaint.
    fn set_for(&self, at: usize, look: Observable) -> &SetState {
        match (look, self.observations.first()) {
            (Observable::Wiggle(_) | Observable::Mended(_), Some(complaint)) => &complaint.setting,
            _ => self.setting(at),
        }
    }

    fn words(&self) -> Words<'_> {
        Words { model: self.facts.model, drain_limit: self.dictionary.drain_limit }
    }

    fn setting(&self, at: usize) -> &SetState {
        &self.dictionary.settings[at]
    }

    /// How often this was looked at before.
    fn times_seen(&self, at: usize, look: Observable) -> usize {
        let state = &self.setting(at).name;
        let same = |one: &&Observation| one.what.look() == look && (!needs_state(look) || one.setting.name == *state);
        // What was seen in a state before a new fuse was put in was another circuit's.
        let from = if needs_state(look) { since(self.observations) } else { 0 };
        self.observations[from..].iter().filter(same).count()
    }

    pub fn minutes(&self, setting: &SetState, look: Observable) -> f64 {
        let is_set = self.now.is_some_and(|now| now.name == setting.name);
        let set = if is_set { 0.0 } else { SET_STATE + MOVE_INPUT * setting.away as f64 };
        let model = self.facts.model;
        let is_off =
            |one: &Observation| matches!(one.what.look(), Observable::Meter(measure) if measure.is_without_power());
        let off = if self.observations.last().is_some_and(is_off) { 0.0 } else { BATTERY_OFF };
        let reach = |pin: PinId| match model.part(model.pin(pin).part).kind {
            PartKind::Connector => PROBE_CONNECTOR,
            PartKind::Splice => OPEN_LOOM,
            _ => PROBE_PART,
        };
        match look {
            Observable::Screen(_) | Observable::Works(_) => set + LOOK,
            Observable::Fuse(_) => PULL_FUSE,
            Observable::NewFuse(_) => NEW_FUSE,
            Observable::Drain => AT_BATTERY,
            Observable::Plug(_) => PROBE_CONNECTOR,
            Observable::Input(_) => UNPLUG_CABLE,
            Observable::Cable(_) => UNPLUG_CABLE,
            Observable::Wiggle(_) => WIGGLE,
            // Its minutes depend on what is mended, and are not asked for here.
            Observable::Mended(_) => LOOK,
            Observable::Meter(Measure::Volts(pin) | Measure::Lamp(pin)) => set + reach(pin),
            Observable::Meter(Measure::Unplugged(pin)) => set + UNPLUG + reach(pin),
            Observable::Meter(Measure::Drop(from, to)) => set + SECOND_LEAD + reach(from).max(reach(to)),
            Observable::Meter(Measure::Ohms(from, to)) => off + SECOND_LEAD + reach(from).max(reach(to)),
            Observable::Meter(Measure::ToGround(pin)) => off + reach(pin),
            Observable::Meter(Measure::Apart(pin)) => off + UNPLUG + reach(pin),
            Observable::Meter(Measure::Amps(_)) => set + METER_IN_SERIES,
            Observable::Meter(Measure::Alone(wire)) => {
                off + UNPLUG_CABLE + OPEN_LOOM * splices(model, wire).count() as f64
            }
        }
    }

    /// What a fault shows there, as a tech distinguishes it.
    pub fn code(&self, fault: usize, at: usize, look: Observable) -> u16 {
        if let Observable::Mended(mending) = look {
            return u16::from(self.faults[fault].repair.is_mended_by(mending));
        }
        match (self.extra_at(at, look), self.dictionary.looks.iter().position(|one| *one == look)) {
            (_, Some(place)) => self.dictionary.code(fault, at, place),
            (Some(extra), None) => extra.code(fault),
            (None, None) => 0,
        }
    }

    fn extra_at(&self, at: usize, look: Observable) -> Option<&Extra> {
        self.extra.iter().find(|extra| Observable::Meter(extra.measure) == look && extra.setting == at)
    }

    fn answers(&self, groups: &[SuspectGroup], at: usize, look: Observable) -> Vec<Answer> {
        let total: f64 = groups.iter().map(|group| group.probability).sum();
        let mut split: BTreeMap<u16, Vec<&AlikeFaults>> = BTreeMap::new();
        for alike in groups.iter().flat_map(|group| &group.alike) {
            split.entry(self.code(alike.example(), at, look)).or_default().push(alike);
        }
        let words = self.words();
        let answer = |(code, classes): (&u16, &mut Vec<&AlikeFaults>)| {
            classes.sort_by(|a, b| b.probability.total_cmp(&a.probability));
            let faults: Vec<usize> = classes.iter().map(|alike| alike.example()).collect();
            Answer {
                shows: words.shows(self.dictionary, self.extra, *code, &faults, at, look),
                probability: classes.iter().map(|alike| alike.probability).sum::<f64>() / total,
                suspects: classes.iter().map(|alike| self.name(alike)).take(Answer::NAMED).collect(),
                more: classes.len().saturating_sub(Answer::NAMED),
            }
        };
        let mut answers: Vec<Answer> = split.iter_mut().map(answer).collect();
        answers.retain(|answer| answer.probability >= LEAST_ANSWER);
        answers.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        answers
    }

    /// The most frequent of some faults.
    fn name(&self, alike: &AlikeFaults) -> String {
        let best = alike
            .faults
            .iter()
            .max_by(|a, b| self.belief.of_fault(**a).total_cmp(&self.belief.of_fault(**b)).then(b.cmp(a)));
        best.map_or_else(String::new, |fault| self.faults[*fault].words.clone())
    }
}
