use crate::evidence::{end_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::chargers::parts_batteries;
use facts::sneak::{Found, Sneak};
use model::{ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "load/output-fed",
    severity: Severity::Warning,
    explanation: include_str!("output_fed.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.sneaks().first_of_each(|what, found| match what {
        Sneak::Output(id) => finding(facts, id, found),
        _ => None,
    })
}

fn finding(facts: &Facts, id: ElementId, found: &Found) -> Option<Finding> {
    let ElementKind::Output { pin, other, .. } = facts.model.element(id).kind else { return None };
    if parts_batteries(facts.model, pin, other) {
        return None; // An isolator is made to have a battery on either side.
    }
    let solution = facts.solution(&found.moment)?;
    let way = facts.backfeed().held_by(&solution, pin)?;
    let name = facts.model.pin_name(pin);
    let state = facts.names().moment(&found.moment);
    let message = format!(
        "output `{name}` is off {state} but gets {} from outside, limit {}",
        found.volts, facts.model.limits.sneak_voltage
    );
    let finding = RULE
        .finding(end_place(facts, pin), message)
        .about(name.as_str())
        .label("fed from outside")
        .limit("voltage at the output that is off", found.volts, facts.model.limits.sneak_voltage)
        .value(&format!("its feed {}", facts.model.pin_name(other)), facts.solved.assembly.volts(&solution, other))
        .hint("join the feeds through one diode each");
    let (finding, _) = shown_at(facts, finding, &found.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}
