use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{Domain, Model, PinRole, WireId, is_terminal};
use quantity::Metres;
use spec::WireMake;
use states::listed;

pub const RULE: Rule = Rule {
    name: "net/picture-unshielded",
    severity: Severity::Warning,
    explanation: include_str!("picture_unshielded.md"),
    finds: Finds::InHarness(find),
};

/// Up to this length in metres a single wire does a picture no harm: the tails of a connector (common practice, no source).
const TAIL: f64 = 0.3;

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let is_plain = |id: &WireId| {
        let wire = model.wire(*id);
        let is_short = wire.length.is_some_and(|length| length <= Metres::new(TAIL));
        wire.domain == Domain::Video && wire.make == WireMake::Single && !is_short && !is_mixed(facts, *id)
    };
    let mut nets: Vec<(usize, Vec<WireId>)> = Vec::new();
    for id in model.wire_ids().filter(is_plain) {
        let net = facts.nets().of(model.wire(id).ends[0]);
        match nets.iter_mut().find(|(other, _)| *other == net) {
            Some((_, wires)) => wires.push(id),
            None => nets.push((net, vec![id])),
        }
    }
    nets.into_iter().map(|(_, wires)| finding(facts, &wires)).collect()
}

/// Whether a picture meets something else on a wire, which net/mixed-kinds reports.
fn is_mixed(facts: &Facts, wire: WireId) -> bool {
    facts.mixed_kinds().iter().any(|mixed| mixed.wires.contains(&wire))
}

fn finding(facts: &Facts, wires: &[WireId]) -> Finding {
    let model = facts.model;
    let first = model.wire(wires[0]);
    let what =
        source_on(facts, wires[0]).map_or_else(|| "a picture".to_string(), |pin| format!("the picture of `{pin}`"));
    let ids: Vec<String> = wires.iter().map(|id| model.wire(*id).id.to_string()).collect();
    let (ids, have) = match ids.len() {
        1 => (format!("wire {}", ids[0]), "has"),
        _ => (format!("wires {}", listed(&ids).unwrap_or_default()), "have"),
    };
    let finding = RULE
        .finding(first.place, format!("{what} runs over {ids}, which {have} no shield"))
        .about(facts.names().wire(wires[0]))
        .label("a single wire")
        .hint(
            "run 75 Ω coaxial cable (`make: coax`), its shield on the ground of camera and screen; if this is a conductor of a \
             ready-made lead, say `make: lead`",
        );
    let others = wires[1..].iter().map(|id| model.wire(*id).place);
    others.fold(finding, |finding, place| finding.also(place, "has no shield either"))
}

/// The output that sends the picture on a wire.
fn source_on(facts: &Facts, wire: WireId) -> Option<String> {
    let model: &Model = facts.model;
    let sends = |pin: &&model::PinId| {
        let pin = **pin;
        is_terminal(model, pin) && model.pin(pin).role == PinRole::Output && model.pin(pin).domain == Domain::Video
    };
    facts.nets().with(model.wire(wire).ends[0]).iter().find(sends).map(|pin| model.pin_name(*pin))
}
