use crate::check::worst::Peak;
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::{Element, ElementId, ElementKind, PinId};
use crate::quantity::Amps;

pub const RULE: Rule = Rule {
    name: "load/output-overloaded",
    severity: Severity::Error,
    explanation: include_str!("output_overloaded.md"),
    finds: Finds::InHarness(find),
};

/// A regulated output at its limit gives no more than that; this close to it counts as over it.
const AT_LIMIT: f64 = 0.999;

fn find(context: &Context) -> Vec<Finding> {
    let elements = context.model.elements.iter().enumerate();
    elements.filter_map(|(i, element)| of_element(context, ElementId(i), element)).collect()
}

fn of_element(context: &Context, id: ElementId, element: &Element) -> Option<Finding> {
    let through = || context.worst.amps(*context.solved.assembly.element(id).first()?);
    let (pin, limit, peak) = match &element.kind {
        ElementKind::Feed(feed) => (feed.pin, feed.limit?, context.worst.taken(feed.pin)?),
        ElementKind::Battery { plus: pin, figures, .. } | ElementKind::Derived { pin, figures, .. } => {
            (*pin, figures.limit?, context.worst.taken(*pin)?)
        }
        ElementKind::Output { pin, limit, .. } => (*pin, (*limit)?, through()?),
        ElementKind::Converter { output, limit, .. } => {
            let peak = through()?;
            if peak.value >= *limit * AT_LIMIT {
                return Some(finding(context, *output, *limit, peak, true));
            }
            return None;
        }
        _ => return None,
    };
    (peak.value > limit).then(|| finding(context, pin, limit, peak, false))
}

fn finding(context: &Context, pin: PinId, limit: Amps, peak: &Peak<Amps>, gives_no_more: bool) -> Finding {
    let model = context.model;
    let part = model.part(model.pin(pin).part);
    let (name, state) = (model.pin_name(pin), context.state_words(&peak.moment));
    let message = match gives_no_more {
        true => format!("`{name}` is at its limit of {limit} {state}, and its voltage falls"),
        false => format!("{} are taken from `{name}` {state}, which is good for {limit}", peak.value),
    };
    let finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label(format!("good for {limit}"))
        .limit("current", peak.value, limit)
        .hint("let it drive a relay or a solid-state switch alone, and take the load's current from a fused supply");
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    match solution {
        Some(solution) => finding.path(context.waypoints(&solution, &context.way_taken(&solution, pin))),
        None => finding,
    }
}
