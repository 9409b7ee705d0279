use crate::sneak::{Found, Sneak};
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "load/output-fed",
    severity: Severity::Warning,
    explanation: include_str!("output_fed.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.worst.sneaks.tell(|what, found| match what {
        Sneak::Output(id) => finding(context, id, found),
        _ => None,
    })
}

fn finding(context: &Context, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Output { pin, other, .. } = context.model.element(id).kind else { return None };
    let solution = context.solution(&found.moment)?;
    let way = context.held_by(&solution, pin)?;
    let name = context.model.pin_name(pin);
    let state = context.state_words(&found.moment);
    let message = format!("the output `{name}` is off {state} and gets {} from outside", found.volts);
    let finding = RULE
        .finding(context.end_place(pin), message)
        .about(name.as_str())
        .label("fed from outside")
        .limit("voltage at the output that is off", found.volts, context.model.limits.sneak_voltage)
        .value(
            &format!("its own feed {}", context.model.pin_name(other)),
            context.solved.assembly.volts(&solution, other),
        )
        .hint("bring the feeds together over a diode each");
    let (finding, _) = context.shown_at(finding, &found.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}
