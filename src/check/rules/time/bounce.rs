use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::Bounce;

pub const RULE: Rule = Rule {
    name: "time/bounce",
    severity: Severity::Warning,
    explanation: include_str!("bounce.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.standing().bounces.iter().map(|bounce| finding(facts, bounce)).collect()
}

fn finding(facts: &Facts, bounce: &Bounce) -> Finding {
    let input = &facts.model.inputs[bounce.input.0];
    let otherwise = bounce.otherwise.join(", ");
    RULE.finding(
        input.place,
        format!("if the contacts of {} bounce, it ends with {otherwise}; with clean contacts it doesn't", input.name),
    )
    .about(input.name.as_str())
    .label("may bounce")
    .shown_in(bounce.state.clone(), "nominal supply")
    .value("longest bounce", bounce.bounce.seconds())
    .value("after", &bounce.step)
    .timeline(facts.model, &bounce.evidence)
    .hint(format!(
        "use a latch with set and reset inputs, or a module that ignores a trigger within {} of the one before (`debounce`)",
        bounce.bounce.seconds()
    ))
}
