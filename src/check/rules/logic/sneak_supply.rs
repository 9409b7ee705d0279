use crate::check::sneak::{Found, Sneak};
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "logic/sneak-supply",
    severity: Severity::Error,
    explanation: include_str!("sneak_supply.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.worst.sneaks.tell(|what, found| match what {
        Sneak::Supply(id) => finding(context, id, found),
        _ => None,
    })
}

fn finding(context: &Context, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Derived { pin, .. } = context.model.element(id).kind else { return None };
    let solution = context.solution(&found.moment)?;
    let way = context.held_by(&solution, pin)?;
    let name = context.model.pin_name(pin);
    let state = context.state_words(&found.moment);
    let message = format!("`{name}` is off {state} and gets {} from the harness", found.volts);
    let finding = RULE
        .finding(context.end_place(pin), message)
        .about(name.as_str())
        .label("fed from behind")
        .limit("voltage at the supply that is off", found.volts, context.model.limits.sneak_voltage)
        .value("greatest voltage in any state", found.most_volts)
        .hint("put a relay that the dead supply moves, or a diode, between it and what is live without it");
    let (finding, _) = context.shown_at(finding, &found.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}
