use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::{HeldOver, picture_words};

pub const RULE: Rule = Rule {
    name: "time/held-over",
    severity: Severity::Warning,
    explanation: include_str!("held_over.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let held = facts.standing().held_over.iter();
    held.filter(|one| !facts.screens().differs_at(one.screen, one.view)).map(|one| finding(facts, one)).collect()
}

fn finding(facts: &Facts, one: &HeldOver) -> Finding {
    let model = facts.model;
    let picture = picture_words(model, one.shown, one.screen);
    let limit = one.limit.seconds();
    let finding = RULE
        .finding(
            model.screens[one.screen.0].views[one.view].place,
            format!("{picture} {}, limit {limit}", one.worst.comes()),
        )
        .about(picture)
        .label("waits for a hold")
        .arrival(model, &one.worst)
        .hint(
            "shorten the hold to what a flash needs, let this trigger end the other's hold, or allow a longer `within`",
        );
    match one.worst.took {
        Some(took) => finding.limit("time to the picture", took.seconds(), limit),
        None => finding,
    }
}
