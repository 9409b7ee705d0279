use crate::evidence::{against_leak, part_place, shown_at, waypoints, with_worst_sneak};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::leaks::leak_of;
use facts::sneak::Lifted;
use model::{Coil, ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "logic/sneak-coil",
    severity: Severity::Error,
    explanation: include_str!("sneak_coil.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let coils = facts.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        ElementKind::Coil(coil) => Some((ElementId(i), coil)),
        _ => None,
    });
    coils.filter_map(|(id, coil)| of_coil(facts, id, coil)).collect()
}

fn of_coil(facts: &Facts, id: ElementId, coil: &Coil) -> Option<Finding> {
    let lifted = facts.sneaks().lifted(id);
    lifted.into_iter().find_map(|lifted| finding(facts, id, coil, lifted))
}

/// A finding, if the current also flows through another consumer.
fn finding(facts: &Facts, id: ElementId, coil: &Coil, lifted: &Lifted) -> Option<Finding> {
    let solution = facts.solution(&lifted.moment)?;
    let (through, way) = facts.backfeed().through_another(&solution, id, coil.feed, coil.ground)?;
    let model = facts.model;
    let (relay, limits) = (&model.signals[coil.relay.0].name, &model.limits);
    let state = facts.names().moment(&lifted.moment);
    let is_in = solution.state.holds(facts.solved.assembly.signal(coil.relay));
    let what = if is_in { "pulls in" } else { "stays out, but its coil carries current" };
    let leak = leak_of(facts, &solution, &way);
    let how = match &leak {
        Some(leak) => format!("of leakage flows through `{}`", model.part(leak.part).name),
        None => format!("flows through {through}"),
    };
    let message = format!("`{relay}` {what} {state}: {} {how}", lifted.amps);
    let hint = match &leak {
        Some(leak) => against_leak(facts, leak, limits.sneak_voltage),
        None => "give the coil its own feed and ground, or block the return path with a diode".into(),
    };
    let finding = RULE
        .finding(part_place(facts, model.element(id).part), message)
        .about(relay.as_str())
        .label(format!("pulls in at {}, drops out at {}, at 20 °C", coil.pull_in, coil.drop_out))
        .limit("voltage at the coil", lifted.volts, limits.sneak_voltage)
        .limit("current through it", lifted.amps, limits.sneak_current)
        .hint(hint);
    let finding = with_worst_sneak(facts, finding, id, lifted, [coil.feed, coil.ground]);
    let (finding, _) = shown_at(facts, finding, &lifted.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}
