//! What takes the current that flows on from somewhere in a solved state.

use super::connectivity::Connectivity;
use super::walk::Towards;
use circuit::Solution;
use model::{ElementId, ElementKind, PinId};
use quantity::Amps;
use states::Wiring;

/// A current below this does not count as a path of current.
const LEAST: Amps = Amps::new(1e-9);

/// A load, a coil or a converter that takes current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Taker {
    /// What it is.
    pub element: ElementId,
    /// Its current in the state.
    pub amps: Amps,
    /// The highest current while it is switched on, in proportion to the load's voltage. A converter takes no more than the load at its limit makes it take,
    /// whatever its output feeds.
    pub inrush: Amps,
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
        let id = ElementId(i);
        let own = || assembly.amps(solution, id).abs();
        let (amps, inrush) = match &element.kind {
            ElementKind::Load(load) if takes(&load.feed, &load.ground) => {
                let across = (assembly.volts(solution, load.feed) - assembly.volts(solution, load.ground)).abs();
                (own(), (load.inrush * (across / load.nominal)).max(own()))
            }
            ElementKind::Coil(coil) if takes(&coil.feed, &coil.ground) => (own(), own()),
            ElementKind::Converter { input, ground, volts, least, efficiency, limit, idle, .. }
                if takes(input, ground) =>
            {
                let across = assembly.volts(solution, *input) - assembly.volts(solution, *ground);
                let full = (*volts * *limit) / efficiency.value() / across.max(*least) + *idle;
                let drawn = assembly.element(id).get(1).map_or(Amps::default(), |input| solution.amps(*input).abs());
                (drawn, full.max(drawn))
            }
            _ => return None,
        };
        (amps > LEAST).then_some(Taker { element: id, amps, inrush })
    };
    model.elements.iter().enumerate().filter_map(taker).collect()
}
