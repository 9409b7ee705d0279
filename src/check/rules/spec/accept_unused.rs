use crate::{Finding, Finds, Report, Rule, Severity, rule};
use model::Model;

pub const RULE: Rule = Rule {
    name: "spec/accept-unused",
    severity: Severity::Note,
    explanation: include_str!("accept_unused.md"),
    finds: Finds::InReport(find),
};

fn find(model: &Model, report: &Report) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (line, accepted) in model.accepted.iter().enumerate() {
        let used = report.accepted.iter().any(|(_, by)| *by == line) || report.exceeded.contains(&line);
        if used || rule(&accepted.rule).is_none() {
            continue;
        }
        let same_rule = report.findings.iter().filter(|finding| finding.rule == accepted.rule);
        let mut others: Vec<&str> = same_rule.map(|finding| finding.about.as_str()).collect();
        others.sort_unstable();
        others.dedup();
        let hint = match others.is_empty() {
            // A worse fault can keep a rule from asking at all.
            true if report.findings.iter().any(|finding| finding.severity == Severity::Error) => {
                "repair the errors first: they may hide what it accepts; if it stays unused, remove the entry"
                    .to_string()
            }
            true => "remove the entry: its cause is repaired".to_string(),
            false if others.len() == 1 => format!("this rule reports {}: name that, or remove the entry", others[0]),
            false => format!("this rule reports {}: name one of these, or remove the entry", others.join(", ")),
        };
        findings.push(
            RULE.finding(accepted.place, format!("{} reports nothing about {}", accepted.rule, accepted.on))
                .about(format!("accept {}", accepted.rule))
                .label("accepts nothing")
                .hint(hint),
        );
    }
    findings
}
