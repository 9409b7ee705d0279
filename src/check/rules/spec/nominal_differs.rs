use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::ElementKind;

pub const RULE: Rule = Rule {
    name: "spec/nominal-differs",
    severity: Severity::Error,
    explanation: include_str!("nominal_differs.md"),
    finds: Finds::InHarness(find),
};

/// A battery's nominal voltage as a share of the job's. A 12 V lead-acid battery has 12.6 V at rest, about 14 V while
/// charging and 11.5 V when nearly empty (common practice, no source).
const LEAST: f64 = 0.9;
const GREATEST: f64 = 1.25;

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let mut findings = Vec::new();
    for element in &model.elements {
        let ElementKind::Battery { volts: [_, volts, _], .. } = element.kind else { continue };
        let (nominal, part) = (model.job.nominal, model.part(element.part));
        let share = volts.value() / nominal.value();
        if (LEAST..=GREATEST).contains(&share) {
            continue;
        }
        findings.push(
            RULE.finding(part.place, format!("`{}` has {volts}, but the job is for {nominal}", part.name))
                .about(part.name.as_str())
                .label("another system voltage")
                .also(model.job.place, format!("nominal: {nominal}"))
                .hint("correct the job's `nominal` or the supply's `volts`"),
        );
    }
    findings
}
