//! Probabilities of the suspects, by Bayes' rule: the rate of a fault times how well it explains each observation.

use super::dictionary::{Dictionary, moves};
use super::fault::{Failure, Harm, PictureHarm};
use super::group::SuspectGroup;
use super::measure::MeterValue;
use super::seen::{Answered, Observation, ScreenSeen, WorksSeen};
use super::shown::ShownFault;
use facts::Facts;
use serde::Serialize;

/// One answer in ten may be wrong: a wrong pin, a slipped probe, the wrong state.
pub(crate) const WRONG: f64 = 0.1;

/// The complaint, which comes first, is wrong less often.
const WRONG_COMPLAINT: f64 = 0.001;

/// How well any fault explains a circuit that does not settle, which may show anything.
const ANYTHING: f64 = 0.25;

/// How often a fault that comes and goes is there at a look after the complaint (typical, common practice, no source).
const THERE: f64 = 0.2;

/// How well a lasting fault explains a complaint of now and then: a contact may be about to fail (typical, common practice,
/// no source).
const LASTING: f64 = 0.1;

/// How often a fault that comes and goes is described as one that lasts (typical, common practice, no source).
const STEADY: f64 = 0.4;

/// How well a lamp that glows is described as off.
const HARDLY_GLOWS: f64 = 0.5;

/// A probability from which a fault counts as found.
const SURE: f64 = 0.95;

/// An observation explained less well than this by the first suspect is doubtful.
const DOUBTFUL: f64 = 0.3;

/// A fault below this share of the most probable one of the same repair is not named.
const LEAST_NAMED: f64 = 0.02;

/// A suspect: one fault, or several that no step distinguishes or that the same repair mends.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SuspectedFault {
    /// The faults in words, the most frequent first.
    pub faults: Vec<String>,
    /// Where to look.
    pub places: Vec<String>,
    /// Probability, from 0 to 1.
    pub probability: f64,
}

/// How far the tracing is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TraceVerdict {
    /// One suspect is almost certain.
    Found,
    /// There are several suspects, and a step that separates them.
    Open,
    /// There are several suspects that no step distinguishes.
    Inseparable,
    /// No single fault explains what was seen: an answer is wrong, or there are two faults.
    NothingFits,
}

/// An observation with the place of its setting in the dictionary, and what a meter would show with each fault and, last,
/// without one. Empty where nothing was measured.
pub(crate) struct TraceEvidence<'o> {
    pub observation: &'o Observation,
    pub setting: usize,
    pub values: Vec<Option<MeterValue>>,
}

/// The probabilities.
pub(crate) struct Belief {
    of_fault: Vec<f64>,
    /// For each fault, how well it explains each observation.
    fits: Vec<Vec<f64>>,
    /// For each observation, below which fit it is doubtful.
    doubtful: Vec<f64>,
    total: f64,
}

impl Failure {
    /// How often it is complained of as lasting, in relation to the others.
    pub fn complained_of(&self) -> f64 {
        if self.harm.comes_and_goes { STEADY * self.rate } else { self.rate }
    }
}

impl Belief {
    /// The probabilities after the observations.
    pub fn of(faults: &[Failure], dictionary: &Dictionary, evidence: &[TraceEvidence], facts: &Facts) -> Belief {
        let fit = |fault: usize| -> Vec<f64> {
            (0..evidence.len()).map(|at| fit_of(dictionary, fault, at, &evidence[at], facts)).collect()
        };
        let fits: Vec<Vec<f64>> = (0..faults.len()).map(fit).collect();
        let weight = |fault: usize| faults[fault].rate * fits[fault].iter().product::<f64>();
        let weights: Vec<f64> = (0..faults.len()).map(weight).collect();
        let total: f64 = weights.iter().sum();
        let of_fault = weights.iter().map(|weight| if total > 0.0 { weight / total } else { 0.0 }).collect();
        let doubtful = evidence.iter().map(|one| if one.observation.now_and_then { LASTING } else { 1.0 } * DOUBTFUL);
        Belief { of_fault, fits, doubtful: doubtful.collect(), total }
    }

    /// The sum of all faults' rates, each times how well it explains everything.
    pub fn total(&self) -> f64 {
        self.total
    }

    /// The probabilities of some faults that explain a complaint, before anything is measured.
    pub fn prior(faults: &[Failure], some: &[usize]) -> Belief {
        let rate = |fault: &usize| faults[*fault].complained_of();
        let total: f64 = some.iter().map(rate).sum();
        let mut of_fault = vec![0.0; faults.len()];
        some.iter().for_each(|fault| of_fault[*fault] = rate(fault) / total);
        Belief { of_fault, fits: vec![Vec::new(); faults.len()], doubtful: Vec::new(), total }
    }

    /// The probability of a fault.
    pub fn of_fault(&self, fault: usize) -> f64 {
        self.of_fault[fault]
    }

    /// Whether a fault shows what was observed, at least now and then.
    pub fn explains(&self, fault: usize) -> bool {
        self.fits[fault].iter().all(|fit| *fit >= LASTING / 2.0)
    }

    /// How well a fault explains each observation.
    pub fn fits(&self, fault: usize) -> &[f64] {
        &self.fits[fault]
    }

    /// The numbers of the observations, from 1, that the most probable fault explains badly.
    pub fn doubtful(&self) -> Vec<usize> {
        let best = (0..self.of_fault.len()).max_by(|a, b| self.of_fault[*a].total_cmp(&self.of_fault[*b]));
        let fits = best.map(|best| self.fits[best].as_slice()).unwrap_or_default();
        (0..fits.len()).filter(|at| fits[*at] < self.doubtful[*at]).map(|at| at + 1).collect()
    }

    /// The observation, from 1, without which a single fault explains the rest best: the one to make again.
    pub fn to_repeat(&self) -> Option<usize> {
        let observed = self.fits.first().map_or(0, Vec::len);
        let without = |at: usize, fits: &Vec<f64>| -> f64 {
            fits.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, fit)| fit).product()
        };
        let best = |at: usize| self.fits.iter().map(|fits| without(at, fits)).fold(0.0, f64::max);
        (0..observed).max_by(|a, b| best(*a).total_cmp(&best(*b)).then(b.cmp(a))).map(|at| at + 1)
    }

    /// How far the tracing is.
    pub fn verdict(&self, groups: &[SuspectGroup], can_go_on: bool, doubtful: &[usize]) -> TraceVerdict {
        let best = groups.first().map_or(0.0, |group| group.probability);
        let observed = self.fits.first().map_or(0, Vec::len);
        match (doubtful.len() * 2 > observed && observed > 0, best >= SURE, can_go_on) {
            (true, ..) => TraceVerdict::NothingFits,
            (_, true, _) => TraceVerdict::Found,
            (_, false, true) => TraceVerdict::Open,
            (_, false, false) => TraceVerdict::Inseparable,
        }
    }

    /// Whether the first group is almost certain.
    pub fn is_sure(&self, groups: &[SuspectGroup]) -> bool {
        groups.first().is_some_and(|group| group.probability >= SURE)
    }

    /// The groups as suspects.
    pub fn suspects(&self, groups: &[SuspectGroup], faults: &[Failure]) -> Vec<SuspectedFault> {
        let suspect = |group: &SuspectGroup| {
            let mut members: Vec<usize> = group.faults().collect();
            members.sort_by(|a, b| self.of_fault[*b].total_cmp(&self.of_fault[*a]).then(a.cmp(b)));
            // Of one repair, only what is likely is named.
            let most = members.first().map_or(0.0, |first| self.of_fault(*first));
            if group.has_one_repair(faults) {
                members.retain(|fault| self.of_fault(*fault) >= LEAST_NAMED * most);
            }
            let mut places: Vec<String> = members.iter().flat_map(|i| faults[*i].places.clone()).collect();
            places.sort();
            places.dedup();
            let words = members.iter().map(|i| faults[*i].words.clone()).collect();
            SuspectedFault { faults: words, places, probability: group.probability }
        };
        groups.iter().map(suspect).collect()
    }
}

/// How well a fault of the dictionary explains an observation.
fn fit_of(dictionary: &Dictionary, fault: usize, at: usize, evidence: &TraceEvidence, facts: &Facts) -> f64 {
    let harm = &dictionary.harms[fault];
    let value = |at: usize| evidence.values.get(at).copied().flatten();
    let there = match evidence.observation.what {
        Answered::Flat => fit_of_flag(dictionary.drains(fault) || harm.weak, at),
        Answered::Drain(high) => fit_of_flag(dictionary.drains(fault) == high, at),
        _ => fit(dictionary.present(fault, evidence.setting), value(fault), harm, at, evidence.observation, facts),
    };
    let there = match dictionary.open_there(fault) {
        Some(open) => there.max(fit_of_resistance(dictionary, open, at, evidence, facts)),
        None => there,
    };
    if evidence.observation.now_and_then {
        return if harm.comes_and_goes { there } else { LASTING * there };
    }
    if harm.comes_and_goes && at == 0 {
        return STEADY * there;
    }
    // It is there as the wires are moved.
    if !harm.comes_and_goes || matches!(evidence.observation.what, Answered::Wiggle(..)) {
        return there;
    }
    let last = evidence.values.len().wrapping_sub(1);
    let whole = dictionary.whole(evidence.setting);
    let away = fit(whole, value(last), &dictionary.as_built, at, evidence.observation, facts);
    THERE * there + (1.0 - THERE) * away
}

/// How well a resistance of any size explains what lies between no resistance and an open line.
const BETWEEN: f64 = 0.5;

/// How well a fault of some resistance explains an observation with less resistance, or with more, up to an open line.
fn fit_of_resistance(dictionary: &Dictionary, open: usize, at: usize, evidence: &TraceEvidence, facts: &Facts) -> f64 {
    let setting = evidence.setting;
    let ends = [dictionary.whole(setting), dictionary.present(open, setting)];
    let values = [evidence.values.last(), evidence.values.get(open)].map(|value| value.copied().flatten());
    if let (Answered::Meter(_, read), [Some(one), Some(other)]) = (evidence.observation.what, values) {
        return if read.is_between(one, other) { BETWEEN } else { 0.0 };
    }
    let harms = [&dictionary.as_built, &dictionary.harms[open]];
    let fits = [0, 1].map(|end| fit(ends[end], values[end], harms[end], at, evidence.observation, facts));
    match evidence.observation.what {
        Answered::Screen(..) | Answered::Works(..) => BETWEEN * fits[0].max(fits[1]),
        _ => 0.0,
    }
}

/// Whether an observation is just what is so without a fault.
pub(crate) fn is_usual(observation: &Observation, whole: Option<&ShownFault>) -> bool {
    match observation.what {
        Answered::Screen(screen, seen) => whole.is_some_and(|whole| whole.screens[screen.0] == seen),
        Answered::Works(promise, seen) => whole.is_some_and(|whole| whole.works[promise] == seen),
        Answered::Fuse(_, is_blown) => !is_blown,
        _ => false,
    }
}

fn fit_of_flag(agrees: bool, at: usize) -> f64 {
    if agrees { 1.0 - wrong_at(at) } else { wrong_at(at) }
}

/// How often an answer is wrong. The first is the complaint.
fn wrong_at(at: usize) -> f64 {
    if at == 0 { WRONG_COMPLAINT } else { WRONG }
}

/// How well what would show explains an answer: about 1 for just that, little for anything else. The first
/// answer is the complaint.
pub(crate) fn fit(
    shown: Option<&ShownFault>,
    value: Option<MeterValue>,
    harm: &Harm,
    at: usize,
    observation: &Observation,
    facts: &Facts,
) -> f64 {
    let wrong = wrong_at(at);
    let agrees = match (observation.what, shown) {
        (Answered::Fuse(fuse, is_blown), _) => harm.blown.contains(&fuse) == is_blown,
        (Answered::Input(pin, shows), _) => harm.pictures.contains(&PictureHarm::DeadInput(pin)) != shows,
        (Answered::Plug(part, exchanged), _) => (harm.exchanged == Some(part)) == exchanged,
        (Answered::NewFuse(fuse, blows), _) => harm.blows_again(fuse) == blows,
        (Answered::Cable(wire, seen), _) => harm.cable_seen(wire) == seen,
        (Answered::Wiggle(place, changes), _) => moves(facts, harm, place) == changes,
        // The dictionary knows them.
        (Answered::Flat | Answered::Drain(_), _) | (_, None) => return ANYTHING,
        (Answered::Screen(screen, ScreenSeen::Disturbed), Some(shown)) if shown.disturbed[screen.0] => true,
        (Answered::Screen(screen, seen), Some(shown)) => shown.screens[screen.0] == seen,
        (Answered::Works(promise, WorksSeen::Off), Some(shown)) if shown.works[promise] == WorksSeen::Glows => {
            return HARDLY_GLOWS;
        }
        (Answered::Works(promise, seen), Some(shown)) => shown.works[promise] == seen,
        (Answered::Meter(_, read), Some(_)) => {
            let Some(expected) = value else { return ANYTHING };
            let fit = read.fit(expected, facts.model.job.nominal);
            return (1.0 - wrong) * fit + wrong * read.slips(facts.model.job.nominal) * (1.0 - fit);
        }
    };
    match (agrees, observation.what) {
        (true, _) => 1.0 - wrong,
        // A wrong answer is one of several.
        (false, Answered::Screen(..) | Answered::Cable(..)) => wrong / 2.0,
        (false, _) => wrong,
    }
}
