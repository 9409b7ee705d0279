//! The shields of coaxial cables. A shield is the return of its picture, and so a second ground of the camera and of the
//! screen.

use super::Builder;
use crate::circuit::Law;
use crate::ids::NodeId;
use model::{Domain, Model, PartKind, PinId, ShieldEnd, conductor, has_shield, passes_shield};
use quantity::Ohms;
use std::collections::BTreeMap;

/// Least resistance between the shells of two plugs (typical).
const SHELLS: Ohms = Ohms::new(0.001);

/// Whether a shield goes on over a joint at this pin: at a part's own pin it does.
fn passes(model: &Model, pin: PinId) -> bool {
    model.part(model.pin(pin).part).kind != PartKind::Connector || passes_shield(model, pin)
}

impl Builder<'_> {
    /// Adds the shields behind all other branches.
    pub(super) fn shields(&mut self) {
        let model = self.model;
        let mut ends = BTreeMap::new();
        for id in model.wire_ids().filter(|id| has_shield(model, *id)) {
            let wire = model.wire(id);
            let [from, to] = wire.ends.map(|end| self.shield_node(&mut ends, end));
            let ohms = conductor::SHIELD_PER_METRE * wire.length.unwrap_or(model.limits.local_length).value();
            let law = Law::Conductor { ohms, copper: true };
            self.out.shields[id.0] =
                Some(self.out.circuit.branch(format!("shield of wire {}", wire.id), from, to, law));
        }
        // Terminals that are made for it pass the shields on beside their pictures.
        for joint in model.joints.iter().filter(|joint| model.pin(joint.pins[0]).domain == Domain::Video) {
            let alone = joint.pins.iter().any(|pin| matches!(model.shield_end(*pin), ShieldEnd::Alone(_)));
            if alone && joint.pins.iter().all(|pin| passes(model, *pin)) {
                let [from, to] = joint.pins.map(|pin| self.shield_node(&mut ends, pin));
                let ohms = joint.resistance.max(SHELLS);
                let branch = self.out.circuit.resistor("shields in each other", from, to, ohms);
                self.out.shield_contacts.push(branch);
            }
        }
    }

    fn shield_node(&mut self, ends: &mut BTreeMap<ShieldEnd, NodeId>, pin: PinId) -> NodeId {
        let end = self.model.shield_end(pin);
        if let ShieldEnd::Pin(pin) = end
            && let Some(node) = self.out.pins[pin.0]
        {
            return node;
        }
        *ends.entry(end).or_insert_with(|| {
            let node = self.out.circuit.node(format!("the shield at {}", self.model.pin_name(pin)));
            self.out.shield_spots.push((node, pin));
            node
        })
    }
}
