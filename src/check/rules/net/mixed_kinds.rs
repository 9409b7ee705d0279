use crate::evidence::{end_place, part_place, shown_at};
use crate::{Finding, Finds, Rule, Severity};
use facts::mixed::{Met, meant_pin};
use facts::{Facts, MixedKinds};
use model::{Domain, PartId, PinId, PinRole};

pub const RULE: Rule = Rule {
    name: "net/mixed-kinds",
    severity: Severity::Error,
    explanation: include_str!("mixed_kinds.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut contacts: Vec<PartId> = Vec::new();
    let all = facts.mixed_kinds();
    let is_second = |mixed: &MixedKinds| all.iter().any(|first| is_exchanged(facts, first, mixed));
    for mixed in all.iter().filter(|mixed| !is_second(mixed)) {
        let part = facts.model.pin(mixed.other).part;
        match mixed.met {
            Met::Contact if contacts.contains(&part) => {}
            Met::Contact => {
                contacts.push(part);
                findings.push(on_contact(facts, mixed, part, all));
            }
            _ => {
                let second = all.iter().find(|second| is_exchanged(facts, mixed, second));
                findings.push(second.map_or_else(|| finding(facts, mixed), |second| exchanged(facts, mixed, second)));
            }
        }
    }
    findings
}

/// A pin and what it is: `HU1.cam2` (picture input).
fn words(facts: &Facts, pin: PinId) -> String {
    format!("`{}` ({})", facts.model.pin_name(pin), kind_words(facts, pin))
}

/// What a pin is made for.
fn kind_words(facts: &Facts, pin: PinId) -> &'static str {
    let this = facts.model.pin(pin);
    match (this.domain, this.role) {
        (Domain::Video, PinRole::Output) => "picture output",
        (Domain::Video, _) => "picture input",
        (Domain::Audio, PinRole::Output) => "sound output",
        (Domain::Audio, _) => "sound",
        (Domain::Data, _) => "data",
        (Domain::Power, _) => "a feed",
        (Domain::Ground, _) => "a ground",
        (Domain::Trigger, _) => "a trigger",
    }
}

/// The wire that joins the two pins, or what else does.
fn joined_by(facts: &Facts, mixed: &MixedKinds) -> String {
    mixed.wire.map_or_else(|| "a pair of mated contacts".to_string(), |wire| facts.names().wire(wire))
}

fn finding(facts: &Facts, mixed: &MixedKinds) -> Finding {
    let by = joined_by(facts, mixed);
    let kind = match mixed.met {
        // What feeds a fuse or a contact decides, not what the pin is made for.
        Met::Feed => "a feed",
        Met::Ground => "a ground",
        _ => kind_words(facts, mixed.other),
    };
    let other = facts.model.pin_name(mixed.other);
    let message = format!("{by} joins {} to `{other}` ({kind})", words(facts, mixed.signal));
    let place = mixed.wire.map_or_else(|| end_place(facts, mixed.signal), |wire| facts.model.wire(wire).place);
    let finding = RULE
        .finding(place, message)
        .about(mixed.wire.map_or_else(|| facts.model.pin_name(mixed.signal), |wire| facts.names().wire(wire)))
        .label("joins two kinds of signals")
        .also(end_place(facts, mixed.signal), kind_words(facts, mixed.signal))
        .also(end_place(facts, mixed.other), kind)
        .without(mixed.wire)
        .hint(match meant_pin(facts.connectivity(), mixed) {
            Some(pin) => format!("move {by} to the free pin `{}`", facts.model.pin_name(pin)),
            None => format!("remove {by}, or move its wrong end to a pin that is made for what it carries"),
        });
    let resistance = facts.model.pin(mixed.signal).impedance;
    match (mixed.met, facts.port_current(mixed.signal), resistance) {
        (Met::Feed | Met::Trigger, Some(peak), Some(ohms)) if peak.value > facts.model.limits.sneak_current => {
            let (finding, _) = shown_at(facts, finding, &peak.moment);
            finding.value(&format!("through the {ohms} of `{}`", facts.model.pin_name(mixed.signal)), peak.value)
        }
        _ => finding,
    }
}

/// Whether two pins of one part have each other's wires: what feeds or grounds comes to its picture, and its picture's
/// cable to its feed or ground.
fn is_exchanged(facts: &Facts, first: &MixedKinds, second: &MixedKinds) -> bool {
    let pin = |id: PinId| facts.model.pin(id);
    let is_alike = pin(second.signal).domain == pin(first.signal).domain;
    let is_of_part = pin(first.signal).part == pin(second.other).part && first.signal != second.signal;
    let electric = |one: &MixedKinds| matches!(one.met, Met::Feed | Met::Ground | Met::Trigger);
    is_alike && is_of_part && pin(second.other).role != PinRole::Through && electric(first) && electric(second)
}

/// One finding for two pins that have each other's wires.
fn exchanged(facts: &Facts, first: &MixedKinds, second: &MixedKinds) -> Finding {
    let model = facts.model;
    let part = model.pin(first.signal).part;
    let name = &model.part(part).name;
    let [signal, other] = [first.signal, second.other].map(|pin| &model.pin(pin).name);
    let [by, and] = [first, second].map(|mixed| joined_by(facts, mixed));
    let [from, to] = [first.other, second.signal].map(|pin| model.pin_name(pin));
    let message = format!(
        "`{other}` and `{signal}` of `{name}` are swapped: {by} joins `{from}` to `{signal}`, {and} joins `{to}` to `{other}`"
    );
    let place = first.wire.map_or_else(|| end_place(facts, first.signal), |wire| model.wire(wire).place);
    RULE.finding(place, message)
        .about(name.as_str())
        .label("joins two kinds of signals")
        .also(end_place(facts, first.signal), format!("belongs on `{other}`"))
        .also(end_place(facts, second.other), format!("belongs on `{signal}`"))
        .without(first.wire)
        .without(second.wire)
        .hint(format!("exchange the two wires at `{name}`, or in the connector before it"))
}

/// A picture over the contacts of a part that isn't made for it: one finding for the part.
fn on_contact(facts: &Facts, mixed: &MixedKinds, part: PartId, all: &[MixedKinds]) -> Finding {
    let model = facts.model;
    let name = &model.part(part).name;
    let message = format!(
        "the picture of `{}` goes over `{}`, which doesn't pass pictures",
        model.pin_name(mixed.signal),
        model.pin_name(mixed.other)
    );
    let switches: Vec<&str> = model.picture_switches.iter().map(|kind| kind.as_str()).collect();
    let of_part = all.iter().filter(|one| one.met == Met::Contact && model.pin(one.other).part == part);
    let wires = of_part.filter_map(|one| one.wire);
    wires
        .fold(RULE.finding(part_place(facts, part), message), |finding, wire| {
            finding.also(model.wire(wire).place, "carries the picture").without(Some(wire))
        })
        .about(name.as_str())
        .label("the cable's 75 Ω and its shield end here")
        .hint(format!("use a part that is made to switch pictures: {}", switches.join(", ")))
}
