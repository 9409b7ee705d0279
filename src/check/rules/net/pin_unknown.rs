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
        let finding = RULE.of_problem(loose.problem(model), loose.place).about(format!("wire {}", loose.id));
        // Any pin of the part that lacks it.
        finding.at_pins(model.part(loose.part).pins.first().copied())
    };
    model.loose.iter().map(finding).collect()
}
