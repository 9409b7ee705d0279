//! Nets: pins joined by wires and mated cavities, whatever the state.

use model::{Model, PinId};
use petgraph::unionfind::UnionFind;
use std::collections::BTreeMap;

/// Which pins are one net.
#[derive(Debug, Clone)]
pub struct Nets {
    of: Vec<usize>,
    pins: Vec<Vec<PinId>>,
}

impl Nets {
    /// Joins pins by the wires and joints of a model.
    pub fn new(model: &Model) -> Nets {
        let mut union = UnionFind::<usize>::new(model.pins.len());
        for wire in &model.wires {
            union.union(wire.ends[0].0, wire.ends[1].0);
        }
        for joint in &model.joints {
            union.union(joint.pins[0].0, joint.pins[1].0);
        }
        let mut numbers = BTreeMap::new();
        let mut nets = Nets { of: Vec::new(), pins: Vec::new() };
        for pin in model.pin_ids() {
            let number = *numbers.entry(union.find(pin.0)).or_insert_with(|| {
                nets.pins.push(Vec::new());
                nets.pins.len() - 1
            });
            nets.of.push(number);
            nets.pins[number].push(pin);
        }
        nets
    }

    /// The net's number of a pin; nets are numbered by their first pin.
    pub fn of(&self, pin: PinId) -> usize {
        self.of[pin.0]
    }

    /// The pins of the net that a pin is on, in the model's order.
    pub fn with(&self, pin: PinId) -> &[PinId] {
        &self.pins[self.of[pin.0]]
    }

    /// Every net.
    pub fn iter(&self) -> impl Iterator<Item = &[PinId]> {
        self.pins.iter().map(Vec::as_slice)
    }
}
