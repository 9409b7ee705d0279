use super::late::MISSING;
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::Model;
use replay::standing::{Arrival, RESPONSE, Rear, picture_words};

pub const RULE: Rule = Rule {
    name: "time/rear-late",
    severity: Severity::Note,
    explanation: include_str!("rear_late.md"),
    finds: Finds::InHarness(find),
};

/// The reservation in every hint about the law.
pub const LAW: &str = "read the clause: its text decides what it requires and whether it applies to this vehicle";

/// A finding about how a rear view comes or goes; `message` gets the view's name.
pub fn rear_finding(
    rule: &Rule,
    model: &Model,
    (rear, arrival): (&Rear, &Arrival),
    message: impl FnOnce(&str) -> String,
) -> Finding {
    let picture = picture_words(model, rear.shown, rear.screen);
    rule.finding(model.screens[rear.screen.0].views[rear.view].place, message(&picture))
        .about(picture)
        .label("the rear view")
        .arrival(model, arrival)
}

fn find(facts: &Facts) -> Vec<Finding> {
    facts
        .standing()
        .rear
        .iter()
        .filter_map(|rear| {
            let after_start = rear.after_start.as_ref().map(|late| (late, " (4 s after switching on)"));
            let late = [rear.response.as_ref().map(|late| (late, "")), after_start].into_iter().flatten();
            let mut late = late.filter(|(late, _)| late.took.is_none_or(|took| took > RESPONSE));
            late.next().map(|(late, when)| finding(facts, rear, late, when))
        })
        .collect()
}

fn finding(facts: &Facts, rear: &Rear, late: &Arrival, when: &str) -> Finding {
    let model = facts.model;
    let message = |picture: &str| format!("{picture} {}{when}, limit 2.0 s by 49 CFR 571.111 S5.5.3", late.comes());
    let finding = rear_finding(&RULE, model, (rear, late), message).hint(match late.took {
        Some(_) => format!("power the camera before reverse is engaged, or shorten the delay in the timeline; {LAW}"),
        None => format!("{MISSING}; {LAW}"),
    });
    match late.took {
        Some(took) => finding.limit("time to the picture", took.seconds(), RESPONSE.seconds()),
        None => finding,
    }
}
