//! A resistance of unknown size: a corroded crimp, a spread socket, a bad ground point. Each size is a hypothesis of its
//! own; together they explain no more than the best of them does for its share.
//!
//! Each size is solved, in the settings of observations only: at some size a relay drops out or a converter stops, and
//! what is solved with one size says nothing about another.

use super::fault::{CORRODED, Harm};
use super::measure::{Measure, Meter, MeterValue};
use super::setting::SetState;
use super::shown::{ShownFault, shown_in};
use circuit::{Change, Variant};
use facts::Facts;
use quantity::Ohms;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The sizes that are tried: this many, each larger than the one before by this factor, from the least one on, and the one that
/// the dictionary is solved with.
const LEAST: Ohms = Ohms::new(0.3);
const FACTOR: f64 = 1.6;
const COUNT: i32 = 19;

/// A usual resistance of a bad contact (typical, common practice, no source).
const USUAL: Ohms = Ohms::new(40.0);

/// How far resistances of bad contacts scatter about the usual one, as a natural logarithm (typical, common practice, no
/// source).
const SCATTER: f64 = 1.6;

/// A resistance of a size, and how probable it is.
pub(crate) struct SomeSize {
    pub ohms: Ohms,
    pub share: f64,
}

impl SomeSize {
    /// Whether the dictionary is solved with it.
    pub fn is_usual(&self) -> bool {
        self.ohms == CORRODED
    }
}

/// Every size that is tried; the shares add up to one.
pub(crate) fn sizes() -> Vec<SomeSize> {
    let is_below = |ohms: &Ohms| *ohms < CORRODED;
    let (below, above): (Vec<Ohms>, Vec<Ohms>) = (0..COUNT).map(|step| LEAST * FACTOR.powi(step)).partition(is_below);
    let ohms = below.into_iter().chain([CORRODED]).chain(above);
    let weight = |ohms: Ohms| (-0.5 * ((ohms / USUAL).ln() / SCATTER).powi(2)).exp();
    let total: f64 = ohms.clone().map(weight).sum();
    ohms.map(|ohms| SomeSize { ohms, share: weight(ohms) / total }).collect()
}

/// For each fault, something for each size; empty for a fault that is no resistance.
pub(crate) type BySize<T> = Vec<Vec<Option<T>>>;

/// What resistances of every size show, for what was observed so far.
pub(crate) struct SizedFaults {
    /// The resistances with every size, each with its fault's index.
    harms: Vec<(usize, Vec<Harm>)>,
    /// How many faults there are.
    faults: usize,
    /// By setting. Sizes that show the same share it.
    shown: BTreeMap<usize, BySize<Arc<ShownFault>>>,
    measured: Vec<(usize, Measure, BySize<MeterValue>)>,
}

impl SizedFaults {
    /// Of these faults; `is_sized` says which are a resistance.
    pub fn new(harms: &[Harm], is_sized: &[bool]) -> SizedFaults {
        let sizes = sizes();
        let of = |at: usize| (at, sizes.iter().map(|size| with_size(&harms[at], size.ohms)).collect());
        let sized = (0..harms.len()).filter(|at| is_sized[*at]).map(of).collect();
        SizedFaults { harms: sized, faults: harms.len(), shown: BTreeMap::new(), measured: Vec::new() }
    }

    /// Solves them in a setting.
    pub fn place(&mut self, facts: &Facts, at: usize, setting: &SetState) {
        if !self.shown.contains_key(&at) {
            let solved = self.each(|_, harms| in_setting(facts, harms, setting));
            self.shown.insert(at, solved);
        }
    }

    /// What a fault shows with each size in a setting that was solved.
    pub fn shown(&self, fault: usize, setting: usize) -> &[Option<Arc<ShownFault>>] {
        self.shown.get(&setting).and_then(|shown| shown.get(fault)).map_or(&[], Vec::as_slice)
    }

    /// What a meter shows with each.
    pub fn measured(&mut self, meter: &Meter, setting: usize, measure: Measure) -> &BySize<MeterValue> {
        let known = self.measured.iter().position(|(state, what, _)| *what == measure && *state == setting);
        let at = known.unwrap_or_else(|| {
            let read = |(harm, shown): (&Harm, &Option<Arc<ShownFault>>)| {
                let shown = shown.as_deref()?;
                meter.read(harm, &shown.state, measure, |pin| shown.voltage(pin))
            };
            let values = self.each(|fault, harms| harms.iter().zip(self.shown(fault, setting)).map(read).collect());
            self.measured.push((setting, measure, values));
            self.measured.len() - 1
        });
        &self.measured[at].2
    }

    fn each<T: Send + Clone>(&self, of: impl Fn(usize, &[Harm]) -> Vec<Option<T>> + Sync) -> BySize<T> {
        let solved = threads::each(&self.harms, |(fault, sizes)| of(*fault, sizes));
        let mut all = vec![Vec::new(); self.faults];
        for ((fault, _), solved) in self.harms.iter().zip(solved) {
            all[*fault] = solved;
        }
        all
    }
}

/// Voltages that differ by less, as a share of the nominal voltage, count as the same.
const SAME_VOLTS: f64 = 1e-4;

/// What a resistance shows with each size in a setting. All voltages follow its size in one direction while the state of the
/// harness stays, so that sizes between two that show the same show the same too.
fn in_setting(facts: &Facts, harms: &[Harm], setting: &SetState) -> Vec<Option<Arc<ShownFault>>> {
    let solve = |harm: &Harm| shown_in(facts, std::slice::from_ref(setting), harm).pop().flatten().map(Arc::new);
    let mut all: Vec<Option<Arc<ShownFault>>> = vec![None; harms.len()];
    let Some(last) = harms.len().checked_sub(1) else { return all };
    (all[0], all[last]) = (solve(&harms[0]), solve(&harms[last]));
    let nearly = facts.model.job.nominal * SAME_VOLTS;
    let mut open = vec![(0, last)];
    while let Some((from, to)) = open.pop() {
        if from + 1 >= to {
            continue;
        }
        match (&all[from], &all[to]) {
            (Some(one), Some(other)) if one.is_nearly(other, nearly) => {
                let same = all[from].clone();
                all[from + 1..to].fill(same);
            }
            _ => {
                let middle = usize::midpoint(from, to);
                all[middle] = solve(&harms[middle]);
                open.extend([(from, middle), (middle, to)]);
            }
        }
    }
    all
}

/// A resistance with another size than that of the dictionary.
pub(crate) fn with_size(harm: &Harm, ohms: Ohms) -> Harm {
    let sized = |change: &Change| match *change {
        Change::InSeries(branch, size) if size == CORRODED => Change::InSeries(branch, ohms),
        other => other,
    };
    Harm { variant: harm.variant.changes().iter().map(sized).collect::<Variant>(), ..harm.clone() }
}
