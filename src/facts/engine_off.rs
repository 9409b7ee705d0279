//! How long each battery runs the harness with the engine off.

use super::figures::figures;
use super::moment::Moment;
use super::worst::WORSE;
use circuit::{Corner, Solution};
use model::{ElementId, ElementKind, InputId, SupplyFigures};
use quantity::{AmpHours, Amps, Exponent, Seconds, Share};
use states::Solved;
use std::collections::BTreeMap;

/// The most that a battery supplies continuously in one position of the key.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineOff {
    /// The battery.
    pub battery: ElementId,
    /// The inputs that switch the vehicle's supplies, and where they stand; empty where nothing switches a supply.
    pub key: Vec<(InputId, usize)>,
    /// The highest current of all lasting states with the key there, at nominal supply. Flashing loads count as on.
    pub amps: Amps,
    /// The state.
    pub moment: Moment,
    /// How long the battery lasts, if the spec gives its capacity.
    pub lasts: Option<Lasts>,
}

/// How long a full battery lasts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lasts {
    /// Until half of its capacity is left.
    pub to_half: Seconds,
    /// Until it no longer starts the engine.
    pub to_no_start: Seconds,
}

/// Half of the capacity is left.
const HALF: f64 = 0.5;

/// The share of its capacity that a starter battery has left when it no longer starts the engine.
pub fn no_start_share() -> Share {
    figures().quantity("no-start-share")
}

/// The discharge time that capacities are rated at: 20 h (EN 50342-1, from memory).
const RATED: Seconds = Seconds::new(20.0 * 3600.0);

/// A share of a battery's capacity is used up in this time, after Peukert's law: t = H·(C/(I·H))ᵏ with the rated time H.
/// Below the rated current the law promises more than any battery holds, so that the capacity alone counts there.
pub fn used_up_in(share: Share, capacity: AmpHours, peukert: Option<Exponent>, amps: Amps) -> Seconds {
    let hours = RATED.value() / 3600.0;
    let rated = capacity.value() / hours;
    let exponent = if amps.value() > rated { peukert.map_or(1.0, Exponent::value) } else { 1.0 };
    Seconds::new(share.value() * RATED.value() * (rated / amps.value()).powf(exponent))
}

/// Collects the most from each battery in each position of the key.
#[derive(Debug)]
pub(super) struct Search<'m> {
    solved: &'m Solved<'m>,
    batteries: Vec<(ElementId, SupplyFigures)>,
    key: Vec<InputId>,
    most: BTreeMap<(ElementId, Vec<usize>), (Amps, Moment)>,
}

impl<'m> Search<'m> {
    pub fn new(solved: &'m Solved<'m>) -> Search<'m> {
        let model = solved.model;
        let elements = || model.elements.iter().enumerate();
        let batteries = elements().filter_map(|(i, element)| match element.kind {
            ElementKind::Battery { figures, .. } => Some((ElementId(i), figures)),
            _ => None,
        });
        let switches = |input: &InputId| {
            elements().any(|(_, element)| match &element.kind {
                ElementKind::Derived { pin, .. } => model.live(*pin).names_input(*input),
                _ => false,
            })
        };
        let key = (0..model.inputs.len()).map(InputId).filter(switches).collect();
        Search { solved, batteries: batteries.collect(), key, most: BTreeMap::new() }
    }

    /// Takes a state into account.
    pub fn look(&mut self, solution: &Solution) {
        if solution.corner != Corner::NOMINAL {
            return;
        }
        for (battery, _) in &self.batteries {
            let amps = self.solved.assembly.amps(solution, *battery).abs();
            let at = self.key.iter().map(|input| usize::from(solution.state.positions.0[input.0])).collect();
            let place = (*battery, at);
            let is_more = |(most, _): &(Amps, Moment)| amps.value() > most.value() * (1.0 + WORSE);
            // A state that ends by itself, or with a finger off a button, drains nothing for hours.
            if self.most.get(&place).is_none_or(is_more) && self.lasts(solution) {
                self.most.insert(place, (amps, Moment::new(solution.state.clone(), solution.corner)));
            }
        }
    }

    fn lasts(&self, solution: &Solution) -> bool {
        let circuit = &self.solved.assembly.circuit;
        let mut pressed = circuit.inputs.iter().zip(&solution.state.positions.0).filter(|(input, _)| input.momentary);
        solution.state.pending(circuit).is_empty() && pressed.all(|(_, at)| *at == 0)
    }

    /// The rows, by battery and position.
    pub fn finish(self) -> Vec<EngineOff> {
        let Search { batteries, key, most, .. } = self;
        let row = |((battery, at), (amps, moment)): ((ElementId, Vec<usize>), (Amps, Moment))| {
            let figures = batteries.iter().find(|(id, _)| *id == battery).map(|(_, figures)| *figures)?;
            let lasts = figures.capacity.filter(|_| amps.value() > 0.0).map(|capacity| {
                let left = |share: f64| used_up_in(Share::new(1.0 - share), capacity, figures.peukert, amps);
                Lasts { to_half: left(HALF), to_no_start: left(no_start_share().value()) }
            });
            Some(EngineOff { battery, key: key.iter().copied().zip(at).collect(), amps, moment, lasts })
        };
        most.into_iter().filter_map(row).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A published worked example: Peukert's capacity 250, exponent 1.3, 20 A: 5.0886 h, by t = Cₚ/Iᵏ. The capacity at
    /// the 20-hour rate that has this Peukert's capacity follows from Cₚ = C·(C/H)ᵏ⁻¹ (both forms of the law stand in
    /// public introductions to it).
    #[test]
    fn the_law_gives_the_published_example() {
        let (peukert, hours) = (1.3f64, 20.0f64);
        let capacity = (250.0 * hours.powf(peukert - 1.0)).powf(1.0 / peukert);
        let exponent = Some(Exponent::new(peukert));
        let time = used_up_in(Share::new(1.0), AmpHours::new(capacity), exponent, Amps::new(20.0));
        assert!((time.value() / 3600.0 - 5.088_631_644).abs() < 1e-6, "{time}");
    }

    #[test]
    fn small_currents_last_no_longer_than_the_capacity() {
        let of = |exponent, amps| {
            used_up_in(Share::new(0.5), AmpHours::new(80.0), exponent, Amps::new(amps)).value() / 3600.0
        };
        assert!((of(None, 0.04) - 1000.0).abs() < 1e-9);
        assert!((of(Some(Exponent::new(1.2)), 0.04) - 1000.0).abs() < 1e-9);
        assert!((of(Some(Exponent::new(1.2)), 4.0) - 10.0).abs() < 1e-9, "the rated current");
        assert!(of(Some(Exponent::new(1.2)), 40.0) < of(None, 40.0));
    }
}
