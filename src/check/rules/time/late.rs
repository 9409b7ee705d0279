use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::Model;
use replay::standing::{Arrival, Within, picture_words};

pub const RULE: Rule = Rule {
    name: "time/late",
    severity: Severity::Error,
    explanation: include_str!("late.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let within =
        facts.standing().within.iter().filter(|within| !facts.screens().differs_at(within.screen, within.view));
    let late = within.filter_map(|within| Some((within, within.late(within.worst.as_ref())?)));
    let hint = "see in the timeline what it waits for: power camera and modules before the trigger comes on, or allow a \
                longer `within`";
    late.map(|(within, arrival)| finding(&RULE, facts.model, within, arrival).hint(hint)).collect()
}

/// A picture that comes later than promised.
pub fn finding(rule: &Rule, model: &Model, within: &Within, late: &Arrival) -> Finding {
    let picture = picture_words(model, within.shown, within.screen);
    let limit = within.limit.seconds();
    let finding = rule
        .finding(
            model.screens[within.screen.0].views[within.view].place,
            format!("{picture} {}, limit {limit}", late.comes()),
        )
        .about(picture)
        .label("this line allows a time")
        .arrival(model, late);
    match late.took {
        Some(took) => finding.limit("time to the picture", took, limit),
        None => finding,
    }
}
