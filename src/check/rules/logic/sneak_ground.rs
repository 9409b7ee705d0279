use crate::evidence::{end_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::sneak::{Found, Sneak};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "logic/sneak-ground",
    severity: Severity::Error,
    explanation: include_str!("sneak_ground.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Low(id) => finding(facts, id, found),
        _ => None,
    })
}

fn finding(facts: &Facts, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Feed(feed) = &facts.model.element(id).kind else { return None };
    let solution = facts.solution(&found.moment)?;
    let way = facts.backfeed().grounded_by(&solution, feed.pin)?;
    let name = facts.model.pin_name(feed.pin);
    let state = facts.names().moment(&found.moment);
    let finding = RULE
        .finding(
            end_place(facts, feed.pin),
            format!("`{name}` is off {state} but connected to ground through the harness"),
        )
        .about(name.as_str())
        .label("grounded by the harness")
        .limit("voltage at the wire that is off", found.volts, format!("at least {}", facts.model.limits.sneak_voltage))
        .hint("separate the two with one diode for each wire, cathode to the wire, or let each drive its own relay");
    let (finding, _) = shown_at(facts, finding, &found.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}
