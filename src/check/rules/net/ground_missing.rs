use crate::evidence::shown_at;
use crate::{Finding, Finds, Rule, Severity};
use facts::consumers::Consumer;
use facts::consumers::is_spare;
use facts::consumers::is_wired;
use facts::walk::Towards;
use facts::{Facts, Peak, figures};
use model::{PartId, PinId, WireId};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "net/ground-missing",
    severity: Severity::Error,
    explanation: include_str!("ground_missing.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.part_ids().filter_map(|part| of_part(facts, part)).collect()
}

fn of_part(facts: &Facts, id: PartId) -> Option<Finding> {
    let part = facts.model.part(id);
    if !is_wired(facts.connectivity(), id) {
        return None; // net/part-unpowered reports a part without wires.
    }
    let missing = |consumer: &Consumer| {
        let ground = consumer.ground?;
        // net/part-unpowered reports swapped wires.
        if consumer.is_exchanged(facts.connectivity()) {
            return None;
        }
        let grounded = facts.connectivity().is_grounded(ground)
            || consumer.either_way && consumer.feed.is_some_and(|feed| facts.connectivity().is_grounded(feed));
        let not_ours = part.existing && !facts.connectivity().is_joined(ground);
        (!grounded && !is_spare(facts.connectivity(), ground) && !not_ours).then_some(ground)
    };
    let pin = Consumer::of_part(facts.connectivity(), id).iter().filter_map(missing).min()?;
    if let Some((cable, peak)) = facts.ground_by_shield(id) {
        return Some(by_shield(facts, pin, cable, peak));
    }
    Some(
        RULE.finding(part.place, format!("`{}` has no ground: {}", part.name, why(facts, pin)))
            .about(part.name.as_str())
            .label(format!("`{}` has no ground", facts.model.pin(pin).name))
            .hint(format!("connect `{}` to a ground point", facts.model.pin_name(pin))),
    )
}

/// A part that works, since the shield of its cable is its ground.
fn by_shield(facts: &Facts, pin: PinId, cable: WireId, peak: &Peak<Amps>) -> Finding {
    let part = facts.model.part(facts.model.pin(pin).part);
    let (cable, limit) = (facts.names().wire(cable), figures::shield_carries());
    let message = format!("`{}` has no ground of its own: the shield of {cable} carries its {}", part.name, peak.value);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("no wire ends on `{}`", facts.model.pin(pin).name))
        .limit("through the shield", peak.value, limit)
        .hint(format!("connect `{}` to a ground point; a shield is no ground", facts.model.pin_name(pin)));
    shown_at(facts, finding, &peak.moment).0
}

/// Where the path to ground ends.
fn why(facts: &Facts, pin: PinId) -> String {
    let name = facts.model.pin_name(pin);
    match facts.connectivity().reached(pin, Towards::Ground).last() {
        Some(&last) if last != pin => format!("the path from `{name}` ends at `{}`", facts.model.pin_name(last)),
        _ => format!("no wire ends on `{name}`"),
    }
}
