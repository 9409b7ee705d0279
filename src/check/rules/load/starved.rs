use crate::check::worst::Peak;
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{ElementId, ElementKind, Load};
use crate::quantity::Volts;

pub const RULE: Rule = Rule {
    name: "load/starved",
    severity: Severity::Error,
    explanation: include_str!("starved.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let loads = context.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
        ElementKind::Load(load) => Some((ElementId(i), load)),
        _ => None,
    });
    loads.filter_map(|(id, load)| of_load(context, id, load)).collect()
}

fn of_load(context: &Context, id: ElementId, load: &Load) -> Option<Finding> {
    let lowest = context.worst.lowest(id).reduce(|a, b| if b.value < a.value { b } else { a })?;
    if lowest.value >= load.least {
        return None;
    }
    Some(finding(context, id, load, lowest))
}

fn finding(context: &Context, id: ElementId, load: &Load, lowest: &Peak<Volts>) -> Finding {
    let part = context.model.part(context.model.element(id).part);
    let what = load.name.as_ref().map_or_else(|| part.name.to_string(), |name| format!("{}.{name}", part.name));
    let state = context.state_words(&lowest.moment);
    let message = format!("`{what}` gets {} {state}, and needs {}", lowest.value, load.least);
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("works from {}", load.least))
        .limit("voltage at the load", lowest.value, format!("at least {}", load.least))
        .hint("take thicker wires, leave out a diode on the way, or feed it from a stronger source through a relay");
    let simplest = context.worst.lowest_by(id).find(|peak| peak.value < load.least);
    let finding = context.simplest(finding, &lowest.moment, simplest);
    let (finding, solution) = context.shown_at(finding, &lowest.moment);
    match solution {
        Some(solution) => {
            let way = context.way_through(&solution, id, load.feed, load.ground);
            finding.path(context.waypoints(&solution, &way))
        }
        None => finding,
    }
}
