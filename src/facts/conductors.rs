//! What conductors alone join in a state, with no load between: wires, plugged cavities, closed contacts and switches,
//! fuses, outputs that are on. A wire of the vehicle is pulled to ground that way, even if no current flows.

use circuit::{Assembly, BranchId, NEGATIVE, NodeId, State};
use model::{ElementId, ElementKind, Model};
use quantity::Ohms;
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// A resistor of at most this counts as a joint.
const JOINT: Ohms = Ohms::new(10.0);

/// For each node, the conductors on it as branches, and the nodes that they lead to.
#[derive(Debug, Default)]
pub struct Conductors(BTreeMap<NodeId, Vec<(BranchId, NodeId)>>);

fn wiring(model: &Model, assembly: &Assembly) -> Vec<BranchId> {
    let wires = model.wire_ids().filter_map(|id| assembly.wire(id));
    wires.chain((0..model.joints.len()).filter_map(|joint| assembly.joint(joint))).collect()
}

impl Conductors {
    /// All conductors of a harness.
    pub fn new(model: &Model, assembly: &Assembly) -> Conductors {
        let mut branches = wiring(model, assembly);
        for (i, element) in model.elements.iter().enumerate() {
            let conducts = match &element.kind {
                ElementKind::Resistor { resistance, .. } => *resistance <= JOINT,
                ElementKind::Contact { .. }
                | ElementKind::Throw { .. }
                | ElementKind::Fuse { .. }
                | ElementKind::GroundPoint { .. }
                | ElementKind::Output { .. }
                | ElementKind::Feed(_) => true,
                _ => false,
            };
            if conducts {
                // The branches of its paths come first; behind them come leakage, body diodes, the vehicle's lamps.
                branches.extend(assembly.element(ElementId(i)).iter().take(element.paths().count()));
            }
        }
        Conductors::of(branches, assembly)
    }

    /// The wires and plugged cavities alone, which conduct in every state.
    pub fn of_wires(model: &Model, assembly: &Assembly) -> Conductors {
        Conductors::of(wiring(model, assembly), assembly)
    }

    fn of(branches: Vec<BranchId>, assembly: &Assembly) -> Conductors {
        let mut conductors = Conductors::default();
        for id in branches {
            let branch = &assembly.circuit.branches[id.index()];
            conductors.0.entry(branch.from).or_default().push((id, branch.to));
            conductors.0.entry(branch.to).or_default().push((id, branch.from));
        }
        conductors
    }

    /// Every node that conductors join to `start` in a state, `start` included, without the battery's negative and
    /// without the branch `never`.
    pub fn joined(&self, assembly: &Assembly, state: &State, start: NodeId, never: BranchId) -> BTreeSet<NodeId> {
        let (mut all, mut ahead) = (BTreeSet::from([start]), vec![start]);
        while let Some(node) = ahead.pop() {
            for (branch, next) in self.0.get(&node).into_iter().flatten() {
                let closed = *branch != never && state.holds(&assembly.circuit.branches[branch.index()].when);
                if closed && *next != NEGATIVE && all.insert(*next) {
                    ahead.push(*next);
                }
            }
        }
        all
    }

    /// The shortest path from a node to the battery's negative, as branches in order; `None` if there is none.
    pub fn to_ground(&self, assembly: &Assembly, state: &State, start: NodeId) -> Option<Vec<BranchId>> {
        // For each node, the branch that reached it, and from which node.
        let mut come_by: BTreeMap<NodeId, (BranchId, NodeId)> = BTreeMap::new();
        let mut ahead = VecDeque::from([start]);
        while let Some(node) = ahead.pop_front() {
            for (branch, next) in self.0.get(&node).into_iter().flatten() {
                let closed = state.holds(&assembly.circuit.branches[branch.index()].when);
                if !closed || *next == start || come_by.contains_key(next) {
                    continue;
                }
                come_by.insert(*next, (*branch, node));
                if *next != NEGATIVE {
                    ahead.push_back(*next);
                    continue;
                }
                let mut way = Vec::new();
                let mut at = NEGATIVE;
                while let Some((branch, before)) = come_by.get(&at).filter(|_| at != start) {
                    way.push(*branch);
                    at = *before;
                }
                way.reverse();
                return Some(way);
            }
        }
        None
    }
}
