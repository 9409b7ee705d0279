use crate::{Context, Finding, Finds, Rule, Severity};
use model::{WireId, conductor};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "load/wire-ampacity",
    severity: Severity::Error,
    explanation: include_str!("wire_ampacity.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.model.wire_ids().filter_map(|wire| of_wire(context, wire)).collect()
}

fn of_wire(context: &Context, id: WireId) -> Option<Finding> {
    let wire = context.model.wire(id);
    let branch = context.solved.assembly.wire(id)?;
    let peak = context.worst.amps(branch)?;
    let (bundled, hot) = (context.bundled(id), size::in_engine_space(context.model, id));
    let carries = conductor::ampacity(wire.gauge, bundled, hot);
    if peak.value <= carries {
        return None;
    }
    let state = context.state_words(&peak.moment);
    let message = format!("wire {} ({}) carries {} {state}, more than {carries}", wire.id, wire.gauge, peak.value);
    let finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(context.wire_words(id))
        .label(format!("good for {carries} {}", context.company(id)))
        .limit("through the wire", peak.value, carries)
        .hint(hint(context, id, peak.value));
    let finding = context.simplest(finding, &peak.moment, context.worst.amps_over(branch, carries));
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    Some(match solution {
        Some(solution) => context.unless_short(finding, &solution, &context.way_over(&solution, wire.ends[0])),
        None => finding,
    })
}

fn hint(context: &Context, id: WireId, amps: Amps) -> String {
    let (bundled, hot) = (context.bundled(id), size::in_engine_space(context.model, id));
    let gauge = context.model.wire(id).gauge;
    match conductor::thinnest(gauge, |size| conductor::ampacity(size, bundled, hot) >= amps) {
        Some(size) => format!("take {size}, or lead the wire outside this bundle"),
        None => "no single wire carries this: divide the load".into(),
    }
}
