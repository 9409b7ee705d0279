use super::rear_late::{LAW, rear_finding};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::{Arrival, Rear};

pub const RULE: Rule = Rule {
    name: "time/rear-default",
    severity: Severity::Note,
    explanation: include_str!("rear_default.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let rear = facts.standing().rear.iter().filter_map(|rear| Some((rear, rear.other_default.as_ref()?)));
    rear.map(|(rear, other)| finding(facts, rear, other)).collect()
}

fn finding(facts: &Facts, rear: &Rear, other: &Arrival) -> Finding {
    let message =
        |picture: &str| format!("{picture} may be missing when backing starts; 49 CFR 571.111 S5.5.6 asks for it then");
    rear_finding(&RULE, facts.model, (rear, other), message)
        .hint(format!("put the rear view first, and let the driver change it; {LAW}"))
}
