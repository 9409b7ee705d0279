use crate::evidence::{shown_at, waypoints, with_simplest};
use crate::{Finding, Finds, Rule, Severity};
use facts::{Facts, figures};
use model::WireId;

pub const RULE: Rule = Rule {
    name: "load/shield-loaded",
    severity: Severity::Error,
    explanation: include_str!("shield_loaded.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.wire_ids().filter_map(|wire| of_cable(facts, wire)).collect()
}

fn of_cable(facts: &Facts, id: WireId) -> Option<Finding> {
    let wire = facts.model.wire(id);
    let branch = facts.solved.assembly.shield(id)?;
    let (peak, limit) = (facts.worst().amps(branch)?, figures::shield_carries());
    if peak.value <= limit {
        return None;
    }
    let state = facts.names().moment(&peak.moment);
    let message = format!("the shield of wire {} carries {} {state}, limit {limit}", wire.id, peak.value);
    let finding = RULE
        .finding(wire.place, message)
        .about(facts.names().wire(id))
        .label(format!("its shield may carry {limit}"))
        .limit("through the shield", peak.value, limit)
        .hint(
            "use a thicker or shorter ground wire at the part whose current returns here, or put a picture isolator in the \
             cable",
        );
    let finding = with_simplest(facts, finding, &peak.moment, facts.worst().amps_over(branch, limit));
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    let Some(solution) = solution else { return Some(finding) };
    let path = facts.over_shield(&solution, id);
    Some(finding.path(waypoints(facts, &solution, &path)))
}
