use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;

pub const RULE: Rule = Rule {
    name: "net/pin-unknown",
    severity: Severity::Error,
    explanation: include_str!("pin_unknown.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let finding = |loose: &model::LooseWire| {
        RULE.of_problem(loose.problem(model), loose.place).about(format!("wire {}", loose.id))
    };
    model.loose.iter().map(finding).collect()
}
