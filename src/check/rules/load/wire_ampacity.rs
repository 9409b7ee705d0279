use crate::evidence::{company, shown_at, size_words, unless_short, with_simplest};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{WireId, conductor};
use quantity::Amps;

pub const RULE: Rule = Rule {
    name: "load/wire-ampacity",
    severity: Severity::Error,
    explanation: include_str!("wire_ampacity.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.wire_ids().filter_map(|wire| of_wire(facts, wire)).collect()
}

fn of_wire(facts: &Facts, id: WireId) -> Option<Finding> {
    let wire = facts.model.wire(id);
    let branch = facts.solved.assembly.wire(id)?;
    let peak = facts.worst().amps(branch)?;
    let (bundled, hot) = (facts.bundles().loaded(id), size::in_engine_space(facts.model, id));
    let carries = conductor::ampacity(wire.gauge, bundled, hot);
    if peak.value <= carries {
        return None;
    }
    let state = facts.names().moment(&peak.moment);
    let message = format!("wire {} ({}) carries {} {state}, limit {carries}", wire.id, wire.gauge, peak.value);
    let finding = RULE
        .finding(wire.gauge_place.unwrap_or(wire.place), message)
        .about(facts.names().wire(id))
        .label(format!("may carry {carries} {}", company(facts, id)))
        .limit("through the wire", peak.value, carries)
        .hint(hint(facts, id, peak.value));
    let finding = with_simplest(facts, finding, &peak.moment, facts.worst().amps_over(branch, carries));
    let (finding, solution) = shown_at(facts, finding, &peak.moment);
    Some(match solution {
        Some(solution) => unless_short(facts, finding, &solution, &facts.paths().over(&solution, wire.ends[0])),
        None => finding,
    })
}

fn hint(facts: &Facts, id: WireId, amps: Amps) -> String {
    let (bundled, hot) = (facts.bundles().loaded(id), size::in_engine_space(facts.model, id));
    let gauge = facts.model.wire(id).gauge;
    match conductor::thinnest(gauge, |size| conductor::ampacity(size, bundled, hot) >= amps) {
        Some(size) => {
            let use_size = format!("use {}", size_words(facts, id, size));
            let alone = bundled > 2 && conductor::ampacity(gauge, 1, hot) >= amps;
            if alone { format!("{use_size}, or route the wire outside this bundle") } else { use_size }
        }
        None => "no single wire carries this: split the load".into(),
    }
}
