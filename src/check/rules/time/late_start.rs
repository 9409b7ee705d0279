use super::late::{MISSING, finding};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::standing::Arrival;

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
    let hint = |arrival: &Arrival| match arrival.took {
        Some(_) => "allow a `within` that includes the screen's start-up, power the screen earlier, or accept this",
        None => MISSING,
    };
    late.map(|(within, arrival)| finding(&RULE, facts.model, within, arrival).hint(hint(arrival))).collect()
}
