use crate::{Context, Finding, Finds, Rule, Severity};

pub const RULE: Rule = Rule {
    name: "net/pin-unknown",
    severity: Severity::Error,
    explanation: include_str!("pin_unknown.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let model = context.model;
    let finding = |loose: &model::LooseWire| {
        RULE.of_problem(loose.problem(model), loose.place).about(format!("wire {}", loose.id))
    };
    model.loose.iter().map(finding).collect()
}
