use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::ElementKind;

pub const RULE: Rule = Rule {
    name: "spec/nominal-differs",
    severity: Severity::Error,
    explanation: include_str!("nominal_differs.md"),
    finds: Finds::InHarness(find),
};

/// A battery's nominal voltage by the job's: a lead-acid battery of "12 V" has 12.6 V at rest and some 14 V while it is
/// charged, and one that is nearly empty 11.5 V (common practice, no source).
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
            RULE.finding(part.place, format!("`{}` has {volts}, and the job is one of {nominal}", part.name))
                .about(part.name.as_str())
                .label("another system")
                .also(model.job.place, format!("nominal: {nominal}"))
                .hint("mend `nominal` of the job, or the supply's `volts`"),
        );
    }
    findings
}
