use crate::{Finding, Finds, Rule, Severity, tables};
use facts::Facts;
use model::{PartKind, PinId, conductor};
use quantity::Gauge;
use states::listed;
use std::cmp::Ordering;

pub const RULE: Rule = Rule {
    name: "build/cavity-twice",
    severity: Severity::Error,
    explanation: include_str!("cavity_twice.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.model.pin_ids().filter_map(|pin| of_pin(facts, pin)).collect()
}

/// How many wires a pin takes, and the word for it; `None` if any number may end there.
fn takes(facts: &Facts, pin: PinId) -> Option<(usize, &'static str)> {
    let part = facts.model.part(facts.model.pin(pin).part);
    let terminal = part.form.terminal.as_ref();
    match part.kind {
        PartKind::Connector => Some((1, "cavity")),
        PartKind::Device if terminal.is_some_and(|t| !t.supplied.0 && !t.stacks.0) => {
            Some((if terminal?.sealed.0 { 1 } else { tables::wires_in_a_terminal() }, "terminal"))
        }
        _ => None,
    }
}

fn of_pin(facts: &Facts, pin: PinId) -> Option<Finding> {
    let model = facts.model;
    let (takes, what) = takes(facts, pin)?;
    let [first, rest @ ..] = facts.connectivity().wires_on(pin) else { return None };
    let (last, count) = (rest.last()?, rest.len() + 1);
    let range = model.part(model.pin(pin).part).form.terminal.as_ref().map(|terminal| terminal.wire.0);
    let copper = Gauge::Metric(facts.connectivity().wires_on(pin).iter().map(|&id| model.wire(id).gauge.area()).sum());
    let too_thick = range.is_some_and(|range| conductor::against(copper, range) == Ordering::Greater);
    if count <= takes && !too_thick {
        return None;
    }
    let place = |id| {
        let wire = model.wire(id);
        wire.end_places[usize::from(wire.ends[0] != pin)]
    };
    let name = model.pin_name(pin);
    let all: Vec<&str> = facts.connectivity().wires_on(pin).iter().map(|&id| model.wire(id).id.as_str()).collect();
    let all = listed(&all)?;
    let message = match range {
        Some(range) if count <= takes => {
            format!("wires {all} have {copper} together, too thick for {what} `{name}`, limit {}", range.high)
        }
        _ => {
            format!("wires {all} end in {what} `{name}`, which takes {takes} wire{}", if takes == 1 { "" } else { "s" })
        }
    };
    let finding = RULE
        .finding(place(*last), message)
        .about(name)
        .label(format!("this {what} is full"))
        .also(place(*first), "the first wire");
    let finding = if count > takes { finding.limit("wires", count, takes) } else { finding };
    let finding = match range {
        Some(range) if takes > 1 => finding.limit("cross-section together", copper, range.high),
        _ => finding,
    };
    Some(finding.hint(format!("move one wire to a free {what}, or join the wires in a splice and run one wire here")))
}
