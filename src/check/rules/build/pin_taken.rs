use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{PartKind, PinId};

pub const RULE: Rule = Rule {
    name: "build/pin-taken",
    severity: Severity::Error,
    explanation: include_str!("pin_taken.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.pin_ids().filter_map(|pin| of_pin(facts, pin)).collect()
}

/// A part's pin that a connector plugs onto and that has a wire as well.
fn of_pin(facts: &Facts, pin: PinId) -> Option<Finding> {
    let model = facts.model;
    let is = |pin: PinId, kind| model.part(model.pin(pin).part).kind == kind;
    let wire = *facts.connectivity().wires_on(pin).first().filter(|_| is(pin, PartKind::Device))?;
    let cavity = facts.connectivity().mates(pin).into_iter().find(|mate| is(*mate, PartKind::Connector))?;
    let connector = model.part(model.pin(cavity).part);
    let (wire, name, cavity) = (model.wire(wire), model.pin_name(pin), model.pin_name(cavity));
    Some(
        RULE.finding(
            wire.end_places[usize::from(wire.ends[0] != pin)],
            format!("wire {} ends on `{name}`, which plug `{}` covers", wire.id, connector.name),
        )
        .about(name)
        .label("covered by a plug")
        .also(connector.place, "plugs onto it")
        .hint(format!("end the wire in the cavity that mates with this pin: `{cavity}`")),
    )
}
