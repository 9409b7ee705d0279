//! Nets on which a picture, sound or data meets a feed, a trigger or a ground.

use super::{Model, PartKind, Pin, PinId, WireId, resolve};
use catalogue::part_form::Domain;
use petgraph::unionfind::UnionFind;
use std::collections::BTreeMap;

/// Whether a domain is pictures, sound or data, which have no circuit of their own.
pub fn is_signal(domain: Domain) -> bool {
    matches!(domain, Domain::Video | Domain::Audio | Domain::Data)
}

/// Whether a pin decides what its net carries. Cavities and splices carry what the other pins are.
pub fn is_terminal<G>(model: &Model<G>, pin: PinId) -> bool {
    !matches!(model.part(model.pin(pin).part).kind, PartKind::Connector | PartKind::Splice)
}

/// The pins that wires and mated cavities join: nets by their first pin, the pins of each in the order of the model.
pub fn joined_pins<G>(model: &Model<G>) -> Vec<Vec<PinId>> {
    let mut groups = UnionFind::<usize>::new(model.pins.len());
    let wires = model.wires.iter().map(|wire| wire.ends);
    for [from, to] in wires.chain(model.joints.iter().map(|joint| joint.pins)) {
        groups.union(from.0, to.0);
    }
    let mut numbers = BTreeMap::new();
    let mut nets: Vec<Vec<PinId>> = Vec::new();
    for pin in model.pin_ids() {
        let number = *numbers.entry(groups.find(pin.0)).or_insert(nets.len());
        if number == nets.len() {
            nets.push(Vec::new());
        }
        nets[number].push(pin);
    }
    nets
}

/// The nets that join a pin of pictures, sound or data to a pin of a feed, a trigger, a ground, a contact.
pub fn mixed_nets<G>(model: &Model<G>) -> Vec<Vec<PinId>> {
    let has = |net: &[PinId], signal: bool| {
        net.iter().any(|pin| is_terminal(model, *pin) && is_signal(model.pin(*pin).domain) == signal)
    };
    let mut nets = joined_pins(model);
    nets.retain(|net| has(net, true) && has(net, false));
    nets
}

/// The same harness with some wires off: each ends on two pins of its own. Everything keeps its id, and what the other wires
/// carry is found again.
pub fn without_wires<G>(mut model: Model<G>, wires: &[WireId]) -> Model<G> {
    for wire in wires {
        let like = Pin { limit: None, optional: true, ..model.pin(model.wire(*wire).ends[0]).clone() };
        let first = PinId(model.pins.len());
        model.pins.extend([like.clone(), like]);
        let wire = &mut model.wires[wire.0];
        (wire.ends, wire.path, wire.existing) = ([first, PinId(first.0 + 1)], Vec::new(), true);
    }
    found_again(&mut model);
    model
}

/// Finds again what wires and cavities carry, after wires were moved.
pub fn found_again<G>(model: &mut Model<G>) {
    resolve::name_nets(model);
}
