//! Two faults at once, where no single one explains what was seen.

use super::belief::{Belief, SuspectedFault};
use super::dictionary::Dictionary;
use super::evidence::{TraceEvidence, fit};
use super::fault::{Failure, Harm};
use super::measure::Meter;
use super::renewed::mends;
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
    let all = SolvedPair { facts, meter, faults, evidence, dictionary };
    let weights = threads::each(&tried, |pair| all.weight(*pair));
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

/// What pairs are solved from.
struct SolvedPair<'p, 'o, 'f, 'm, 'n> {
    facts: &'p Facts<'m>,
    meter: &'p Meter<'f, 'n>,
    faults: &'p [Failure],
    evidence: &'p [TraceEvidence<'o>],
    dictionary: &'p Dictionary,
}

impl SolvedPair<'_, '_, '_, '_, '_> {
    /// How probable a pair is; `None` where it does not explain what was seen. A resistance is tried with its usual size and
    /// with the one that it has most probably if it is alone.
    fn weight(&self, pair: [usize; 2]) -> Option<f64> {
        let usual = |fault: usize| &self.faults[fault].harm;
        let probable = |fault: usize| self.dictionary.alone(fault).unwrap_or(usual(fault));
        let tried = [pair.map(usual), pair.map(probable)];
        let tried = if tried[0] == tried[1] { &tried[..1] } else { &tried };
        let fits = tried.iter().map(|[one, other]| self.fits(one, other)).fold(0.0, f64::max);
        let mean = fits.powf(1.0 / self.evidence.len().max(1) as f64);
        (mean >= EXPLAINS).then(|| fits * self.faults[pair[0]].rate * self.faults[pair[1]].rate)
    }

    /// How well two faults together explain everything.
    fn fits(&self, one: &Harm, other: &Harm) -> f64 {
        let settings: Vec<_> = self.evidence.iter().map(|one| one.observation.setting.clone()).collect();
        let solve = |some: &[&Harm]| {
            let harm = some.iter().fold(self.dictionary.as_built.clone(), |all, one| all.and(one));
            let harm = with_blown_fuses(self.facts, &harm, &settings);
            let shown = shown_in(self.facts, &settings, &harm);
            (harm, shown)
        };
        let both = solve(&[one, other]);
        let new_fuses = self.evidence.last().map_or(&[][..], |last| &last.new_fuses);
        let left: Vec<&Harm> = [one, other].into_iter().filter(|one| !mends(one, new_fuses)).collect();
        let later = (left.len() < 2).then(|| solve(&left));
        let fit = |(at, evidence): (usize, &TraceEvidence)| {
            let is_later = [one, other].iter().any(|one| mends(one, &evidence.new_fuses));
            let (harm, shown) = later.as_ref().filter(|_| is_later).unwrap_or(&both);
            let one = evidence;
            let value = match one.observation.what {
                super::seen::Answered::Meter(measure, _) => {
                    shown[at].as_ref().and_then(|shown| self.meter.value(harm, &shown.state, measure))
                }
                _ => None,
            };
            fit(shown[at].as_ref(), value, harm, at, one.observation, self.facts)
        };
        self.evidence.iter().enumerate().map(fit).product()
    }
}
