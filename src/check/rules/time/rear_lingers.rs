use super::rear_late::{LAW, rear_finding};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::{Arrival, LINGER, Rear};

pub const RULE: Rule = Rule {
    name: "time/rear-lingers",
    severity: Severity::Note,
    explanation: include_str!("rear_lingers.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let rear = facts.standing().rear.iter().filter_map(|rear| Some((rear, rear.linger.worst.as_ref()?)));
    rear.filter(|(_, worst)| worst.took.is_none_or(|took| took > LINGER))
        .map(|(rear, worst)| finding(facts, rear, worst))
        .collect()
}

fn finding(facts: &Facts, rear: &Rear, worst: &Arrival) -> Finding {
    let (stays, hint) = match worst.took {
        Some(took) => (
            format!("may stay for {} after {}", took.seconds(), worst.step),
            "shorten the hold of the rear trigger or of the camera's power",
        ),
        None => (
            format!("stays for good after {}", worst.step),
            "find what keeps its trigger on, or which line of the screen's `shows` wins",
        ),
    };
    let message = |picture: &str| format!("{picture} {stays}, limit {} by 49 CFR 571.111 S5.5.4", LINGER.seconds());
    rear_finding(&RULE, facts.model, (rear, worst), message)
        .limit("stays for", worst.took.map_or("no end".into(), |took| took.seconds().to_string()), LINGER.seconds())
        .hint(format!("{hint}; {LAW}"))
}
