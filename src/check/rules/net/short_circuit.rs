use crate::evidence::{end_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::{CurrentPath, PathStep, Solution, Via};
use facts::Facts;
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "net/short-circuit",
    severity: Severity::Error,
    explanation: include_str!("short_circuit.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_battery(facts, ElementId(i))).collect()
}

/// A finding if most of a battery's current passes no consumer. Of the states with the fewest inputs away from rest, it
/// shows the one with the highest current.
fn of_battery(facts: &Facts, id: ElementId) -> Option<Finding> {
    let ElementKind::Battery { plus, .. } = facts.model.element(id).kind else { return None };
    let branch = *facts.solved.assembly.element(id).first()?;
    let mut peaks = facts.worst().amps_by(branch);
    let (peak, solution, way) = peaks.find_map(|peak| {
        let solution = facts.solution(&peak.moment)?;
        let way = facts.paths().from(&solution, plus);
        is_reported(facts, &solution, &way).then_some((peak, solution, way))
    })?;
    let most = facts.worst().amps(branch)?.value;
    let name = facts.model.pin_name(plus);
    let state = facts.names().moment(&peak.moment);
    let finding = RULE
        .finding(end_place(facts, plus), format!("`{name}` is shorted to ground {state}: {} flows", peak.value))
        .about(name.as_str())
        .label("the short starts here")
        .value("short-circuit current", peak.value)
        .hint("follow the path to the wire that connects it to ground, and move that wire to the right pin");
    let finding = match most.to_string() == peak.value.to_string() {
        true => finding,
        false => finding.value("highest in any state", most),
    };
    let (finding, _) = shown_at(facts, finding, &peak.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}

/// Whether a path is a short. net/coil-polarity reports the diode across a coil.
fn is_reported(facts: &Facts, solution: &Solution, way: &CurrentPath) -> bool {
    let of_coil = |step: &PathStep| match step.via {
        Via::Element(id) => matches!(facts.model.element(id).kind, ElementKind::Coil(_)),
        _ => false,
    };
    facts.paths().branches().is_short(solution, way) && !way.steps.iter().any(of_coil)
}
