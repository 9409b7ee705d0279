use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::{MOST_STARTS, screen_words};

pub const RULE: Rule = Rule {
    name: "time/states-left-out",
    severity: Severity::Note,
    explanation: include_str!("states_left_out.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let each = facts.standing().left_out.iter().map(|(screen, states)| {
        let name = screen_words(model, *screen);
        let message = format!("timing was checked from only {MOST_STARTS} of the {states} states of {name}");
        RULE.finding(model.screens[screen.0].place, message)
            .about(name)
            .label("has many states")
            .limit("states that differ for it", states, format!("{MOST_STARTS} of them checked"))
            .hint("play the most important changes as drives with `expect:`, or rule out impossible states with `needs` and `excludes`")
    });
    each.collect()
}
