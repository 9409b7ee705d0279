//! What takes the current that flows on from somewhere in a solved state.

use super::connectivity::Connectivity;
use super::walk::Towards;
use circuit::Solution;
use model::{ElementId, ElementKind, PinId};
use quantity::Amps;
use size::switch_on::{Intake, intake};
use states::Wiring;

/// A current below this does not count as a path of current.
const LEAST: Amps = Amps::new(1e-9);

/// A load, a coil or a converter that takes current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taker {
    /// What it is.
    pub element: ElementId,
    /// What it takes in the state, and while it is switched on.
    pub intake: Intake,
}

/// What takes the current that flows from one pin to another, inside a contact, a switch or a fuse: everything that the
/// current leads to from there, and everything that it comes from there by way of a ground. The walk follows the current of
/// the state, so what another contact feeds is left out, even on a feed that both share.
pub(super) fn takers(
    wiring: &Wiring,
    connectivity: &Connectivity,
    solution: &Solution,
    [from, to]: [PinId; 2],
) -> Vec<Taker> {
    let (model, assembly) = (wiring.model, &wiring.assembly);
    let flows = |id: ElementId, [a, b]: [PinId; 2]| {
        let (Some(a), Some(b)) = (assembly.pin(a), assembly.pin(b)) else { return false };
        assembly.element(id).iter().any(|branch| {
            let (one, amps) = (&assembly.circuit.branches[branch.index()], solution.amps(*branch));
            (one.from == a && one.to == b && amps > LEAST) || (one.from == b && one.to == a && -amps > LEAST)
        })
    };
    let behind = connectivity.reached_by(to, Towards::Ground, &|id, pins| flows(id, pins));
    let before = connectivity.reached_by(from, Towards::Supply, &|id, [a, b]| flows(id, [b, a]));
    let takes = |feed: &PinId, ground: &PinId| behind.contains(feed) || before.contains(ground);
    let taker = |(i, element): (usize, &model::Element)| {
        let is_fed = match &element.kind {
            ElementKind::Load(load) => takes(&load.feed, &load.ground),
            ElementKind::Coil(coil) => takes(&coil.feed, &coil.ground),
            ElementKind::Converter { input, ground, .. } => takes(input, ground),
            _ => false,
        };
        let element = ElementId(i);
        let intake = intake(model, assembly, solution, element).filter(|_| is_fed)?;
        (intake.amps > LEAST).then_some(Taker { element, intake })
    };
    model.elements.iter().enumerate().filter_map(taker).collect()
}
