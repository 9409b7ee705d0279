use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::consumers::{Consumer, is_wired};
use model::{PartId, PartKind};

pub const RULE: Rule = Rule {
    name: "net/unwired",
    severity: Severity::Warning,
    explanation: include_str!("unwired.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.part_ids().filter_map(|part| of_part(facts, part)).collect()
}

fn of_part(facts: &Facts, id: PartId) -> Option<Finding> {
    let (model, connectivity) = (facts.model, facts.connectivity());
    let part = model.part(id);
    // Points of the vehicle are there whether or not the harness uses them.
    let ours = matches!(part.kind, PartKind::Device | PartKind::Splice | PartKind::Connector) && !part.existing;
    // net/part-unpowered and logic/input-unused report these.
    let reported = Consumer::of_part(connectivity, id).iter().any(|consumer| consumer.feed.is_some())
        || model.inputs.iter().any(|input| input.switch == Some(id));
    // A connector takes part in the harness through the half that is plugged onto it.
    let mates = part.pins.iter().flat_map(|pin| connectivity.mates(*pin)).map(|mate| model.pin(mate).part);
    let wired = is_wired(connectivity, id) || mates.into_iter().any(|mate| is_wired(connectivity, mate));
    if !ours || reported || wired {
        return None;
    }
    let message = format!("`{}` has no wire, but it is drawn, listed and ordered", part.name);
    Some(
        RULE.finding(part.place, message)
            .about(part.name.as_str())
            .label("no wire ends here")
            .hint(format!("wire it, or remove `{}` from the spec; accept a spare part with its reason", part.name)),
    )
}
