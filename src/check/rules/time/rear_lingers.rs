use super::rear_late::{LAW, rear_finding};
use crate::{Context, Finding, Finds, Rule, Severity};
use replay::standing::{Arrival, LINGER, Rear};

pub const RULE: Rule = Rule {
    name: "time/rear-lingers",
    severity: Severity::Note,
    explanation: include_str!("rear_lingers.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let rear = context.times.standing.rear.iter().filter_map(|rear| Some((rear, rear.linger.worst.as_ref()?)));
    rear.filter(|(_, worst)| worst.took.is_none_or(|took| took > LINGER))
        .map(|(rear, worst)| finding(context, rear, worst))
        .collect()
}

fn finding(context: &Context, rear: &Rear, worst: &Arrival) -> Finding {
    let stays = match worst.took {
        Some(took) => format!("may be seen for {took} after {}", worst.step),
        None => format!("stays after {}", worst.step),
    };
    let message = |picture: &str| format!("{picture} {stays}; 49 CFR 571.111 S5.5.4 lets it go when backing has ended");
    rear_finding(&RULE, context.model, (rear, worst), message)
        .limit("seen for", worst.took.map_or("no end".into(), |took| took.to_string()), LINGER)
        .hint(format!("shorten what holds the rear trigger, or the camera's power, after reverse; {LAW}"))
}
