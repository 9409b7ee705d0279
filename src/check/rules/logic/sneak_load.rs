use crate::evidence::{against_leak, shown_at, waypoints, with_worst_sneak};
use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::LoadKind;
use facts::Facts;
use facts::leaks::leak_of;
use facts::sneak::Lifted;
use model::{ElementId, ElementKind, Load};

pub const RULE: Rule = Rule {
    name: "logic/sneak-load",
    severity: Severity::Warning,
    explanation: include_str!("sneak_load.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let loads = facts.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        // logic/lamp-glows reports lamps.
        ElementKind::Load(load) if !matches!(load.kind, LoadKind::Lamp | LoadKind::Led) => Some((ElementId(i), load)),
        _ => None,
    });
    loads.filter_map(|(id, load)| of_load(facts, id, load)).collect()
}

fn of_load(facts: &Facts, id: ElementId, load: &Load) -> Option<Finding> {
    let lifted = facts.sneaks().lifted(id);
    lifted.into_iter().find_map(|lifted| finding(facts, id, load, lifted))
}

/// A finding, if the current also flows through another consumer.
fn finding(facts: &Facts, id: ElementId, load: &Load, lifted: &Lifted) -> Option<Finding> {
    let solution = facts.solution(&lifted.moment)?;
    let (through, way) = facts.backfeed().through_another(&solution, id, load.feed, load.ground)?;
    let (part, limits) = (facts.model.part(facts.model.element(id).part), &facts.model.limits);
    let state = facts.names().moment(&lifted.moment);
    let leak = leak_of(facts, &solution, &way);
    let through = match &leak {
        Some(leak) => format!("the leakage of `{}`", facts.model.part(leak.part).name),
        None => through,
    };
    let message = format!("`{}` gets {} and {} {state} through {through}", part.name, lifted.volts, lifted.amps);
    let hint = match &leak {
        Some(leak) => against_leak(facts, leak, limits.sneak_voltage),
        None => {
            "give each load its own feed and ground, switched on the same side, or block the return path with a diode"
                .into()
        }
    };
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("a {}", part.use_name))
        .limit("voltage at it", lifted.volts, limits.sneak_voltage)
        .limit("current through it", lifted.amps, limits.sneak_current)
        .hint(hint);
    let finding = with_worst_sneak(facts, finding, id, lifted, [load.feed, load.ground]);
    let (finding, _) = shown_at(facts, finding, &lifted.moment);
    Some(finding.path(waypoints(facts, &solution, &way)))
}
