use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{PartKind, PinId, ShieldEnd, WireId, has_shield, passes_shield};

pub const RULE: Rule = Rule {
    name: "net/shield-open",
    severity: Severity::Warning,
    explanation: include_str!("shield_open.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let cables = facts.model.wire_ids().filter(|wire| has_shield(facts.model, *wire));
    let ends = cables.flat_map(|wire| [0, 1].map(|end| (wire, end)));
    let open: Vec<(WireId, usize)> =
        ends.filter(|(wire, end)| is_open(facts, facts.model.wire(*wire).ends[*end])).collect();
    let pin = |(wire, end): (WireId, usize)| facts.model.wire(wire).ends[end];
    let mut findings: Vec<(PinId, Finding)> = Vec::new();
    for &one in &open {
        // The cables on both halves of a connector share one finding.
        let mates = facts.connectivity().mates(pin(one));
        let place = facts.model.wire(one.0).end_places[one.1];
        match findings.iter_mut().find(|(first, _)| mates.contains(first)) {
            Some((_, finding)) => finding.also.push((place, "and the shield of this cable".to_string())),
            None => findings.push((pin(one), finding(facts, one.0, one.1))),
        }
    }
    findings.into_iter().map(|(_, finding)| finding).collect()
}

/// Whether the shield of a cable ends at the connector in which its core has a cavity.
fn is_open(facts: &Facts, pin: PinId) -> bool {
    let model = facts.model;
    let is_connector = model.part(model.pin(pin).part).kind == PartKind::Connector;
    is_connector && matches!(model.shield_end(pin), ShieldEnd::Alone(_)) && !passes_shield(model, pin)
}

fn finding(facts: &Facts, id: WireId, end: usize) -> Finding {
    let (model, wire) = (facts.model, facts.model.wire(id));
    let pin = model.pin_name(wire.ends[end]);
    let part = model.part(model.pin(wire.ends[end]).part);
    let terminal = part.form.terminal.as_ref().map_or("its terminal", |terminal| terminal.title.0.as_str());
    RULE.finding(
        wire.end_places[end],
        format!("the shield of wire {} ends at `{pin}`: no cavity of `{}` carries it", wire.id, part.name),
    )
    .about(facts.names().wire(id))
    .at_pins([wire.ends[end]])
    .label(format!("{terminal}: for the core alone"))
    .hint("run the picture through a coaxial connector, or through a connector with a cavity for the camera's ground")
}
