use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{Domain, PinId, Wire, conductor};
use spec::WireMake;
use std::cmp::Ordering;

pub const RULE: Rule = Rule {
    name: "build/terminal-size",
    severity: Severity::Error,
    explanation: include_str!("terminal_size.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    for wire in &facts.model.wires {
        let carries = matches!(wire.domain, Domain::Power | Domain::Ground | Domain::Trigger);
        if !carries || matches!(wire.make, WireMake::Coax | WireMake::Lead) || wire.existing {
            continue;
        }
        let ends = wire.ends.into_iter().zip(wire.end_places);
        findings.extend(ends.filter_map(|(pin, place)| Some((of_end(facts, wire, pin)?, place))).map(
            |(finding, place)| if wire.gauge_place.is_none() { finding } else { finding.also(place, "this end") },
        ));
    }
    findings
}

fn of_end(facts: &Facts, wire: &Wire, pin: PinId) -> Option<Finding> {
    let part = facts.model.part(facts.model.pin(pin).part);
    let terminal = part.form.terminal.as_ref()?;
    let range = terminal.wire.0;
    let fits = conductor::against(wire.gauge, range);
    if fits == Ordering::Equal {
        return None;
    }
    let chosen = if wire.gauge_given() { "" } else { ", sized for current and voltage drop," };
    let pin_name = facts.model.pin_name(pin);
    let message = format!(
        "wire {} ({}){chosen} doesn't fit the terminal of `{pin_name}`, limit {} to {}",
        wire.id, wire.gauge, range.low, range.high
    );
    let hint = match fits == Ordering::Greater {
        true => "run a thinner wire there from a splice, or use a part with larger terminals",
        false => "use a thicker wire; fold the strands back only if the terminal's maker allows it",
    };
    Some(
        RULE.finding(wire.gauge_place.unwrap_or(wire.place), message)
            .about(format!("wire {}", wire.id))
            .label(format!("{} takes {} to {}", terminal.title, range.low, range.high))
            .limit("conductor", wire.gauge, format!("{} to {}", range.low, range.high))
            .hint(hint),
    )
}
