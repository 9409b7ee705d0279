use crate::evidence::{shown_at, unless_short, with_simplest};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "load/supply-budget",
    severity: Severity::Warning,
    explanation: include_str!("supply_budget.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.elements.len()).filter_map(|i| of_battery(facts, ElementId(i))).collect()
}

fn of_battery(facts: &Facts, id: ElementId) -> Option<Finding> {
    let model = facts.model;
    let ElementKind::Battery { plus, figures, .. } = model.element(id).kind else { return None };
    let alternator = figures.alternator?;
    let branch = *facts.solved.assembly.element(id).first()?;
    let peak = facts.worst().amps(branch)?;
    if peak.value <= alternator {
        return None;
    }
    let part = model.part(model.element(id).part);
    let state = facts.names().moment(&peak.moment);
    let message = format!("the harness draws {} {state}, limit {alternator} from the alternator", peak.value);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label("drained while driving")
        .limit("from the battery and the alternator", peak.value, alternator)
        .hint(
            "run the large loads one at a time, or fit a larger alternator; the vehicle's own loads need current too",
        );
    let finding = with_simplest(facts, finding, &peak.moment, facts.worst().amps_over(branch, alternator));
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    Some(match solution {
        Some(solution) => unless_short(facts, finding, &solution, &facts.paths().over(&solution, plus)),
        None => finding,
    })
}
