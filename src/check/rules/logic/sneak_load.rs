use crate::sneak::Lifted;
use crate::{Context, Finding, Finds, Rule, Severity};
use catalogue::part_form::LoadKind;
use model::{ElementId, ElementKind, Load};

pub const RULE: Rule = Rule {
    name: "logic/sneak-load",
    severity: Severity::Warning,
    explanation: include_str!("sneak_load.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let loads = context.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        // Lamps are told by logic/lamp-glows.
        ElementKind::Load(load) if !matches!(load.kind, LoadKind::Lamp | LoadKind::Led) => Some((ElementId(i), load)),
        _ => None,
    });
    loads.filter_map(|(id, load)| of_load(context, id, load)).collect()
}

fn of_load(context: &Context, id: ElementId, load: &Load) -> Option<Finding> {
    let lifted = context.worst.sneaks.lifted(id);
    lifted.into_iter().find_map(|lifted| finding(context, id, load, lifted))
}

/// A finding, if the current goes through something else that takes current too.
fn finding(context: &Context, id: ElementId, load: &Load, lifted: &Lifted) -> Option<Finding> {
    let solution = context.solution(&lifted.moment)?;
    let (through, way) = context.through_another(&solution, id, load.feed, load.ground)?;
    let (part, limits) = (context.model.part(context.model.element(id).part), &context.model.limits);
    let state = context.state_words(&lifted.moment);
    let message = format!("`{}` gets {} and {} {state}, through {through}", part.name, lifted.volts, lifted.amps);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("a {}", part.use_name))
        .limit("voltage at it", lifted.volts, limits.sneak_voltage)
        .limit("current through it", lifted.amps, limits.sneak_current)
        .hint("give each a feed and a ground of its own, switched on the same side, or stop the way back with a diode");
    let finding = context.with_worst_sneak(finding, id, lifted, [load.feed, load.ground]);
    let (finding, _) = context.shown_at(finding, &lifted.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}
