//! The choice among steps: the one that brings most for its cost.
//!
//! What it brings is the expected loss of entropy over the suspects, as in J. de Kleer and B. C. Williams, Diagnosing
//! multiple faults, Artificial Intelligence 32, 1987, 97-130, where some answers are wrong. To look one or more steps
//! further ahead was measured: with wrong answers it saves no step in the demonstrations.

use super::dictionary::UNSETTLED;
use std::ops::Range;

/// A gain below this, in bits, is none.
const LEAST_GAIN: f64 = 0.02;

/// The answer of a class that may show anything, as it does not settle.
const ANY: u8 = u8::MAX;

/// Faults that every step shows alike, and the suspect that they belong to. Those of one suspect follow each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Class {
    pub suspect: usize,
    pub probability: f64,
}

/// How a step divides the classes: the answer that each of them gives, numbered from 0.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Division {
    pub answers: Vec<u8>,
    pub cost: f64,
    count: usize,
}

impl Division {
    /// Answers numbered in the order of their first appearance, at a cost of 1; `None` where all are the same.
    pub fn new(codes: impl Iterator<Item = u16>) -> Option<Division> {
        let mut known: Vec<u16> = Vec::new();
        let answer = |code: u16| {
            if code == UNSETTLED {
                return ANY;
            }
            let at = known.iter().position(|one| *one == code).unwrap_or_else(|| {
                known.push(code);
                known.len() - 1
            });
            at.min(usize::from(ANY) - 1) as u8
        };
        let answers: Vec<u8> = codes.map(answer).collect();
        let count = known.len().min(usize::from(ANY));
        (count > 1).then_some(Division { answers, cost: 1.0, count })
    }

    /// The same for a step of this cost.
    pub fn at_cost(self, cost: f64) -> Division {
        Division { cost, ..self }
    }

    /// The expected loss of entropy over the suspects, in bits, where this share of the answers is wrong. `classes` are
    /// those of the division, in its order.
    pub fn gain(&self, classes: &[Class], wrong: f64) -> f64 {
        let certain = self.certain(wrong);
        let mut all = vec![0.0; self.count];
        let mut of_one = vec![0.0; self.count];
        let (mut total, mut remains) = (0.0, 0.0);
        for range in suspects(classes) {
            of_one.iter_mut().for_each(|sum| *sum = 0.0);
            let first = self.answers[range.start];
            let is_certain = first != ANY && self.answers[range.clone()].iter().all(|answer| *answer == first);
            for at in range {
                self.add(&mut of_one, self.answers[at], classes[at].probability);
            }
            let own: f64 = of_one.iter().sum();
            if own > 0.0 {
                total += own;
                remains += own * if is_certain { certain } else { entropy(&of_one, own, wrong) };
                all.iter_mut().zip(&of_one).for_each(|(sum, one)| *sum += one);
            }
        }
        if total > 0.0 { entropy(&all, total, wrong) - remains / total } else { 0.0 }
    }

    /// No less than the gain, and found sooner: the gain if each suspect gave one certain answer.
    fn most_gain(&self, classes: &[Class], wrong: f64) -> f64 {
        let mut all = vec![0.0; self.count];
        for (answer, class) in self.answers.iter().zip(classes) {
            self.add(&mut all, *answer, class.probability);
        }
        let total: f64 = all.iter().sum();
        if total > 0.0 { entropy(&all, total, wrong) - self.certain(wrong) } else { 0.0 }
    }

    /// The entropy, in bits, of the answers of a suspect that gives one certain answer.
    fn certain(&self, wrong: f64) -> f64 {
        let mut one = vec![0.0; self.count];
        one[0] = 1.0;
        entropy(&one, 1.0, wrong)
    }

    /// Adds a class's probability to that of the answer that it gives.
    fn add(&self, sums: &mut [f64], answer: u8, probability: f64) {
        match answer {
            ANY => sums.iter_mut().for_each(|sum| *sum += probability / self.count as f64),
            answer => sums[usize::from(answer)] += probability,
        }
    }
}

/// A question with two answers: whether one suspect is the right one.
pub(crate) struct GainOf {
    /// How probable it is.
    pub probability: f64,
    /// How often the answer is wrong.
    pub wrong: f64,
}

impl GainOf {
    /// The expected loss of entropy, in bits.
    pub fn bits(&self) -> f64 {
        let sums = [self.probability, 1.0 - self.probability];
        entropy(&sums, 1.0, self.wrong) - entropy(&[1.0, 0.0], 1.0, self.wrong)
    }
}

/// The entropy of what is answered, in bits, where these shares of the total would be shown.
fn entropy(sums: &[f64], total: f64, wrong: f64) -> f64 {
    let elsewhere = wrong / (sums.len() - 1) as f64;
    let answered = sums.iter().map(|sum| {
        let share = sum / total;
        share * (1.0 - wrong) + (1.0 - share) * elsewhere
    });
    answered.filter(|p| *p > 0.0).map(|p| -p * p.log2()).sum()
}

/// Rates that differ by less, as a share, count as the same: the first of them is taken.
const SAME_RATE: f64 = 1e-9;

/// The place of the division with most bits for its cost; `None` where none separates the suspects.
pub(crate) fn best(classes: &[Class], divisions: &[Division], wrong: f64) -> Option<usize> {
    // A division whose bound is below the rate of the most promising one can't be the best.
    let bounds: Vec<f64> = divisions.iter().map(|one| one.most_gain(classes, wrong)).collect();
    let bound = |at: usize| bounds[at] / divisions[at].cost;
    let may_be: Vec<usize> = (0..divisions.len()).filter(|at| bounds[*at] > LEAST_GAIN).collect();
    let promising = may_be.iter().copied().max_by(|a, b| bound(*a).total_cmp(&bound(*b)))?;
    let gain = divisions[promising].gain(classes, wrong);
    let least = if gain > LEAST_GAIN { gain / divisions[promising].cost * (1.0 - 10.0 * SAME_RATE) } else { 0.0 };
    let mut best: Option<(f64, usize)> = None;
    for at in may_be.into_iter().filter(|at| bound(*at) >= least) {
        let gain = divisions[at].gain(classes, wrong);
        let rate = gain / divisions[at].cost;
        if gain > LEAST_GAIN && best.is_none_or(|(most, _)| rate > most * (1.0 + SAME_RATE)) {
            best = Some((rate, at));
        }
    }
    best.map(|(_, at)| at)
}

/// The places of the classes of each suspect.
fn suspects(classes: &[Class]) -> impl Iterator<Item = Range<usize>> + '_ {
    let mut from = 0;
    std::iter::from_fn(move || {
        let first = classes.get(from)?.suspect;
        let to = from + classes[from..].iter().take_while(|class| class.suspect == first).count();
        let range = from..to;
        from = to;
        Some(range)
    })
}
