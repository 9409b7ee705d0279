//! Wires that carry current in one state, and the voltage of every pin, for drawings of a live harness.

use super::{Asked, Wiring, read_screen};
use circuit::Solution;
use graph::Link;
use model::{ElementKind, PinId, ScreenId, WireId};
use quantity::{Amps, Volts};
use std::collections::BTreeSet;

/// A current below this is leakage and lights nothing.
pub const LEAKAGE: Amps = Amps::new(50e-6);

/// A harness in one state.
#[derive(Debug, Clone)]
pub struct Live {
    /// The state in words: `key run, reverse`.
    pub state: String,
    /// Whether a timer still runs that will end it.
    pub passing: bool,
    wires: Vec<Amps>,
    pins: Vec<Option<Volts>>,
    pictures: BTreeSet<WireId>,
    lit: BTreeSet<PinId>,
    closed: BTreeSet<(PinId, PinId)>,
}

impl Live {
    /// From a solution.
    pub fn of(wiring: &Wiring, Asked { name, passing, solution }: &Asked) -> Self {
        let (model, assembly) = (wiring.model, &wiring.assembly);
        let current = |id: WireId| assembly.wire(id).map_or(Amps::new(0.0), |branch| solution.amps(branch).abs());
        let wires: Vec<Amps> = model.wire_ids().map(current).collect();
        let pins = (0..model.pins.len()).map(|pin| assembly.pin(PinId(pin)).map(|node| solution.volts(node))).collect();
        let mut pictures = BTreeSet::new();
        for index in 0..model.screens.len() {
            let reading = read_screen(wiring, solution, ScreenId(index));
            let Some(input) = reading.rule.map(|rule| model.screens[index].shows[rule].input) else { continue };
            for arrival in &reading.arrivals {
                let links = &wiring.pictures[&input][arrival.way].links;
                pictures.extend(links.iter().filter_map(|(_, link)| match link {
                    Link::Wire(id) => Some(*id),
                    _ => None,
                }));
            }
        }
        let closed = closed(wiring, solution);
        let (state, lit) = (name.clone(), BTreeSet::new());
        let mut live = Self { state, passing: *passing, wires, pins, pictures, lit, closed };
        live.lit = model.wire_ids().filter(|&id| live.is_lit(id)).flat_map(|id| model.wire(id).ends).collect();
        // A plugged cavity passes on the state of its mate.
        for joint in &model.joints {
            if joint.pins.iter().any(|pin| live.lit.contains(pin)) {
                live.lit.extend(joint.pins);
            }
        }
        live
    }

    /// What a wire carries, without its direction.
    pub fn amps(&self, wire: WireId) -> Amps {
        self.wires[wire.0]
    }

    /// Whether a wire carries more than leakage, or the picture that is on a screen.
    pub fn is_lit(&self, wire: WireId) -> bool {
        self.wires[wire.0] >= LEAKAGE || self.pictures.contains(&wire)
    }

    /// Whether a wire carries a picture that is on a screen.
    pub fn carries_picture(&self, wire: WireId) -> bool {
        self.pictures.contains(&wire)
    }

    /// Whether any wire on a pin, or on the cavity that it meets, is lit.
    pub fn pin_is_lit(&self, pin: PinId) -> bool {
        self.lit.contains(&pin)
    }

    /// Whether a relay's contact or a switch joins its common pin and one of its other pins.
    pub fn joins(&self, common: PinId, throw: PinId) -> bool {
        self.closed.contains(&(common, throw))
    }

    /// The voltage of a pin against the battery's negative; `None` for a pin outside the circuit.
    pub fn volts(&self, pin: PinId) -> Option<Volts> {
        self.pins[pin.0]
    }
}

/// The pins that contacts and switches join: the common one, then the other.
fn closed(wiring: &Wiring, solution: &Solution) -> BTreeSet<(PinId, PinId)> {
    let mut closed = BTreeSet::new();
    for element in &wiring.model.elements {
        if matches!(element.kind, ElementKind::Contact { .. } | ElementKind::Throw { .. }) {
            let paths = element.paths().filter(|path| wiring.assembly.holds(solution, &path.when));
            closed.extend(paths.filter_map(|path| path.pins().map(|[common, throw]| (common, throw))));
        }
    }
    closed
}
