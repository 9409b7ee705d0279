//! Probabilities of the suspects, by Bayes' rule: the rate of a fault times how well it explains each observation.

use super::dictionary::Dictionary;
use super::evidence::{ANYTHING, TraceEvidence, WRONG_MENDED, fit, wrong_at};
use super::fault::{Failure, Mending};
use super::group::SuspectGroup;
use super::measure::MeterValue;
use super::renewed;
use super::resistance::{SomeSize, sizes};
use super::seen::{Answered, Observation};
use super::shown::ShownFault;
use facts::Facts;
use serde::Serialize;

/// How often a fault that comes and goes is there at a look after the complaint (typical, common practice, no source).
const THERE: f64 = 0.2;

/// How well a lasting fault explains a complaint of now and then: a contact may be about to fail (typical, common practice,
/// no source).
const LASTING: f64 = 0.1;

/// How often a fault that comes and goes is described as one that lasts (typical, common practice, no source).
const STEADY: f64 = 0.4;

/// A probability from which a fault counts as found.
const SURE: f64 = 0.995;

/// A probability from which a fault that no step can confirm counts as almost certain.
const ALMOST: f64 = 0.95;

/// How often a complaint comes from something that no fault of the model is, in relation to all that explain it (typical,
/// common practice, no source).
const UNLISTED: f64 = 0.03;

/// How well something unlisted explains what shows without a fault: it leaves most places as they are (typical, common
/// practice, no source).
const ELSEWHERE: f64 = 0.6;

/// An observation explained less well than this by the first suspect is doubtful.
const DOUBTFUL: f64 = 0.3;

/// Steps are chosen with another size of a resistance than the usual one where that is this many times as probable, and the
/// fault itself not less probable than the other.
const MUCH_BETTER: f64 = 1.5;
const LEAST_SIZED: f64 = 1e-3;

/// A fault below this share of the most probable one of its suspect is not named.
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
    /// A repair was made, and it works again.
    Mended,
    /// A repair was made, and what it was made for works again; something else that was seen is not explained by it.
    MendedInPart,
    /// One suspect is certain, as far as answers can be.
    Found,
    /// There are several suspects, and a step that separates them.
    Open,
    /// One suspect is most probable by far, and a repair or an exchange confirms it sooner than a measurement.
    AlmostCertain,
    /// There are several suspects that no step distinguishes.
    Inseparable,
    /// No single fault explains what was seen: an answer is wrong, or there are two faults.
    NothingFits,
}

/// The probabilities.
pub(crate) struct Belief {
    of_fault: Vec<f64>,
    /// For each fault, how well it explains each observation.
    fits: Vec<Vec<f64>>,
    /// For each observation, below which fit it is doubtful.
    doubtful: Vec<f64>,
    total: f64,
    /// The probability of something that no fault of the model is.
    unlisted: f64,
    /// By fault, the size of a resistance that explains the observations much better than the usual one.
    sizes: Vec<Option<usize>>,
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
        let all = Explained { faults, dictionary, evidence, facts, sizes: sizes() };
        let explained: Vec<ByFault> = (0..faults.len()).map(|fault| all.by(fault)).collect();
        let weights: Vec<f64> = explained.iter().zip(faults).map(|(one, fault)| one.likely * fault.rate).collect();
        let sizes = explained.iter().map(|one| one.size).collect();
        let fits: Vec<Vec<f64>> = explained.into_iter().map(|one| one.fits).collect();
        let total: f64 = weights.iter().sum();
        let complained: f64 =
            fits.iter().zip(faults).map(|(fits, fault)| fits.first().map_or(0.0, |fit| fit * fault.rate)).sum();
        let others = UNLISTED * complained * (1..evidence.len()).map(|at| all.unlisted(at)).product::<f64>();
        let share = |weight: f64| if total > 0.0 { weight / (total + others) } else { 0.0 };
        let of_fault = weights.iter().map(|weight| share(*weight)).collect();
        let doubtful = evidence.iter().map(|one| if one.observation.now_and_then { LASTING } else { 1.0 } * DOUBTFUL);
        Belief { of_fault, fits, doubtful: doubtful.collect(), total, unlisted: share(others), sizes }
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
        Belief {
            of_fault,
            fits: vec![Vec::new(); faults.len()],
            doubtful: Vec::new(),
            total,
            unlisted: 0.0,
            sizes: Vec::new(),
        }
    }

    /// The resistances whose size is not the usual one, as far as the observations show: each fault with the place of its
    /// size among those that are tried.
    pub fn sizes(&self) -> Vec<(usize, usize)> {
        let sized = self.sizes.iter().enumerate().filter_map(|(fault, size)| Some((fault, (*size)?)));
        sized.filter(|(fault, _)| self.of_fault[*fault] > LEAST_SIZED).collect()
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

    /// The most probable fault.
    pub fn first(&self) -> Option<usize> {
        (0..self.of_fault.len()).max_by(|a, b| self.of_fault[*a].total_cmp(&self.of_fault[*b]))
    }

    /// The numbers of the observations, from 1, that the most probable fault explains badly.
    pub fn doubtful(&self) -> Vec<usize> {
        let fits = self.first().map(|first| self.fits[first].as_slice()).unwrap_or_default();
        (0..fits.len()).filter(|at| fits[*at] < self.doubtful[*at]).map(|at| at + 1).collect()
    }

    /// The numbers, from 1, of the observations by eye or ear that a repair leaves unexplained.
    pub fn left_by(&self, mending: Mending, faults: &[Failure], evidence: &[TraceEvidence]) -> Vec<usize> {
        let is_mended = |fault: &usize| faults[*fault].repair.is_mended_by(mending);
        let mended: Vec<usize> = (0..faults.len()).filter(is_mended).collect();
        let is_seen = |at: &usize| {
            let what = evidence[*at].observation.what;
            matches!(what, Answered::Screen(..) | Answered::Works(..) | Answered::Flat)
        };
        let is_left = |at: &usize| mended.iter().all(|fault| self.fits[*fault][*at] < self.doubtful[*at]);
        (0..evidence.len()).filter(is_seen).filter(is_left).map(|at| at + 1).collect()
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

    /// How far the tracing is. `can_go_on` says whether a measurement is the next step.
    pub fn verdict(&self, groups: &[SuspectGroup], can_go_on: bool, doubtful: &[usize]) -> TraceVerdict {
        let best = groups.first().map_or(0.0, |group| group.probability);
        let observed = self.fits.first().map_or(0, Vec::len);
        let fits_none = (doubtful.len() * 2 > observed && observed > 0) || self.unlisted > best;
        match (fits_none, best >= SURE, can_go_on) {
            (true, ..) => TraceVerdict::NothingFits,
            (_, true, _) => TraceVerdict::Found,
            (_, false, true) => TraceVerdict::Open,
            // What contradicts an answer is not almost certain.
            (_, false, false) if best >= ALMOST && doubtful.is_empty() => TraceVerdict::AlmostCertain,
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
            // Only what is likely is named.
            let most = members.first().map_or(0.0, |first| self.of_fault(*first));
            members.retain(|fault| self.of_fault(*fault) >= LEAST_NAMED * most);
            let mut places: Vec<String> = members.iter().flat_map(|i| faults[*i].places.clone()).collect();
            places.sort();
            places.dedup();
            let words = members.iter().map(|i| faults[*i].words.clone()).collect();
            SuspectedFault { faults: words, places, probability: group.probability }
        };
        groups.iter().map(suspect).collect()
    }
}

/// How a fault explains what was observed.
struct ByFault {
    /// Each observation.
    fits: Vec<f64>,
    /// All of them together.
    likely: f64,
    /// The size of a resistance, where another than the usual one explains them much better.
    size: Option<usize>,
}

/// What is explained, and by what.
struct Explained<'e, 'o, 'm> {
    faults: &'e [Failure],
    dictionary: &'e Dictionary,
    evidence: &'e [TraceEvidence<'o>],
    facts: &'e Facts<'m>,
    sizes: Vec<SomeSize>,
}

impl Explained<'_, '_, '_> {
    /// How well a fault explains each observation, and all of them together. A resistance is of one size for all of them:
    /// each size counts for its share, and the best is named.
    fn by(&self, fault: usize) -> ByFault {
        let each = 0..self.evidence.len();
        let product = |fits: &Vec<f64>| fits.iter().product::<f64>();
        if !self.dictionary.is_sized(fault) {
            let fit = |at: usize| self.fit(fault, at);
            let fits: Vec<f64> = each.map(fit).collect();
            return ByFault { likely: product(&fits), fits, size: None };
        }
        let of_size = |number: usize| each.clone().map(|at| self.of_size(fault, number, at)).collect::<Vec<f64>>();
        let fits: Vec<Vec<f64>> = (0..self.sizes.len()).map(of_size).collect();
        let weights: Vec<f64> = fits.iter().zip(&self.sizes).map(|(fits, size)| product(fits) * size.share).collect();
        let first = |best: usize, at: usize| if weights[at] > weights[best] { at } else { best };
        let best = (1..weights.len()).fold(0, first);
        let usual =
            (0..self.sizes.len()).filter(|at| self.sizes[*at].is_usual()).map(|at| weights[at]).fold(0.0, f64::max);
        let size = (weights[best] > MUCH_BETTER * usual).then_some(best);
        ByFault { fits: fits[best].clone(), likely: weights.iter().sum(), size }
    }

    /// How well a fault explains an observation.
    fn fit(&self, fault: usize, at: usize) -> f64 {
        let evidence = &self.evidence[at];
        if renewed::mends(&self.dictionary.harms[fault], &evidence.new_fuses) {
            return self.without(at);
        }
        if let Some(blows) = evidence.blows.get(fault) {
            return fit_of_flag(*blows, at);
        }
        let Answered::Mended(mending, works) = evidence.observation.what else {
            return fit_of(self.dictionary, fault, at, evidence, self.facts);
        };
        let is_mended = self.faults[fault].repair.is_mended_by(mending);
        let seems_mended = match (is_mended, self.dictionary.harms[fault].comes_and_goes) {
            (true, _) => 1.0 - WRONG_MENDED,
            (false, true) => 1.0 - THERE,
            (false, false) => WRONG_MENDED,
        };
        if works { seems_mended } else { 1.0 - seems_mended }
    }

    /// How well a harness explains an observation whose fault a new fuse has mended.
    fn without(&self, at: usize) -> f64 {
        let evidence = &self.evidence[at];
        match evidence.observation.what {
            Answered::Mended(_, works) => fit_of_flag(works, at),
            Answered::Flat | Answered::Drain(true) => fit_of_flag(false, at),
            Answered::Drain(false) => fit_of_flag(true, at),
            _ => self.whole(at),
        }
    }

    /// How well a harness without a fault explains an observation.
    fn whole(&self, at: usize) -> f64 {
        let evidence = &self.evidence[at];
        let (whole, value) = (self.dictionary.whole(evidence.setting), evidence.values.last().copied().flatten());
        fit(whole, value, &self.dictionary.as_built, at, evidence.observation, self.facts)
    }

    /// How well something that no fault of the model is explains an observation: it may show anything, and in most places
    /// what shows without a fault.
    fn unlisted(&self, at: usize) -> f64 {
        let evidence = &self.evidence[at];
        if let Answered::Mended(_, works) = evidence.observation.what {
            return if works { WRONG_MENDED } else { 1.0 - WRONG_MENDED };
        }
        ANYTHING.max(ELSEWHERE * self.whole(at))
    }

    /// What a meter shows with about this size: the value nearest to the reading, up to half way to the next sizes where these
    /// leave everything in the same state.
    fn near(&self, fault: usize, size: usize, at: usize) -> Option<MeterValue> {
        let evidence = &self.evidence[at];
        let values = evidence.sized.get(fault)?;
        let value = (*values.get(size)?)?;
        let Answered::Meter(_, read) = evidence.observation.what else { return Some(value) };
        let shown = self.dictionary.sized(fault, evidence.setting);
        let state = |size: usize| shown.get(size).and_then(Option::as_ref).map(|shown| &shown.state);
        let is_same = |other: &usize| state(*other).is_some() && state(*other) == state(size);
        let others = [size.checked_sub(1), Some(size + 1)].into_iter().flatten().filter(is_same);
        let others = others.filter_map(|other| values.get(other).copied().flatten());
        Some(others.fold(value, |nearest, other| nearest.toward(read, value.half_way(other))))
    }

    fn of_size(&self, fault: usize, size: usize, at: usize) -> f64 {
        let (dictionary, evidence) = (self.dictionary, &self.evidence[at]);
        if matches!(evidence.observation.what, Answered::Flat | Answered::Drain(_) | Answered::Mended(..)) {
            return self.fit(fault, at);
        }
        let shown = dictionary.sized(fault, evidence.setting).get(size).and_then(Option::as_deref);
        let value = self.near(fault, size, at);
        let fit = fit(shown, value, &dictionary.harms[fault], at, evidence.observation, self.facts);
        if evidence.observation.now_and_then { LASTING * fit } else { fit }
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
