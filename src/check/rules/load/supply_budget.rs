use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "load/supply-budget",
    severity: Severity::Warning,
    explanation: include_str!("supply_budget.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    (0..context.model.elements.len()).filter_map(|i| of_battery(context, ElementId(i))).collect()
}

fn of_battery(context: &Context, id: ElementId) -> Option<Finding> {
    let model = context.model;
    let ElementKind::Battery { plus, figures, .. } = model.element(id).kind else { return None };
    let alternator = figures.alternator?;
    let branch = *context.solved.assembly.element(id).first()?;
    let peak = context.worst.amps(branch)?;
    if peak.value <= alternator {
        return None;
    }
    let part = model.part(model.element(id).part);
    let state = context.state_words(&peak.moment);
    let message =
        format!("the harness takes {} {state}, more than the {alternator} that the alternator gives", peak.value);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label("runs flat while driving")
        .limit("from the battery and the alternator", peak.value, alternator)
        .hint("let the great loads take turns, or fit a greater alternator; the vehicle needs its own share too");
    let finding = context.simplest(finding, &peak.moment, context.worst.amps_over(branch, alternator));
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    Some(match solution {
        Some(solution) => context.unless_short(finding, &solution, &context.way_over(&solution, plus)),
        None => finding,
    })
}
