use super::late::finding;
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;

pub const RULE: Rule = Rule {
    name: "time/late-start",
    severity: Severity::Warning,
    explanation: include_str!("late_start.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let within =
        facts.standing().within.iter().filter(|within| !facts.screens().differs_at(within.screen, within.view));
    let late = within.filter_map(|within| Some((within, within.late(within.cold.as_ref())?)));
    let hint = "allow a `within` that includes the screen's start-up, power the screen earlier, or accept this";
    late.map(|(within, arrival)| finding(&RULE, facts.model, within, arrival).hint(hint)).collect()
}
