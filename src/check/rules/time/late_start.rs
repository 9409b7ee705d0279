use super::late::finding;
use crate::{Context, Finding, Finds, Rule, Severity};

pub const RULE: Rule = Rule {
    name: "time/late-start",
    severity: Severity::Warning,
    explanation: include_str!("late_start.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let within = context.times.standing.within.iter().filter(|within| !context.is_other(within.screen, within.view));
    let late = within.filter_map(|within| Some((within, within.late(within.cold.as_ref())?)));
    let hint = "promise a time that has the screen's start-up in it, power the screen earlier, or accept it";
    late.map(|(within, arrival)| finding(&RULE, context.model, within, arrival).hint(hint)).collect()
}
