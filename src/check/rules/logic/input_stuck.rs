use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::inputs::can_leave_rest;
use model::{Input, InputId};

pub const RULE: Rule = Rule {
    name: "logic/input-stuck",
    severity: Severity::Error,
    explanation: include_str!("input_stuck.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let stuck = (0..model.inputs.len()).map(InputId).filter(|id| !can_leave_rest(model, *id));
    stuck.map(|id| finding(&model.inputs[id.0])).collect()
}

fn finding(input: &Input) -> Finding {
    let (name, rest) = (&input.name, &input.positions[0]);
    RULE.finding(input.place, format!("`{name}` can never leave `{rest}`: its `needs` never hold"))
        .about(name.as_str())
        .label("no state with it was solved")
        .hint("correct its `needs`, or the `needs` and `excludes` of the inputs that they name")
}
