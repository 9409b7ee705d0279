//! Probabilities of the suspects, by Bayes' rule: the rate of a fault times how well it explains each observation.

use super::fault::Failure;
use super::group::Group;
use super::seen::{Answered, Observation};
use super::simulate::{Shown, Simulated};
use facts::Facts;
use quantity::Volts;
use serde::Serialize;

/// One answer in ten may be wrong: a wrong pin, a slipped probe, the wrong state.
const WRONG: f64 = 0.1;

/// The complaint, which comes first, is wrong less often.
const WRONG_COMPLAINT: f64 = 0.005;

/// A reading that is this share of the nominal voltage from what is expected still fits well (typical).
const SPREAD_SHARE: f64 = 0.06;

/// A probability from which a fault counts as found.
const SURE: f64 = 0.9;

/// An observation explained less well than this by the first suspect is doubtful.
const DOUBTFUL: f64 = 0.3;

/// A suspect: one fault, or several that no step distinguishes.
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

/// The probabilities.
pub(crate) struct Belief {
    of_fault: Vec<f64>,
    /// For each fault, how well it explains each observation.
    fits: Vec<Vec<f64>>,
}

impl Belief {
    /// The probabilities after the observations; `first` holds every fault in the settings of the observations.
    pub fn of(faults: &[Failure], first: &Simulated, observations: &[Observation], facts: &Facts) -> Belief {
        let nominal = facts.model.job.nominal;
        let wrong = |at: usize| if at == 0 { WRONG_COMPLAINT } else { WRONG };
        let fit = |fault: usize, at: usize| fit(first.at(fault, at), &observations[at].what, nominal, wrong(at));
        let fits: Vec<Vec<f64>> =
            (0..faults.len()).map(|fault| (0..observations.len()).map(|at| fit(fault, at)).collect()).collect();
        let weight = |fault: usize| faults[fault].rate * fits[fault].iter().product::<f64>();
        let weights: Vec<f64> = (0..faults.len()).map(weight).collect();
        let total: f64 = weights.iter().sum();
        let of_fault = weights.iter().map(|weight| if total > 0.0 { weight / total } else { 0.0 }).collect();
        Belief { of_fault, fits }
    }

    /// The probability of a fault.
    pub fn of_fault(&self, fault: usize) -> f64 {
        self.of_fault[fault]
    }

    /// The numbers of the observations, from 1, that the most probable fault explains badly.
    pub fn doubtful(&self, observations: &[Observation]) -> Vec<usize> {
        let best = (0..self.of_fault.len()).max_by(|a, b| self.of_fault[*a].total_cmp(&self.of_fault[*b]));
        let fits = best.map(|best| self.fits[best].as_slice()).unwrap_or_default();
        (0..observations.len()).filter(|at| fits[*at] < DOUBTFUL).map(|at| at + 1).collect()
    }

    /// How far the tracing is.
    pub fn verdict(&self, groups: &[Group], can_go_on: bool, doubtful: &[usize]) -> TraceVerdict {
        let best = groups.first().map_or(0.0, |group| group.probability);
        let observed = self.fits.first().map_or(0, Vec::len);
        match (doubtful.len() * 2 > observed && observed > 0, best >= SURE, can_go_on) {
            (true, ..) => TraceVerdict::NothingFits,
            (_, true, _) => TraceVerdict::Found,
            (_, false, true) => TraceVerdict::Open,
            (_, false, false) => TraceVerdict::Inseparable,
        }
    }

    /// The groups as suspects.
    pub fn suspects(&self, groups: &[Group], faults: &[Failure]) -> Vec<SuspectedFault> {
        let suspect = |group: &Group| {
            let mut members = group.faults.clone();
            members.sort_by(|a, b| self.of_fault[*b].total_cmp(&self.of_fault[*a]).then(a.cmp(b)));
            let mut places: Vec<String> = members.iter().flat_map(|i| faults[*i].places.clone()).collect();
            places.sort();
            places.dedup();
            let words = members.iter().map(|i| faults[*i].words.clone()).collect();
            SuspectedFault { faults: words, places, probability: group.probability }
        };
        groups.iter().map(suspect).collect()
    }
}

/// How well what would show explains an answer that is wrong with a probability: 1 for just that, little for anything
/// else.
fn fit(shown: Option<&Shown>, answer: &Answered, nominal: Volts, wrong: f64) -> f64 {
    // A circuit that does not settle may show anything.
    let Some(shown) = shown else { return 0.5 };
    let agrees = match *answer {
        Answered::Screen(screen, seen) => shown.screens[screen.0] == seen,
        Answered::Works(promise, on) => shown.works[promise] == on,
        Answered::Fuse(fuse, is_blown) => shown.blown.contains(&fuse) == is_blown,
        Answered::Volts(pin, read) => {
            let Some(expected) = shown.volts[pin.0] else { return 0.5 };
            let apart = (read - expected).value() / (nominal.value() * SPREAD_SHARE);
            return wrong / 2.0 + (1.0 - wrong) * (-apart * apart / 2.0).exp();
        }
    };
    if agrees { 1.0 - wrong } else { wrong / 2.0 }
}
