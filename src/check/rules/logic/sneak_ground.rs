use crate::sneak::{Found, Sneak};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "logic/sneak-ground",
    severity: Severity::Error,
    explanation: include_str!("sneak_ground.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.worst.sneaks.tell(|what, found| match what {
        Sneak::Low(id) => finding(context, id, found),
        _ => None,
    })
}

fn finding(context: &Context, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Feed(feed) = &context.model.element(id).kind else { return None };
    let solution = context.solution(&found.moment)?;
    let way = context.grounded_by(&solution, feed.pin)?;
    let name = context.model.pin_name(feed.pin);
    let state = context.state_words(&found.moment);
    let finding = RULE
        .finding(
            context.end_place(feed.pin),
            format!("`{name}` is off {state} and is pulled to ground through the harness"),
        )
        .about(name.as_str())
        .label("grounded from behind")
        .limit(
            "voltage at the wire that is off",
            found.volts,
            format!("more than {}", context.model.limits.sneak_voltage),
        )
        .hint("part the two with a diode for each wire, cathode to the wire, or let each drive a relay of its own");
    let (finding, _) = context.shown_at(finding, &found.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}
