use crate::dark::Needs;
use crate::worst::Peak;
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{ElementId, ElementKind, Load};
use quantity::Volts;
use solve::Solution;

pub const RULE: Rule = Rule {
    name: "load/starved",
    severity: Severity::Error,
    explanation: include_str!("starved.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    (0..context.model.elements.len()).filter_map(|i| of_element(context, ElementId(i))).collect()
}

fn of_element(context: &Context, id: ElementId) -> Option<Finding> {
    if let ElementKind::Load(load) = &context.model.element(id).kind {
        let lowest = context.worst.lowest(id).reduce(|a, b| if b.value < a.value { b } else { a });
        if let Some(lowest) = lowest.filter(|lowest| lowest.value < load.least) {
            return Some(finding(context, id, load, lowest));
        }
    }
    let (needs, highest) = context.never_works(id)?;
    Some(of_dark(context, id, needs, highest))
}

/// A load or a converter that never works.
fn of_dark(context: &Context, id: ElementId, needs: Needs, highest: &Peak<Volts>) -> Finding {
    let part = context.model.part(context.model.element(id).part);
    let (what, least, most) = (name(context, id), needs.least, highest.value.max(Volts::new(0.0)));
    // Less than this is leakage: nothing feeds it.
    let volts = |solution: &Solution| context.solved.assembly.volts(solution, needs.feed).max(highest.value);
    let is_fed = context.solution(&highest.moment).is_some_and(|s| volts(&s) > context.model.limits.sneak_voltage);
    let hint = match is_fed {
        true => "the path tells where the voltage goes: a resistance in its feed or its ground, another load in series",
        false => {
            "see what should feed it: an input that can't come, a contact on the wrong side, a switch that nothing moves"
        }
    };
    let finding = RULE
        .finding(part.place, format!("`{what}` never works: it gets {most} at most in any state, and needs {least}"))
        .about(part.name.as_str())
        .label(format!("works from {least}"))
        .limit("greatest voltage at the load", most, format!("at least {least}"))
        .hint(hint);
    let (finding, solution) = context.shown_at(finding, &highest.moment);
    match solution {
        Some(solution) if is_fed => {
            let way = context.way_through(&solution, id, needs.feed, needs.ground);
            finding.path(context.waypoints(&solution, &way))
        }
        _ => finding,
    }
}

/// `REAR`, or `M1.lamp` where the part has several loads.
fn name(context: &Context, id: ElementId) -> String {
    let element = context.model.element(id);
    let part = &context.model.part(element.part).name;
    match &element.kind {
        ElementKind::Load(Load { name: Some(name), .. }) => format!("{part}.{name}"),
        _ => part.to_string(),
    }
}

fn finding(context: &Context, id: ElementId, load: &Load, lowest: &Peak<Volts>) -> Finding {
    let part = context.model.part(context.model.element(id).part);
    let what = name(context, id);
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
