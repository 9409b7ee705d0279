//! A resistance of unknown size: a corroded crimp, a spread socket, a bad ground point. Each size is a hypothesis of its
//! own; together they explain no more than the best of them does for its share.

use super::dictionary::Dictionary;
use super::evidence::{TraceEvidence, fit};
use super::fault::CORRODED;
use super::measure::MeterValue;
use super::seen::Answered;
use facts::Facts;
use quantity::{Amps, Ohms, Volts};

/// The sizes that are tried: this many, each larger than the one before by this factor, from the least one on.
const LEAST: Ohms = Ohms::new(2.0);
const FACTOR: f64 = 1.6;
const COUNT: i32 = 15;

/// A usual resistance of a bad contact (typical, common practice, no source).
const USUAL: Ohms = Ohms::new(40.0);

/// How far resistances of bad contacts scatter about the usual one, as a natural logarithm (typical, common practice, no
/// source).
const SCATTER: f64 = 1.6;

/// Sizes within this factor of the one that the dictionary solves switch what it switches.
const NEAR: f64 = 2.0;

/// A resistance of a size, and how probable it is.
pub(crate) struct SomeSize {
    ohms: Ohms,
    pub share: f64,
}

/// Every size that is tried; the shares add up to one.
pub(crate) fn sizes() -> Vec<SomeSize> {
    let ohms = (0..COUNT).map(|step| LEAST * FACTOR.powi(step));
    let weight = |ohms: Ohms| (-0.5 * ((ohms / USUAL).ln() / SCATTER).powi(2)).exp();
    let total: f64 = ohms.clone().map(weight).sum();
    ohms.map(|ohms| SomeSize { ohms, share: weight(ohms) / total }).collect()
}

/// How well a resistance of a size explains an observation. `fault` is the one that the dictionary solves, `open` the one
/// that opens the same line.
pub(crate) fn fit_of_size(
    dictionary: &Dictionary,
    [fault, open]: [usize; 2],
    size: &SomeSize,
    at: usize,
    evidence: &TraceEvidence,
    facts: &Facts,
) -> f64 {
    let setting = evidence.setting;
    let fit_with = |value, shown, harm| fit(shown, value, harm, at, evidence.observation, facts);
    let value = |at: usize| evidence.values.get(at).copied().flatten();
    let harms = &dictionary.harms;
    let whole = evidence.values.len().wrapping_sub(1);
    let ends = [
        (value(whole), dictionary.whole(setting), &dictionary.as_built),
        (value(fault), dictionary.present(fault, setting), &harms[fault]),
        (value(open), dictionary.present(open, setting), &harms[open]),
    ];
    let of = |end: usize| fit_with(ends[end].0, ends[end].1, ends[end].2);
    match evidence.observation.what {
        Answered::Meter(..) => {
            let [Some(none), Some(solved), Some(apart)] = [ends[0].0, ends[1].0, ends[2].0] else { return of(1) };
            match with_resistance([none, solved, apart], size.ohms) {
                Some(value) => fit_with(Some(value), ends[1].1, ends[1].2),
                None => switched(size.ohms, of),
            }
        }
        Answered::Screen(..) | Answered::Works(..) => switched(size.ohms, of),
        _ => of(1),
    }
}

/// What switches at some resistance: near that of the dictionary as there; else as there or as at the end.
fn switched(ohms: Ohms, of: impl Fn(usize) -> f64) -> f64 {
    let share = ohms / CORRODED;
    match share {
        share if share * NEAR < 1.0 => (of(0) + of(1)) / 2.0,
        share if share > NEAR => (of(1) + of(2)) / 2.0,
        _ => of(1),
    }
}

/// What a meter shows with some resistance in a line, from what it shows without, with that of the dictionary, and with the
/// line open: by Thévenin's theorem, the change from the first to the last is R / (R + R_i), with the resistance R_i of the
/// rest as the line sees it. `None` where something switches between.
fn with_resistance([none, solved, apart]: [MeterValue; 3], ohms: Ohms) -> Option<MeterValue> {
    let [first, middle, last] = [none.number()?, solved.number()?, apart.number()?];
    let size = ohms / CORRODED;
    if !first.is_finite() || !middle.is_finite() {
        return Some(solved);
    }
    let between = if last.is_infinite() {
        // A resistance with nothing beside it.
        first + (middle - first) * size
    } else if (last - first).abs() < 1e-3 {
        first
    } else {
        let share = (middle - first) / (last - first);
        if !(0.0..=SWITCHES).contains(&share) {
            return None;
        }
        first + (last - first) * size * share / (size * share + 1.0 - share)
    };
    Some(match solved {
        MeterValue::Amps(_) => MeterValue::Amps(Amps::new(between)),
        MeterValue::Ohms(_) => MeterValue::Ohms(Ohms::new(between)),
        MeterValue::Flashing(_) => MeterValue::Flashing(Volts::new(between)),
        _ => MeterValue::Volts(Volts::new(between)),
    })
}

/// With the dictionary's resistance, a line is hardly ever this near to open: something switched.
const SWITCHES: f64 = 0.98;
