use crate::evidence::{part_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::Acts;
use circuit::Corner;
use facts::{Facts, LeftBehind, Moment};
use model::{ElementId, ElementKind, SignalId, SignalKind};

pub const RULE: Rule = Rule {
    name: "logic/left-behind",
    severity: Severity::Note,
    explanation: include_str!("left_behind.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.left_behind().iter().filter_map(|left| finding(facts, left)).collect()
}

fn finding(facts: &Facts, left: &LeftBehind) -> Option<Finding> {
    let signal = &facts.model.signals[left.signal.0];
    let loss = if left.survives_power_loss { "also through a power loss" } else { "until a power loss" };
    let message = format!("`{}` stays set with every input at rest, {loss}", signal.name);
    let mut finding = RULE
        .finding(part_place(facts, signal.part), message)
        .about(facts.model.part(signal.part).name.as_str())
        .label("stays set")
        .hint("check that the next drive may start like this; if not, reset it with the key or at power-up");
    if let Some(words) = facts.names().way_to(&facts.solved.exploration, &left.state) {
        finding = finding.value("set", words);
    }
    let (finding, solution) = shown_at(facts, finding, &Moment::new(left.state.clone(), Corner::NOMINAL));
    let solution = solution?;
    let points = waypoints(facts, &solution, &facts.paths().of_part(&solution, signal.part));
    Some(if points.is_empty() { with_what_set_it(facts, finding, left.signal) } else { finding.path(points) })
}

/// If nothing flows through it at rest: the current of its coil at the moment of its highest voltage.
fn with_what_set_it(facts: &Facts, finding: Finding, id: SignalId) -> Finding {
    let SignalKind::Relay { coils, .. } = &facts.model.signals[id.0].kind else { return finding };
    let sets = |coil: &&ElementId| match &facts.model.element(**coil).kind {
        ElementKind::Coil(coil) => coil.acts != Acts::Resets,
        _ => false,
    };
    let peak = coils.iter().find(sets).and_then(|coil| Some((*coil, facts.worst().coil(Corner::NOMINAL, *coil)?)));
    let Some((coil, peak)) = peak else { return finding };
    let Some(solution) = facts.solution(&peak.moment) else { return finding };
    let path = facts.paths().through_coil(&solution, coil);
    finding.value("voltage at its coil", peak.value).path(waypoints(facts, &solution, &path))
}
