use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind};
use solve::{CurrentPath, PathStep, Solution, Via};

pub const RULE: Rule = Rule {
    name: "net/short-circuit",
    severity: Severity::Error,
    explanation: include_str!("short_circuit.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    (0..context.model.elements.len()).filter_map(|i| of_battery(context, ElementId(i))).collect()
}

/// A finding if the greatest part of a battery's current meets nothing that takes it: of the states with the fewest inputs
/// away from rest where that is so, the one with the greatest current.
fn of_battery(context: &Context, id: ElementId) -> Option<Finding> {
    let ElementKind::Battery { plus, .. } = context.model.element(id).kind else { return None };
    let branch = *context.solved.assembly.element(id).first()?;
    let mut peaks = context.worst.amps_by(branch);
    let (peak, solution, way) = peaks.find_map(|peak| {
        let solution = context.solution(&peak.moment)?;
        let way = context.way_from(&solution, plus);
        is_told(context, &solution, &way).then_some((peak, solution, way))
    })?;
    let most = context.worst.amps(branch)?.value;
    let name = context.model.pin_name(plus);
    let state = context.state_words(&peak.moment);
    let finding = RULE
        .finding(context.end_place(plus), format!("`{name}` is shorted to ground {state}: {} flow", peak.value))
        .about(name.as_str())
        .label("the short begins here")
        .value("short-circuit current", peak.value)
        .value("greatest in any state", most)
        .hint("follow the way to the wire that joins it to ground, and put it where it belongs");
    let (finding, _) = context.shown_at(finding, &peak.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}

/// Whether a way is a short's. The diode across a coil is told by net/coil-polarity.
fn is_told(context: &Context, solution: &Solution, way: &CurrentPath) -> bool {
    let of_coil = |step: &PathStep| match step.via {
        Via::Element(id) => matches!(context.model.element(id).kind, ElementKind::Coil(_)),
        _ => false,
    };
    context.is_short(solution, way) && !way.steps.iter().any(of_coil)
}
