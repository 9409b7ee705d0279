use crate::evidence::end_place;
use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::Facts;
use model::{PinId, WireId};
use states::listed;

pub const RULE: Rule = Rule {
    name: "logic/diode-missing",
    severity: Severity::Error,
    explanation: include_str!("diode_missing.md"),
    finds: Finds::ByRepair,
};

/// A finding about supplies and wires of the vehicle that feed each other: with a diode in each, other findings vanish. One
/// of those shows it.
pub fn diode_missing(facts: &Facts, pins: &[PinId], shown_by: &Finding) -> Finding {
    let model = facts.model;
    let names: Vec<String> = pins.iter().map(|pin| format!("`{}`", model.pin_name(*pin))).collect();
    let listed = listed(&names).unwrap_or_default();
    let finding = RULE
        .finding(
            end_place(facts, pins[0]),
            match pins.len() {
                2 => format!("{listed} are joined without diodes: each feeds the other while it is on"),
                _ => format!("{listed} are joined without diodes: each feeds the others while it is on"),
            },
        )
        .about(model.pin_name(pins[0]))
        .label("joined without a diode")
        .hint("put a diode in the wire of each, cathode to where they meet, or let each drive its own relay")
        .repaired_by(Repair::Diodes(pins.to_vec()));
    let finding = Finding { evidence: shown_by.evidence.clone(), ..finding };
    pins[1..].iter().fold(finding, |finding, pin| finding.also(end_place(facts, *pin), "joined to it"))
}

/// A finding about wires that meet on a pin: with a diode in each, other findings vanish. One of those shows it.
pub fn diode_missing_at(facts: &Facts, pin: PinId, wires: &[WireId], shown_by: &Finding) -> Finding {
    let model = facts.model;
    let name = model.pin_name(pin);
    let ids: Vec<&str> = wires.iter().map(|wire| model.wire(*wire).id.as_str()).collect();
    let words = listed(&ids).unwrap_or_default();
    let end = |wire: &WireId| {
        let wire = model.wire(*wire);
        wire.end_places[usize::from(wire.ends[0] != pin)]
    };
    let place = wires.first().map_or_else(|| end_place(facts, pin), end);
    let finding = RULE
        .finding(place, format!("wires {words} meet at `{name}` without diodes: each feeds what the other switches"))
        .about(name.as_str())
        .label("joined without a diode")
        .hint(format!("put a diode in each of these wires, cathode to `{name}`, or let each drive its own relay"))
        .repaired_by(Repair::DiodesTo(pin, wires.to_vec()));
    let finding = Finding { evidence: shown_by.evidence.clone(), ..finding };
    wires.iter().skip(1).fold(finding, |finding, wire| finding.also(end(wire), "joined to it"))
}
