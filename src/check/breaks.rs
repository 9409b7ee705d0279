//! Grounds that may break.

use super::Context;
use crate::form::Place;
use crate::model::{ElementId, ElementKind};
use crate::solve::{BranchId, NodeId};

/// A ground that may break: a point, or one of several wires to it.
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
}

impl Context<'_> {
    /// Every ground point, and every one of several wires to one.
    pub fn breaks(&self) -> Vec<Break> {
        let (model, assembly) = (self.model, &self.solved.assembly);
        let mut all = Vec::new();
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
            }));
            for &wire in wires.iter().filter(|_| wires.len() > 1) {
                let ends = model.wire(wire).ends;
                let far = ends[usize::from(ends[0] == pin)];
                all.extend(assembly.wire(wire).zip(assembly.pin(far)).map(|(branch, left)| Break {
                    name: self.wire_words(wire),
                    about: self.wire_words(wire),
                    place: model.wire(wire).place,
                    branch,
                    left,
                    is_point: false,
                }));
            }
        }
        all
    }
}
