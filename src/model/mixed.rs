//! Nets on which a picture, sound or data meets a feed, a trigger or a ground.

use super::{Model, PartKind, PinId, WireId, resolve};
use catalogue::part_form::Domain;
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, BTreeSet};

/// Whether a domain is pictures, sound or data, which have no circuit of their own.
pub fn is_signal(domain: Domain) -> bool {
    matches!(domain, Domain::Video | Domain::Audio | Domain::Data)
}

/// Whether a pin decides what its net carries. Cavities and splices carry what the other pins are.
pub fn is_terminal<G>(model: &Model<G>, pin: PinId) -> bool {
    !matches!(model.part(model.pin(pin).part).kind, PartKind::Connector | PartKind::Splice)
}

/// The pins that wires and mated cavities join, each net in the order of the spec.
pub fn joined_pins<G>(model: &Model<G>) -> Vec<Vec<PinId>> {
    let mut groups = UnionFind::<usize>::new(model.pins.len());
    let wires = model.wires.iter().map(|wire| wire.ends);
    for [from, to] in wires.chain(model.joints.iter().map(|joint| joint.pins)) {
        groups.union(from.0, to.0);
    }
    let mut nets: BTreeMap<usize, Vec<PinId>> = BTreeMap::new();
    for pin in model.pin_ids() {
        nets.entry(groups.find(pin.0)).or_default().push(pin);
    }
    nets.into_values().collect()
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

/// The same harness without some wires; what the others carry is found again. Wires get other ids.
pub fn without_wires<G>(mut model: Model<G>, wires: &BTreeSet<WireId>) -> Model<G> {
    let mut id = 0..;
    model.wires.retain(|_| id.next().is_none_or(|id| !wires.contains(&WireId(id))));
    resolve::name_nets(&mut model);
    model
}
