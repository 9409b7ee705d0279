//! Converters that charge a battery: their output reaches it over nothing but wires, fuses, contacts and switches.

use model::{ElementId, ElementKind, Model, PinId};
use petgraph::unionfind::UnionFind;

/// A converter and the battery that it charges.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Charger {
    /// The converter.
    pub converter: ElementId,
    /// The battery.
    pub battery: ElementId,
}

/// Pins that nothing but wires, fuses, contacts and switches lies between.
fn joined(model: &Model) -> UnionFind<usize> {
    let mut joined: UnionFind<usize> = UnionFind::new(model.pins.len());
    let mut join = |[a, b]: [PinId; 2]| {
        joined.union(a.0, b.0);
    };
    model.wires.iter().for_each(|wire| join(wire.ends));
    model.joints.iter().for_each(|joint| join(joint.pins));
    model.elements.iter().flat_map(|element| element.metal_paths()).for_each(&mut join);
    joined
}

/// Whether an output lies between two batteries, as in an isolator: a battery is on it that does not feed it.
pub fn parts_batteries(model: &Model, output: PinId, feed: PinId) -> bool {
    let joined = joined(model);
    let batteries = model.elements.iter().filter_map(|element| match element.kind {
        ElementKind::Battery { plus, .. } => Some(plus),
        _ => None,
    });
    batteries.into_iter().any(|plus| joined.equiv(plus.0, output.0) && !joined.equiv(plus.0, feed.0))
}

/// Every charger, in the order of the model.
pub fn chargers(model: &Model) -> Vec<Charger> {
    let joined = joined(model);
    let of_kind = |pin: fn(&ElementKind) -> Option<PinId>| {
        let all = model.elements.iter().enumerate();
        all.filter_map(move |(i, element)| Some((ElementId(i), pin(&element.kind)?)))
    };
    let outputs = of_kind(|kind| match kind {
        ElementKind::Converter { output, .. } => Some(*output),
        _ => None,
    });
    let batteries: Vec<(ElementId, PinId)> = of_kind(|kind| match kind {
        ElementKind::Battery { plus, .. } => Some(*plus),
        _ => None,
    })
    .collect();
    let mut all = Vec::new();
    for (converter, output) in outputs {
        let reached = batteries.iter().filter(|(_, plus)| joined.equiv(plus.0, output.0));
        all.extend(reached.map(|(battery, _)| Charger { converter, battery: *battery }));
    }
    all
}
