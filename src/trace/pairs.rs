//! Two faults at once, where no single one explains what was seen.

use super::belief::{Belief, SuspectedFault};
use super::dictionary::Dictionary;
use super::evidence::{TraceEvidence, fit};
use super::fault::{Failure, Harm};
use super::measure::Meter;
use super::shown::{shown_in, with_blown_fuses};
use facts::Facts;

/// Faults that a second one is looked for to, and second ones tried for each.
const FIRST: usize = 8;
const SECOND: usize = 40;

/// Pairs that are reported.
const REPORTED: usize = 3;

/// A pair counts where it explains each observation at least half as well as can be, on average.
const EXPLAINS: f64 = 0.5;

/// How often a vehicle with one fault has another (typical, common practice, no source).
const SECOND_FAULT: f64 = 0.02;

/// Two faults are looked for from this many doubtful observations on.
pub(crate) const LEAST_DOUBTFUL: usize = 2;

/// The pairs that explain the observations, the best first; empty if a single fault and wrong answers are more
/// probable.
pub(crate) fn pairs(
    facts: &Facts,
    meter: &Meter,
    faults: &[Failure],
    evidence: &[TraceEvidence],
    belief: &Belief,
    dictionary: &Dictionary,
) -> Vec<SuspectedFault> {
    let mut first: Vec<usize> = (0..faults.len()).filter(|at| !dictionary.harms[*at].comes_and_goes).collect();
    first.sort_by(|a, b| belief.of_fault(*b).total_cmp(&belief.of_fault(*a)).then(a.cmp(b)));
    let firsts: Vec<usize> = first.iter().copied().take(FIRST).collect();
    let mut tried: Vec<[usize; 2]> = Vec::new();
    for one in firsts {
        // The second must explain what the first does not.
        let open: Vec<usize> = (0..evidence.len()).filter(|at| belief.fits(one)[*at] < EXPLAINS).collect();
        let helps = |other: &usize| open.iter().map(|at| belief.fits(*other)[*at]).sum::<f64>() * faults[*other].rate;
        let mut others: Vec<usize> =
            first.iter().copied().filter(|other| *other != one && helps(other) > 0.0).collect();
        others.sort_by(|a, b| helps(b).total_cmp(&helps(a)).then(a.cmp(b)));
        tried.extend(others.into_iter().take(SECOND).map(|other| [one.min(other), one.max(other)]));
    }
    tried.sort_unstable();
    tried.dedup();
    let as_built = &dictionary.as_built;
    let weights = threads::each(&tried, |pair| weight(facts, meter, faults, evidence, as_built, *pair));
    let mut found: Vec<([usize; 2], f64)> =
        tried.into_iter().zip(weights).filter_map(|(pair, weight)| Some((pair, weight?))).collect();
    found.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
    let total: f64 = found.iter().map(|(_, weight)| weight).sum();
    let rates: f64 = faults.iter().map(|fault| fault.rate).sum();
    if total * SECOND_FAULT / rates <= belief.total() {
        return Vec::new();
    }
    let suspect = |(pair, weight): ([usize; 2], f64)| SuspectedFault {
        faults: pair.map(|fault| faults[fault].words.clone()).to_vec(),
        places: pair.iter().flat_map(|fault| faults[*fault].places.clone()).collect(),
        probability: weight / total,
    };
    found.into_iter().take(REPORTED).map(suspect).collect()
}

/// How probable a pair is; `None` where it does not explain what was seen.
fn weight(
    facts: &Facts,
    meter: &Meter,
    faults: &[Failure],
    evidence: &[TraceEvidence],
    as_built: &Harm,
    pair: [usize; 2],
) -> Option<f64> {
    let harm = as_built.and(&faults[pair[0]].harm).and(&faults[pair[1]].harm);
    let settings: Vec<_> = evidence.iter().map(|one| one.observation.setting.clone()).collect();
    let harm = with_blown_fuses(facts, &harm, &settings);
    let shown = shown_in(facts, &settings, &harm);
    let mut fits = 1.0;
    for (at, one) in evidence.iter().enumerate() {
        let value = match one.observation.what {
            super::seen::Answered::Meter(measure, _) => {
                shown[at].as_ref().and_then(|shown| meter.value(&harm, &shown.state, measure))
            }
            _ => None,
        };
        fits *= fit(shown[at].as_ref(), value, &harm, at, one.observation, facts);
    }
    let mean = fits.powf(1.0 / evidence.len().max(1) as f64);
    (mean >= EXPLAINS).then(|| fits * faults[pair[0]].rate * faults[pair[1]].rate)
}
