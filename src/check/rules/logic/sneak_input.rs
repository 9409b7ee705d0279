use crate::check::sneak::{Found, Sneak};
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "logic/sneak-input",
    severity: Severity::Error,
    explanation: include_str!("sneak_input.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.worst.sneaks.tell(|what, found| match what {
        Sneak::Input(id) => finding(context, id, found),
        _ => None,
    })
}

fn finding(context: &Context, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Feed(feed) = &context.model.element(id).kind else { return None };
    let solution = context.solution(&found.moment)?;
    let way = context.held_by(&solution, feed.pin)?;
    let limits = &context.model.limits;
    let name = context.model.pin_name(feed.pin);
    let state = context.state_words(&found.moment);
    let message = match found.volts > limits.sneak_voltage {
        true => format!("`{name}` is off {state} and gets {} from the harness", found.volts),
        false => format!("`{name}` is off {state} and takes {} from the harness", found.amps),
    };
    let finding = RULE
        .finding(context.end_place(feed.pin), message)
        .about(name.as_str())
        .label("fed from behind")
        .limit("voltage at the wire that is off", found.volts, limits.sneak_voltage)
        .limit("current into it", found.amps, limits.sneak_current)
        .value("greatest voltage in any state", found.most_volts)
        .hint("part the two with a diode for each feed, or let each feed drive a relay of its own");
    let (finding, _) = context.shown_at(finding, &found.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}
