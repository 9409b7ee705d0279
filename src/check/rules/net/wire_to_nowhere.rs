use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::consumers::{Consumer, is_wired};
use form::Place;
use model::{Domain, ElementKind, PartId, PartKind, PinId, PinRole, WireId, has_shield};

pub const RULE: Rule = Rule {
    name: "net/wire-to-nowhere",
    severity: Severity::Warning,
    explanation: include_str!("wire_to_nowhere.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    // What has no feed says itself that a wire is missing behind a fuse.
    let all_fed = || facts.model.part_ids().all(|part| !is_unfed(facts, part));
    for id in facts.model.wire_ids() {
        let wire = facts.model.wire(id);
        for (end, place) in wire.ends.into_iter().zip(wire.end_places) {
            if goes_on(facts, end, Some(id), &mut Vec::new()) {
                findings.extend(ends_at_fuse(facts, id, end, place).filter(|_| all_fed()));
                continue;
            }
            let pin = facts.model.pin_name(end);
            findings.push(
                RULE.finding(place, format!("wire {} ends at `{pin}`, where nothing else is connected", wire.id))
                    .about(format!("wire {}", wire.id))
                    .label("nothing else is connected here")
                    .hint("add the missing connection, or remove the wire; accept a spare wire with its reason"),
            );
        }
    }
    findings
}

/// Whether a part that our wires lead to lacks a feed.
fn is_unfed(facts: &Facts, part: PartId) -> bool {
    let feeds = Consumer::of_part(facts.connectivity(), part).into_iter().filter_map(|consumer| consumer.feed);
    let feeds: Vec<PinId> = feeds.collect();
    is_wired(facts.connectivity(), part) && feeds.into_iter().any(|feed| !facts.connectivity().is_fed(feed))
}

/// A wire on one end of a fuse whose other end has none: the fuse protects nothing.
fn ends_at_fuse(facts: &Facts, id: WireId, end: PinId, place: Place) -> Option<Finding> {
    let model = facts.model;
    let elements = &model.part(model.pin(end).part).elements;
    let other = elements.iter().find_map(|id| match model.element(*id).kind {
        ElementKind::Fuse { between: [a, b], .. } if a == end => Some(b),
        ElementKind::Fuse { between: [a, b], .. } if b == end => Some(a),
        _ => None,
    })?;
    let (wire, open) = (facts.names().wire(id), model.pin_name(other));
    let finding = RULE
        .finding(
            place,
            format!("{wire} ends at `{}`, and no wire is on `{open}`: the fuse protects nothing", model.pin_name(end)),
        )
        .about(wire)
        .label("the other end of the fuse is open")
        .hint(format!(
            "compare with the plan: run what the fuse should protect from `{open}`, or leave out the fuse and its wire"
        ));
    (!facts.connectivity().is_joined(other)).then_some(finding)
}

/// Whether a pin connects the wire `by` to something else: inside its part, another wire, or beyond its mate.
fn goes_on(facts: &Facts, pin: PinId, by: Option<WireId>, seen: &mut Vec<PinId>) -> bool {
    seen.push(pin);
    let this = facts.model.pin(pin);
    let part = facts.model.part(this.part);
    let used = match part.kind {
        PartKind::Supply | PartKind::Feed | PartKind::Ground => true,
        // A trailer socket without its plug is where the harness ends on purpose.
        _ if facts.connectivity().is_open_socket(pin) => true,
        PartKind::Connector => carries_shield(facts, pin),
        PartKind::Splice => false,
        PartKind::Device => {
            facts.connectivity().has_inside(pin)
                || this.role != PinRole::Through
                || matches!(this.domain, Domain::Video | Domain::Audio | Domain::Data)
        }
    };
    if used || facts.connectivity().wires_on(pin).iter().any(|&other| Some(other) != by) {
        return true;
    }
    facts.connectivity().mates(pin).into_iter().any(|mate| !seen.contains(&mate) && goes_on(facts, mate, None, seen))
}

/// Whether the shield of a coaxial cable goes through a connector on this cavity.
fn carries_shield(facts: &Facts, cavity: PinId) -> bool {
    let model = facts.model;
    let coax = |pin: &PinId| facts.connectivity().wires_on(*pin).iter().any(|wire| has_shield(model, *wire));
    let mut cores = model.part(model.pin(cavity).part).pins.iter().filter(|pin| coax(pin));
    cores.any(|core| model.shield_cavity(*core) == Some(cavity))
}
