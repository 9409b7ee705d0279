use crate::{Finding, Finds, Rule, Severity, rule, rules};
use facts::Facts;
use form::place::suggestion;

pub const RULE: Rule = Rule {
    name: "spec/accept-rule-unknown",
    severity: Severity::Error,
    explanation: include_str!("accept_rule_unknown.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let unknown = facts.model.accepted.iter().filter(|accepted| rule(&accepted.rule).is_none());
    unknown
        .map(|accepted| {
            let names: Vec<&str> = rules().map(|rule| rule.name).collect();
            let hint = suggestion(&accepted.rule, names, "rules");
            let hint = if hint.starts_with("did") { hint } else { "`loomwright explain` lists every rule".into() };
            RULE.finding(accepted.place, format!("`{}` is not a rule, so this entry accepts nothing", accepted.rule))
                .about(format!("accept {}", accepted.rule))
                .label("no such rule")
                .hint(hint)
        })
        .collect()
}
