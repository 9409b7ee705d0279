use crate::sneak::Lifted;
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{Coil, ElementId, ElementKind};

pub const RULE: Rule = Rule {
    name: "logic/sneak-coil",
    severity: Severity::Error,
    explanation: include_str!("sneak_coil.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let coils = context.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        ElementKind::Coil(coil) => Some((ElementId(i), coil)),
        _ => None,
    });
    coils.filter_map(|(id, coil)| of_coil(context, id, coil)).collect()
}

fn of_coil(context: &Context, id: ElementId, coil: &Coil) -> Option<Finding> {
    let lifted = context.worst.sneaks.lifted(id);
    lifted.into_iter().find_map(|lifted| finding(context, id, coil, lifted))
}

/// A finding, if the current goes through something else that takes current too.
fn finding(context: &Context, id: ElementId, coil: &Coil, lifted: &Lifted) -> Option<Finding> {
    let solution = context.solution(&lifted.moment)?;
    let (through, way) = context.through_another(&solution, id, coil.feed, coil.ground)?;
    let model = context.model;
    let (relay, limits) = (&model.signals[coil.relay.0].name, &model.limits);
    let state = context.state_words(&lifted.moment);
    let is_in = solution.state.holds(context.solved.assembly.signal(coil.relay));
    let what = if is_in { "is pulled in" } else { "isn't pulled in, but its coil has current" };
    let message = format!("`{relay}` {what} {state}: {} come through {through}", lifted.amps);
    let finding = RULE
        .finding(context.part_place(model.element(id).part), message)
        .about(relay.as_str())
        .label(format!("pulls in at {}, lets go at {}, at 20 °C", coil.pull_in, coil.drop_out))
        .limit("voltage at the coil", lifted.volts, limits.sneak_voltage)
        .limit("current through it", lifted.amps, limits.sneak_current)
        .hint("give the coil a feed and a ground of its own, or stop the way back with a diode");
    let finding = context.with_worst_sneak(finding, id, lifted, [coil.feed, coil.ground]);
    let (finding, _) = context.shown_at(finding, &lifted.moment);
    Some(finding.path(context.waypoints(&solution, &way)))
}
