use super::rear_late::LAW;
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::replay::standing::{Arrival, LINGER, Rear, picture_words};

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
    let model = context.model;
    let picture = picture_words(model, rear.shown, rear.screen);
    let stays = match worst.took {
        Some(took) => format!("may be seen for {took} after {}", worst.step),
        None => format!("stays after {}", worst.step),
    };
    RULE.finding(
        model.screens[rear.screen.0].views[rear.view].place,
        format!("{picture} {stays}; 49 CFR 571.111 S5.5.4 lets it go when backing has ended"),
    )
    .about(picture)
    .label("the rear view")
    .shown_in(worst.state.clone(), &worst.setting)
    .limit("seen for", worst.took.map_or("no end".into(), |took| took.to_string()), LINGER)
    .timeline(model, &worst.evidence)
    .hint(format!("shorten what holds the rear trigger, or the camera's power, after reverse; {LAW}"))
}
