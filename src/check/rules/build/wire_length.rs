use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::Wire;

pub const RULE: Rule = Rule {
    name: "build/wire-length",
    severity: Severity::Error,
    explanation: include_str!("wire_length.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.wires.iter().filter(|wire| wire.length.is_none()).map(|wire| finding(facts, wire)).collect()
}

fn finding(facts: &Facts, wire: &Wire) -> Finding {
    let model = facts.model;
    let parts = wire.ends.map(|end| model.part(model.pin(end).part));
    let (why, hint) = match parts.map(|part| part.at) {
        [Some(a), Some(b)] => {
            let (a, b) = (&model.places[a.0], &model.places[b.0]);
            (format!("no runs connect {a} and {b}"), format!("add the run: {{between: [{a}, {b}], length: 1 m}}"))
        }
        [at, _] => {
            let part = if at.is_none() { parts[0] } else { parts[1] };
            (format!("`{}` has no place", part.name), format!("give its place: {}: {{at: …}}", part.name))
        }
    };
    RULE.finding(wire.place, format!("the length of wire {} is unknown: {why}", wire.id))
        .about(format!("wire {}", wire.id))
        .label("no length")
        .hint(format!("{hint}, or give the wire a `length`"))
}
