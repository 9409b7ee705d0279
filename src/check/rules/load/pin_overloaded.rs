use super::drop::share_beyond_terminals;
use crate::evidence::{shown_at, unless_short, with_simplest};
use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::Facts;
use facts::moment::Peak;
use model::{ElementId, ElementKind, PinId, WireId};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "load/pin-overloaded",
    severity: Severity::Error,
    explanation: include_str!("pin_overloaded.md"),
    finds: Finds::InHarness(find),
};

/// Share of its limit at which a pin is surely not overloaded.
const BELOW: f64 = 0.95;

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.pin_ids().filter_map(|pin| of_pin(facts, pin)).collect()
}

fn of_pin(facts: &Facts, pin: PinId) -> Option<Finding> {
    let limit = facts.model.pin(pin).limit?;
    let currents = facts.connectivity().wires_on(pin).iter().filter_map(|&wire| {
        let peak = facts.worst().amps(facts.solved.assembly.wire(wire)?)?;
        Some((wire, peak))
    });
    let (wire, peak) = currents.reduce(|a, b| if b.1.value > a.1.value { b } else { a })?;
    (peak.value > limit).then(|| finding(facts, pin, wire, peak, limit))
}

fn finding(facts: &Facts, pin: PinId, wire: WireId, peak: &Peak<Amps>, limit: Amps) -> Finding {
    let model = facts.model;
    let part = model.part(model.pin(pin).part);
    let end = model.wire(wire);
    let name = model.pin_name(pin);
    let state = facts.names().moment(&peak.moment);
    let message = format!("`{name}` carries {} of wire {} {state}, limit {limit}", peak.value, end.id);
    let terminal =
        part.form.terminal.as_ref().map_or_else(|| part.title.clone(), |terminal| terminal.title.to_string());
    let finding = RULE
        .finding(end.end_places[usize::from(end.ends[0] != pin)], message)
        .about(name)
        .at_pins([pin])
        .label(format!("{terminal}, {limit}"))
        .also(part.place, format!("a {}", part.use_name))
        .limit("through the pin", peak.value, limit)
        .hint("split the current over two pins, or use a connector or part with larger terminals");
    let over = facts.solved.assembly.wire(wire).and_then(|branch| facts.worst().amps_over(branch, limit));
    let finding = match own_load(facts, pin) {
        Some(load) => {
            // Where no wire that fits loses little enough, the load has to be split all the more.
            let share = share_beyond_terminals(facts, load).unwrap_or(1.0).min(limit / peak.value);
            finding.repaired_by(Repair::Draws(load, share * BELOW))
        }
        None => finding,
    };
    let finding = with_simplest(facts, finding, &peak.moment, over);
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    match solution {
        Some(solution) => unless_short(facts, finding, &solution, &facts.paths().over(&solution, end.ends[0])),
        None => finding,
    }
}

/// The only load that a pin feeds. If it takes too much for the pin, it takes too much for what is before it.
fn own_load(facts: &Facts, pin: PinId) -> Option<ElementId> {
    let part = facts.model.part(facts.model.pin(pin).part);
    let mut on_pin = part.elements.iter().copied().filter(|id| match &facts.model.element(*id).kind {
        ElementKind::Load(load) => load.feed == pin,
        _ => false,
    });
    on_pin.next().filter(|_| on_pin.next().is_none())
}
