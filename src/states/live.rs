//! Wires that carry current in one state, and the voltage of every pin, for drawings of a live harness.

use super::{Asked, Wiring};
use circuit::Solution;
use graph::{Link, Passage};
use model::{ElementKind, PartId, PinId, SignalId, SignalKind, StateCondition, WireId};
use quantity::{Amps, Volts};
use std::collections::{BTreeMap, BTreeSet};

/// A current below this lights nothing on a drawing: a trigger input takes more (common practice, no source).
pub const LIT_FROM: Amps = Amps::new(50e-6);

/// A current below this is a trickle: a trigger input, leakage, a resistor that only signals (common practice, no source).
pub const TRICKLE: Amps = Amps::new(0.01);

/// A voltage from this on can be felt by a meter's user as voltage, not as the drop along a ground wire (common practice,
/// no source).
pub const LIVE_VOLTS: Volts = Volts::new(1.0);

/// How live a wire or a pin is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Liveness {
    /// Neither voltage nor current.
    Dead,
    /// Voltage, but almost no current.
    Voltage,
    /// Less current than [`TRICKLE`], or a picture.
    Trickle,
    /// The current of a load.
    Load,
}

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
    liveness: Vec<Liveness>,
    at_pin: BTreeMap<PinId, Liveness>,
    relays: BTreeMap<PartId, bool>,
    closed: BTreeSet<(PinId, PinId)>,
}

impl Live {
    /// From a solution.
    pub fn of(wiring: &Wiring, Asked { name, passing, solution }: &Asked) -> Self {
        let (model, assembly) = (wiring.model, &wiring.assembly);
        let current = |id: WireId| assembly.wire(id).map_or(Amps::new(0.0), |branch| solution.amps(branch).abs());
        let wires: Vec<Amps> = model.wire_ids().map(current).collect();
        let pins = (0..model.pins.len()).map(|pin| assembly.pin(PinId(pin)).map(|node| solution.volts(node))).collect();
        let pictures = pictures(wiring, solution);
        let closed = closed(wiring, solution);
        let liveness = Vec::new();
        let (state, at_pin, relays) = (name.clone(), BTreeMap::new(), relays(wiring, solution));
        let mut live = Self { state, passing: *passing, wires, pins, pictures, liveness, at_pin, relays, closed };
        live.liveness = model.wire_ids().map(|id| live.of_wire(id, model.wire(id).ends)).collect();
        for (id, own) in model.wire_ids().zip(&live.liveness) {
            for pin in model.wire(id).ends {
                let at = live.at_pin.entry(pin).or_insert(Liveness::Dead);
                *at = (*at).max(*own);
            }
        }
        // A plugged cavity passes on the state of its mate.
        for joint in &model.joints {
            let most = joint.pins.iter().filter_map(|pin| live.at_pin.get(pin)).max().copied();
            if let Some(most) = most {
                live.at_pin.extend(joint.pins.map(|pin| (pin, most)));
            }
        }
        live
    }

    /// What a wire carries, without its direction.
    pub fn amps(&self, wire: WireId) -> Amps {
        self.wires[wire.0]
    }

    /// Whether a wire carries a current that counts, or a picture.
    pub fn is_lit(&self, wire: WireId) -> bool {
        self.wires[wire.0] >= LIT_FROM || self.pictures.contains(&wire)
    }

    /// Whether a wire carries a picture, shown or not.
    pub fn carries_picture(&self, wire: WireId) -> bool {
        self.pictures.contains(&wire)
    }

    fn of_wire(&self, wire: WireId, ends: [PinId; 2]) -> Liveness {
        let is_live = |pin: &PinId| self.volts(*pin).is_some_and(|volts| volts.abs() >= LIVE_VOLTS);
        match self.amps(wire) {
            amps if amps >= TRICKLE => Liveness::Load,
            amps if amps >= LIT_FROM || self.pictures.contains(&wire) => Liveness::Trickle,
            _ if ends.iter().any(is_live) => Liveness::Voltage,
            _ => Liveness::Dead,
        }
    }

    /// How live a wire is.
    pub fn liveness(&self, wire: WireId) -> Liveness {
        self.liveness[wire.0]
    }

    /// The most of any wire on a pin, or on the cavity that it meets.
    pub fn at_pin(&self, pin: PinId) -> Liveness {
        self.at_pin.get(&pin).copied().unwrap_or(Liveness::Dead)
    }

    /// Whether a relay is in, or set; `None` for other parts.
    pub fn relay_is_in(&self, part: PartId) -> Option<bool> {
        self.relays.get(&part).copied()
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

/// The relays, and whether each is in.
fn relays(wiring: &Wiring, solution: &Solution) -> BTreeMap<PartId, bool> {
    let signals = wiring.model.signals.iter().enumerate();
    let relays = signals.filter(|(_, signal)| matches!(signal.kind, SignalKind::Relay { .. }));
    let is_in = |id: usize| wiring.assembly.holds(solution, &StateCondition::Signal(SignalId(id)));
    relays.map(|(id, signal)| (signal.part, is_in(id))).collect()
}

/// The wires that carry a picture: from each source that works, as far as the parts on its way to a screen pass it on.
fn pictures(wiring: &Wiring, solution: &Solution) -> BTreeSet<WireId> {
    let model = wiring.model;
    let holds = |when: &StateCondition| wiring.assembly.holds(solution, when);
    let mut carrying = BTreeSet::new();
    for path in wiring.pictures.values().flatten() {
        let works = model.part(path.source).elements.iter().all(|id| match &model.element(*id).kind {
            ElementKind::Source { pin, when } if *pin == path.source_pin => holds(when),
            _ => true,
        });
        let passes = |link: &Link| match link {
            Link::Through(id, Passage::Signal) => model.element(*id).paths().all(|path| holds(&path.when)),
            _ => true,
        };
        let passed = path.links.iter().rev().map(|(_, link)| link).take_while(|link| works && passes(link));
        carrying.extend(passed.filter_map(|link| if let Link::Wire(id) = link { Some(*id) } else { None }));
    }
    carrying
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
