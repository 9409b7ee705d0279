use super::rear_late::LAW;
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::replay::standing::{Arrival, Rear, picture_words};

pub const RULE: Rule = Rule {
    name: "time/rear-default",
    severity: Severity::Note,
    explanation: include_str!("rear_default.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let rear = context.times.standing.rear.iter().filter_map(|rear| Some((rear, rear.other_default.as_ref()?)));
    rear.map(|(rear, other)| finding(context, rear, other)).collect()
}

fn finding(context: &Context, rear: &Rear, other: &Arrival) -> Finding {
    let model = context.model;
    let picture = picture_words(model, rear.shown, rear.screen);
    RULE.finding(
        model.screens[rear.screen.0].views[rear.view].place,
        format!("backing up doesn't always begin with {picture}; 49 CFR 571.111 S5.5.6 asks for that"),
    )
    .about(picture)
    .label("the rear view")
    .shown_in(other.state.clone(), &other.setting)
    .timeline(model, &other.evidence)
    .hint(format!("put the rear view first, and let the driver change away from it; {LAW}"))
}
