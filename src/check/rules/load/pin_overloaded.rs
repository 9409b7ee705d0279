use crate::worst::Peak;
use crate::{Context, Finding, Finds, Rule, Severity};
use model::{PinId, WireId};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "load/pin-overloaded",
    severity: Severity::Error,
    explanation: include_str!("pin_overloaded.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.model.pin_ids().filter_map(|pin| of_pin(context, pin)).collect()
}

fn of_pin(context: &Context, pin: PinId) -> Option<Finding> {
    let limit = context.model.pin(pin).limit?;
    let currents = context.wires_on(pin).iter().filter_map(|&wire| {
        let peak = context.worst.amps(context.solved.assembly.wire(wire)?)?;
        Some((wire, peak))
    });
    let (wire, peak) = currents.reduce(|a, b| if b.1.value > a.1.value { b } else { a })?;
    (peak.value > limit).then(|| finding(context, pin, wire, peak, limit))
}

fn finding(context: &Context, pin: PinId, wire: WireId, peak: &Peak<Amps>, limit: Amps) -> Finding {
    let model = context.model;
    let part = model.part(model.pin(pin).part);
    let end = model.wire(wire);
    let name = model.pin_name(pin);
    let state = context.state_words(&peak.moment);
    let message = format!("`{name}` carries {} of wire {} {state}, and is good for {limit}", peak.value, end.id);
    let terminal =
        part.form.terminal.as_ref().map_or_else(|| part.title.clone(), |terminal| terminal.title.to_string());
    let finding = RULE
        .finding(end.end_places[usize::from(end.ends[0] != pin)], message)
        .about(name)
        .label(format!("{terminal}, {limit}"))
        .also(part.place, format!("a {}", part.use_name))
        .limit("through the pin", peak.value, limit)
        .hint("divide the current over two pins, or take a connector or part with larger terminals");
    let over = context.solved.assembly.wire(wire).and_then(|branch| context.worst.amps_over(branch, limit));
    let finding = context.simplest(finding, &peak.moment, over);
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    match solution {
        Some(solution) => context.unless_short(finding, &solution, &context.way_over(&solution, end.ends[0])),
        None => finding,
    }
}
