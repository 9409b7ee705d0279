//! Grounds that may break: every ground point, and every wire that leads to one.

use crate::conductors::Conductors;
use crate::connectivity::Connectivity;
use circuit::{BranchId, NodeId};
use model::{ElementId, ElementKind, PartId, PinId, WireId};
use states::Solved;
use std::collections::BTreeSet;

/// A ground that may break.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ground {
    /// What it is.
    pub kind: GroundKind,
    /// Its branch.
    pub branch: BranchId,
    /// The node that then has no ground, with all that conductors join to it.
    pub left: NodeId,
    /// Whether what then has no ground meets the rest of the circuit at one node only: no current can go through it.
    pub is_dead_end: bool,
}

/// What a ground is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GroundKind {
    /// A ground point.
    Point(PartId),
    /// A wire that leads to a ground point.
    Wire(WireId),
}

/// Lists the grounds.
pub(super) struct Search<'f> {
    pub solved: &'f Solved<'f>,
    pub connectivity: &'f Connectivity<'f>,
}

impl Search<'_> {
    /// Every ground point, and every wire that leads to one. The only wire of a point is left out: losing it is losing the
    /// point.
    pub fn grounds(&self) -> Vec<Ground> {
        let (model, assembly) = (self.solved.model, &self.solved.assembly);
        let wires = Conductors::of_wires(model, assembly);
        let ground = |kind, branch, left| {
            let is_dead_end = self.is_dead_end(&wires, left, branch);
            Ground { kind, branch, left, is_dead_end }
        };
        let (mut all, mut opened) = (Vec::new(), BTreeSet::new());
        for (i, element) in model.elements.iter().enumerate() {
            let ElementKind::GroundPoint { pin, .. } = element.kind else { continue };
            let on_point = self.connectivity.wires_on(pin);
            let point = assembly.element(ElementId(i)).first().zip(assembly.pin(pin));
            all.extend(point.map(|(&branch, left)| ground(GroundKind::Point(element.part), branch, left)));
            for (wire, far) in self.wires_to(pin) {
                if (on_point.len() == 1 && on_point[0] == wire) || !opened.insert(wire) {
                    continue;
                }
                let ends = assembly.wire(wire).zip(assembly.pin(far));
                all.extend(ends.map(|(branch, left)| ground(GroundKind::Wire(wire), branch, left)));
            }
        }
        all
    }

    /// Whether all that wires join to a node meets the rest of the circuit at one node at most, without this branch.
    fn is_dead_end(&self, wires: &Conductors, left: NodeId, broken: BranchId) -> bool {
        let assembly = &self.solved.assembly;
        let island = wires.joined(assembly, self.solved.exploration.first(), left, broken);
        // Shields are looked at where they carry most, not in every state.
        let shields: BTreeSet<usize> =
            self.solved.model.wire_ids().filter_map(|wire| assembly.shield(wire)).map(BranchId::index).collect();
        let is_other = |i: usize| i != broken.index() && !shields.contains(&i);
        let others = assembly.circuit.branches.iter().enumerate().filter(|(i, _)| is_other(*i));
        let met: BTreeSet<NodeId> = others
            .filter(|(_, branch)| island.contains(&branch.from) != island.contains(&branch.to))
            .map(|(_, branch)| if island.contains(&branch.from) { branch.to } else { branch.from })
            .collect();
        met.len() <= 1
    }

    /// The wires that join a pin to others, over splices and mated contacts, nearest first; each with its far end.
    fn wires_to(&self, pin: PinId) -> Vec<(WireId, PinId)> {
        let (mut wires, mut pins, mut next) = (Vec::new(), vec![pin], 0);
        while let Some(&here) = pins.get(next) {
            next += 1;
            let meet = |pins: &mut Vec<PinId>, pin| {
                if !pins.contains(&pin) {
                    pins.push(pin);
                }
            };
            for &wire in self.connectivity.wires_on(here) {
                let ends = self.solved.model.wire(wire).ends;
                let far = ends[usize::from(ends[0] == here)];
                if !wires.iter().any(|(known, _)| *known == wire) {
                    wires.push((wire, far));
                }
                meet(&mut pins, far);
            }
            self.connectivity.mates(here).into_iter().for_each(|mate| meet(&mut pins, mate));
        }
        wires
    }
}
