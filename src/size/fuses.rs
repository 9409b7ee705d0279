//! Which fuse protects which wire, and when one opens at once.

use circuit::{Assembly, Solution};
use graph::{Link, Passage, SignalGraph, signal_graph};
use model::{ElementId, ElementKind, Model, PartKind, PinId};
use quantity::Amps;
use std::collections::{BTreeSet, VecDeque};

/// For each wire, the fuses that protect it: the last ones between it and the supplies of the vehicle, whatever the
/// state. A wire that a supply reaches without a fuse has none, however many others reach it too.
pub fn protecting_fuses(model: &Model) -> Vec<Vec<ElementId>> {
    let graph = signal_graph(model);
    let supplies = || model.pin_ids().filter(|&p| matches!(model.part(model.pin(p).part).kind, PartKind::Supply));
    let unfused = downstream(model, &graph, supplies());
    let mut of: Vec<BTreeSet<ElementId>> = vec![BTreeSet::new(); model.pins.len()];
    for (i, element) in model.elements.iter().enumerate() {
        if let ElementKind::Fuse { between, .. } = &element.kind {
            // The far side is the side that the supply doesn't reach without it.
            let far = between.iter().copied().filter(|p| !unfused[p.0]);
            for (pin, reached) in downstream(model, &graph, far).into_iter().enumerate() {
                if reached {
                    of[pin].insert(ElementId(i));
                }
            }
        }
    }
    let wire = |ends: [PinId; 2]| match ends.iter().any(|e| unfused[e.0]) {
        true => Vec::new(),
        false => of[ends[0].0].union(&of[ends[1].0]).copied().collect(),
    };
    model.wires.iter().map(|w| wire(w.ends)).collect()
}

/// For each wire, the largest fuse of the vehicle, of known rating, that is all that protects it; zero if there is none.
pub(crate) fn vehicle_fuses(model: &Model) -> Vec<Amps> {
    let graph = signal_graph(model);
    let mut largest = vec![Amps::new(0.0); model.wires.len()];
    for fuse in model.pin_ids().filter_map(|pin| Some((pin, model.vehicle_fuse(pin).filter(|fuse| fuse.is_known)?))) {
        let reached = downstream(model, &graph, std::iter::once(fuse.0));
        for (wire, largest) in model.wires.iter().zip(&mut largest) {
            if wire.ends.iter().any(|end| reached[end.0]) {
                *largest = largest.max(fuse.1.rating);
            }
        }
    }
    largest
}

/// The pins that current can reach from some pins, through closed contacts and diodes, but not through a fuse, a load,
/// or a module's output of its own limit.
fn downstream(model: &Model, graph: &SignalGraph, from: impl Iterator<Item = PinId>) -> Vec<bool> {
    let mut reached = vec![false; model.pins.len()];
    let mut queue: VecDeque<PinId> = from.collect();
    while let Some(pin) = queue.pop_front() {
        if std::mem::replace(&mut reached[pin.0], true) {
            continue;
        }
        for (next, edge) in graph.beside(pin) {
            let passes = match edge.link {
                Link::Wire(_) | Link::Joint(_) => true,
                Link::Through(id, passage) => {
                    let kind = &model.element(id).kind;
                    let stops =
                        matches!(kind, ElementKind::Fuse { .. } | ElementKind::Feed(_) | ElementKind::Converter { .. });
                    !stops && !matches!(passage, Passage::Load | Passage::Signal)
                }
            };
            if passes && !reached[next.0] {
                queue.push_back(next);
            }
        }
    }
    reached
}

/// Times its rating at which a blade fuse opens within 0.1 s (ISO 8820-3, from memory).
const OPENS_AT_ONCE: f64 = 6.0;

/// Whether a fuse opens at once in a state: nothing has to carry its currents continuously.
pub fn opens_a_fuse(model: &Model, assembly: &Assembly, solution: &Solution) -> bool {
    model.elements.iter().enumerate().any(|(i, element)| match element.kind {
        ElementKind::Fuse { rating, .. } => assembly.amps(solution, ElementId(i)).abs() >= rating * OPENS_AT_ONCE,
        _ => false,
    })
}
