use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use form::Colour;
use model::{PartId, PartKind, PinId, WireId};

pub const RULE: Rule = Rule {
    name: "build/colour-twice",
    severity: Severity::Warning,
    explanation: include_str!("colour_twice.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let connectors = model.part_ids().filter(|&part| model.part(part).kind == PartKind::Connector);
    connectors.flat_map(|part| of_connector(facts, part)).collect()
}

fn of_connector(facts: &Facts, connector: PartId) -> Vec<Finding> {
    let model = facts.model;
    let mut met: Vec<(Colour, PinId, WireId)> = Vec::new();
    let mut findings = Vec::new();
    for &pin in &model.part(connector).pins {
        for &id in facts.connectivity().wires_on(pin) {
            let wire = model.wire(id);
            let Some(colour) = wire.colour else { continue };
            // Swapping two wires of one net changes nothing.
            let twin = met.iter().find(|(c, other, _)| *c == colour && facts.nets().of(*other) != facts.nets().of(pin));
            if let Some((_, other, first)) = twin {
                let first = model.wire(*first);
                let (here, there) = (model.pin_name(pin), model.pin_name(*other));
                let message = format!("wires {} and {} are both {colour} in `{there}` and `{here}`", first.id, wire.id);
                findings.push(
                    RULE.finding(wire.colour_place.unwrap_or(wire.place), message)
                        .about(format!("wire {}", wire.id))
                        .label("the same colour")
                        .also(first.colour_place.unwrap_or(first.place), "first here")
                        .hint("give one of them another colour or a tracer"),
                );
            }
            met.push((colour, pin, id));
        }
    }
    findings
}
