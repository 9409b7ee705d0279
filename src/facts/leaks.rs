//! What only leakage feeds: a semiconductor output or a wire of the vehicle that is off lets a small current through, and
//! that holds a pin up.

use super::Facts;
use circuit::{Assembly, BranchId, CurrentPath, Law, Solution, Tracer, Via};
use model::{ElementId, ElementKind, Model, PartId, PinId};
use quantity::{Amps, Ohms, Volts, Watts};

/// Steps of resistance values in a decade (IEC 60063, series E12; from memory).
const E12: [f64; 12] = [1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2];

/// Ratings of resistors on sale, watts (common practice, no source).
const RATINGS: [f64; 6] = [0.25, 0.5, 1.0, 2.0, 5.0, 10.0];

/// A resistor is loaded to at most this share of its rating (common practice, no source).
const LOADED: f64 = 0.5;

/// A current that leaks through something that is off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leak {
    /// The output, or the wire of the vehicle.
    pub part: PartId,
    /// The pin that it leaks to.
    pub pin: PinId,
    /// The most that it lets through while off.
    pub amps: Amps,
}

/// The branches that leak.
#[derive(Debug, Clone)]
pub(super) struct LeakBranches(Vec<(ElementId, BranchId)>);

impl LeakBranches {
    pub fn new(model: &Model, assembly: &Assembly) -> LeakBranches {
        let semiconductor = |kind: &ElementKind| matches!(kind, ElementKind::Output { .. } | ElementKind::Feed(_));
        let elements = model.elements.iter().enumerate().filter(|(_, element)| semiconductor(&element.kind));
        let branches = elements.flat_map(|(i, _)| {
            let id = ElementId(i);
            assembly.element(id).iter().map(move |branch| (id, *branch))
        });
        let leaks = |branch: BranchId| matches!(assembly.circuit.branches[branch.index()].law, Law::Current { .. });
        LeakBranches(branches.filter(|(_, branch)| leaks(*branch)).collect())
    }

    /// Whether what goes into a pin comes from leakage: it is no more than all leakage together, and its path leads
    /// through something that leaks.
    pub fn feed(
        &self,
        model: &Model,
        assembly: &Assembly,
        tracer: &Tracer,
        solution: &Solution,
        (pin, amps): (PinId, Amps),
    ) -> bool {
        let all = self.0.iter().map(|(_, branch)| solution.amps(*branch).abs()).sum::<Amps>();
        // The path costs more than the sum, so it comes second.
        amps <= all * ROUNDING
            && leak_on(model, assembly, solution, &tracer.into_pin(assembly, solution, pin)).is_some()
    }
}

/// Allowance for rounding in a sum of currents.
const ROUNDING: f64 = 1.0 + 1e-6;

/// The leakage that a path comes from, while its output is off; `None` for any other current.
fn leak_on(model: &Model, assembly: &Assembly, solution: &Solution, path: &CurrentPath) -> Option<Leak> {
    path.steps.iter().find_map(|step| {
        let Via::Element(id) = step.via else { return None };
        let element = model.element(id);
        let (pin, amps) = match &element.kind {
            ElementKind::Output { pin, leakage, .. } => (*pin, *leakage),
            ElementKind::Feed(feed) => (feed.pin, feed.leakage),
            _ => return None,
        };
        let main = *assembly.element(id).first()?;
        let is_off = solution.amps(main).abs() < Amps::new(1e-9);
        (is_off && amps > Amps::new(0.0)).then_some(Leak { part: element.part, pin, amps })
    })
}

/// A resistor from a wire to ground that leads leakage away.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bleeder {
    /// Its resistance.
    pub resistance: Ohms,
    /// Its rating.
    pub rating: Watts,
}

impl Bleeder {
    /// The largest usual resistor that keeps a leakage below a voltage, rated for the highest voltage that the wire gets when
    /// on. `None` if none on sale stands that.
    pub fn new(leak: Amps, below: Volts, highest: Volts) -> Option<Bleeder> {
        let most = (below / leak).value();
        let decade = 10_f64.powf(most.log10().floor());
        let value = E12.into_iter().rev().map(|step| step * decade).find(|value| *value <= most * ROUNDING)?;
        let watts = highest.value() * highest.value() / value;
        let rating = RATINGS.into_iter().find(|rating| watts <= rating * LOADED)?;
        Some(Bleeder { resistance: Ohms::new(value), rating: Watts::new(rating) })
    }
}

/// The leakage that a path of current comes from; `None` for any other current.
pub fn leak_of(facts: &Facts, solution: &Solution, path: &CurrentPath) -> Option<Leak> {
    leak_on(facts.model, &facts.solved.assembly, solution, path)
}

/// The leakage that holds a pin up; `None` for any other current.
pub fn leak_into(facts: &Facts, solution: &Solution, pin: PinId) -> Option<Leak> {
    leak_of(facts, solution, &facts.paths().to(solution, pin))
}

/// The resistor that keeps a leakage below a voltage.
pub fn bleeder(facts: &Facts, leak: &Leak, below: Volts) -> Option<Bleeder> {
    let highest = facts.model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Battery { volts, .. } => Some(volts[2]),
        _ => None,
    });
    Bleeder::new(leak.amps, below, highest.reduce(Volts::max)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 3 V at 300 µA are 10 kΩ; 14.6 V across them are 21 mW. 1 V at 5 mA are 200 Ω, of E12 180 Ω; 1.18 W need 5 W.
    #[test]
    fn a_bleeder_is_the_largest_of_its_series() {
        let of =
            |milliamps: f64, below: f64| Bleeder::new(Amps::new(milliamps / 1e3), Volts::new(below), Volts::new(14.6));
        let words = |bleeder: Bleeder| (bleeder.resistance.to_string(), bleeder.rating.to_string());
        assert_eq!(of(0.3, 3.0).map(words), Some(("10 kΩ".into(), "250 mW".into())));
        assert_eq!(of(5.0, 1.0).map(words), Some(("180 Ω".into(), "5 W".into())));
        assert_eq!(of(100.0, 0.1), None);
    }
}
