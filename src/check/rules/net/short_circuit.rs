use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "net/short-circuit",
    severity: Severity::Error,
    explanation: include_str!("short_circuit.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    (0..context.model.elements.len()).filter_map(|i| of_battery(context, ElementId(i))).collect()
}

/// A finding if the greatest part of a battery's greatest current meets nothing that takes it.
fn of_battery(context: &Context, id: ElementId) -> Option<Finding> {
    let ElementKind::Battery { plus, .. } = context.model.element(id).kind else { return None };
    let peak = context.worst.amps(*context.solved.assembly.element(id).first()?)?;
    let solution = context.solution(&peak.moment)?;
    let way = context.way_from(&solution, plus);
    let takes = |branch: &crate::solve::BranchId| takes(context, *branch);
    // It ends at the battery's negative.
    if way.steps.last()?.pin.is_some() || context.branches_of(&solution, &way).iter().any(takes) {
        return None;
    }
    let name = context.model.pin_name(plus);
    let state = context.state_words(&peak.moment);
    let finding = RULE
        .finding(context.end_place(plus), format!("`{name}` is shorted to ground {state}: {} flow", peak.value))
        .about(name.as_str())
        .label("the short begins here")
        .value("short-circuit current", peak.value)
        .hint("follow the way below to the wire that joins it to ground, and put it where it belongs");
    let (finding, _) = context.shown_at(finding, &peak.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}

/// Whether a branch is something that takes current rather than lets it pass.
fn takes(context: &Context, branch: crate::solve::BranchId) -> bool {
    let Some(id) = context.element_of(branch) else { return false };
    let first = context.solved.assembly.element(id).first() == Some(&branch);
    match &context.model.element(id).kind {
        ElementKind::Fuse { .. }
        | ElementKind::Contact { .. }
        | ElementKind::Throw { .. }
        | ElementKind::Derived { .. }
        | ElementKind::GroundPoint { .. } => false,
        ElementKind::Feed(_) | ElementKind::Output { .. } | ElementKind::Diode { .. } => !first,
        // A joint is a resistor of some milliohms.
        ElementKind::Resistor { resistance, .. } => resistance.value() > 0.1,
        _ => true,
    }
}
