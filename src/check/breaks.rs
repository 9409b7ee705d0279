//! Grounds that may break.

use super::Context;
use super::metal::Metal;
use form::Place;
use model::{ElementId, ElementKind, PinId, WireId};
use solve::{BranchId, NodeId};
use std::collections::BTreeSet;

/// A ground that may break: a point, or a wire that leads to one.
pub struct Break {
    /// In words.
    pub name: String,
    /// What a finding is about.
    pub about: String,
    /// Where.
    pub place: Place,
    /// Its branch.
    pub branch: BranchId,
    /// What is then without ground: all that metal joins to this.
    pub left: NodeId,
    /// Whether it is a point and not a wire.
    pub is_point: bool,
    /// Whether what is then without ground meets the rest of the circuit at one node only: no current can go through it.
    pub is_dead_end: bool,
}

impl Context<'_> {
    /// Every ground point, and every wire that leads to one: but one that is the point's only wire, which is as if the
    /// point were lost.
    pub fn breaks(&self) -> Vec<Break> {
        let (model, assembly) = (self.model, &self.solved.assembly);
        let metal = Metal::of_wires(model, assembly);
        let (mut all, mut opened) = (Vec::new(), BTreeSet::new());
        for (i, element) in model.elements.iter().enumerate() {
            let ElementKind::GroundPoint { pin, .. } = element.kind else { continue };
            let part = model.part(element.part);
            let wires = self.wires_on(pin);
            let point = assembly.element(ElementId(i)).first().zip(assembly.pin(pin));
            all.extend(point.map(|(&branch, left)| Break {
                name: format!("ground point `{}`", part.name),
                about: part.name.to_string(),
                place: part.place,
                branch,
                left,
                is_point: true,
                is_dead_end: self.is_dead_end(&metal, left, branch),
            }));
            for (wire, far) in self.wires_to(pin) {
                if (wires.len() == 1 && wires[0] == wire) || !opened.insert(wire) {
                    continue;
                }
                all.extend(assembly.wire(wire).zip(assembly.pin(far)).map(|(branch, left)| Break {
                    name: self.wire_words(wire),
                    about: self.wire_words(wire),
                    place: model.wire(wire).place,
                    branch,
                    left,
                    is_point: false,
                    is_dead_end: self.is_dead_end(&metal, left, branch),
                }));
            }
        }
        all
    }

    /// Whether all that wires join to a node meets the rest of the circuit, but for this branch, at one node at most.
    fn is_dead_end(&self, wires: &Metal, left: NodeId, broken: BranchId) -> bool {
        let assembly = &self.solved.assembly;
        let island = wires.joined(assembly, self.solved.exploration.first(), left, broken);
        let others = assembly.circuit.branches.iter().enumerate().filter(|(i, _)| *i != broken.index());
        let met: BTreeSet<NodeId> = others
            .filter(|(_, branch)| island.contains(&branch.from) != island.contains(&branch.to))
            .map(|(_, branch)| if island.contains(&branch.from) { branch.to } else { branch.from })
            .collect();
        met.len() <= 1
    }

    /// The wires by which a pin is joined to others, over splices and mated contacts, the nearest first; each with its end
    /// that is further away.
    fn wires_to(&self, pin: PinId) -> Vec<(WireId, PinId)> {
        let (mut wires, mut pins, mut next) = (Vec::new(), vec![pin], 0);
        while let Some(&here) = pins.get(next) {
            next += 1;
            let meet = |pins: &mut Vec<PinId>, pin| {
                if !pins.contains(&pin) {
                    pins.push(pin);
                }
            };
            for &wire in self.wires_on(here) {
                let ends = self.model.wire(wire).ends;
                let far = ends[usize::from(ends[0] == here)];
                if !wires.iter().any(|(known, _)| *known == wire) {
                    wires.push((wire, far));
                }
                meet(&mut pins, far);
            }
            self.mates(here).into_iter().for_each(|mate| meet(&mut pins, mate));
        }
        wires
    }
}
