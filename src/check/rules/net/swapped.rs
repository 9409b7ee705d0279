use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Repair, Rule, Severity};
use facts::Facts;
use model::{ElementKind, PartId, PartKind, PinId, WireId};
use states::listed;

pub const RULE: Rule = Rule {
    name: "net/swapped",
    severity: Severity::Error,
    explanation: include_str!("swapped.md"),
    finds: Finds::ByRepair,
};

/// A finding about two pins of a part: with their wires exchanged, other findings vanish and none comes.
pub fn swapped(facts: &Facts, id: PartId, pins: [PinId; 2]) -> Finding {
    let (model, part) = (facts.model, facts.model.part(id));
    let is_diode = part.elements.iter().any(|element| match model.element(*element).kind {
        ElementKind::Diode { anode, cathode, .. } => pins == [anode, cathode],
        _ => false,
    });
    let several = part.elements.len() > 1;
    let [a, b] = pins.map(|pin| format!("`{}`", model.pin(pin).name));
    let used = |pin: &PinId| facts.connectivity().is_joined(*pin) && !facts.connectivity().wires_on(*pin).is_empty();
    let only = pins.iter().position(used).filter(|_| pins.iter().filter(|pin| used(pin)).count() == 1);
    let (message, hint) = match only {
        _ if is_diode && several => (
            format!("the diode between {a} and {b} of `{}` is reversed", part.name),
            format!(
                "exchange the wires of {a} and {b}: the ring of a diode marks its cathode, where the current leaves"
            ),
        ),
        _ if is_diode => (
            format!("`{}` is reversed", part.name),
            "exchange its two wires: its ring marks the cathode, where the current leaves".to_string(),
        ),
        Some(at) => {
            let (from, to) = (pins[at], pins[1 - at]);
            let wires: Vec<String> =
                facts.connectivity().wires_on(from).iter().map(|wire| facts.names().wire(*wire)).collect();
            let is = if wires.len() == 1 { "is" } else { "are" };
            let wires = listed(&wires).unwrap_or_default();
            let to = model.pin_name(to);
            let is_in = if part.kind == PartKind::Connector { "in" } else { "on" };
            (
                format!("{wires} {is} {is_in} `{}` instead of `{to}`", model.pin_name(from)),
                format!("move {wires} to `{to}`"),
            )
        }
        _ => (format!("{a} and {b} of `{}` are swapped", part.name), format!("exchange the wires of {a} and {b}")),
    };
    let finding = RULE
        .finding(part_place(facts, id), message)
        .about(part.name.as_str())
        .label(match only {
            _ if is_diode => "reversed",
            Some(_) => "on the wrong pin",
            None => "swapped",
        })
        .hint(hint)
        .repaired_by(Repair::Exchange(pins[0], pins[1]));
    let wired = pins.into_iter().filter(|pin| !facts.connectivity().wires_on(*pin).is_empty());
    wired.fold(finding, |finding, pin| {
        let other = pins[usize::from(pin == pins[0])];
        finding.also(end_place(facts, pin), format!("belongs on `{}`", model.pin_name(other)))
    })
}

/// A finding about a wire on a feed of the vehicle that belongs on another.
pub fn on_wrong_feed(facts: &Facts, wire: WireId, from: PinId, to: PinId) -> Finding {
    let model = facts.model;
    let (name, from_name, to_name) = (facts.names().wire(wire), model.pin_name(from), model.pin_name(to));
    let end = model.wire(wire);
    RULE.finding(
        end.end_places[usize::from(end.ends[0] != from)],
        format!("{name} is on `{from_name}` instead of `{to_name}`"),
    )
    .about(name.as_str())
    .label(format!("belongs on `{to_name}`"))
    .hint(format!("move {name} to `{to_name}`"))
    .repaired_by(Repair::Moved(wire, from, to))
    .also(model.part(model.pin(to).part).place, "no wire is on it")
}

/// A finding about a wire on a source that comes at the wrong time, while on another all works as asked.
pub fn on_wrong_source(facts: &Facts, wire: WireId, from: PinId, to: PinId) -> Finding {
    let model = facts.model;
    let (name, from_name, to_name) = (facts.names().wire(wire), model.pin_name(from), model.pin_name(to));
    let end = model.wire(wire);
    RULE.finding(
        end.end_places[usize::from(end.ends[0] != from)],
        format!("{name} is on the wrong pin `{from_name}`: on `{to_name}` all works as asked"),
    )
    .about(name.as_str())
    .label("wrong pin")
    .hint(format!("compare with the plan where {name} belongs: `{to_name}`, or another like it"))
    .repaired_by(Repair::Moved(wire, from, to))
}

/// A finding about two wires that are on each other's sources.
pub fn ends_exchanged(facts: &Facts, ends: [(WireId, PinId); 2]) -> Finding {
    let model = facts.model;
    let names = ends.map(|(wire, _)| facts.names().wire(wire));
    let pins = ends.map(|(_, pin)| model.pin_name(pin));
    let finding = RULE
        .finding(
            model.wire(ends[0].0).place,
            format!("{} on `{}` and {} on `{}` are exchanged", names[0], pins[0], names[1], pins[1]),
        )
        .about(names[0].as_str())
        .label(format!("belongs on `{}`", pins[1]))
        .hint(format!("move {} to `{}` and {} to `{}`: compare with the plan", names[0], pins[1], names[1], pins[0]))
        .repaired_by(Repair::Ends(ends));
    finding.also(model.wire(ends[1].0).place, format!("belongs on `{}`", pins[0]))
}

/// A finding about two pictures that a part shows at each other's times. Where they are crossed, at the cameras, the part
/// or what selects them, no voltage shows.
pub fn pictures_exchanged(facts: &Facts, part: PartId, pins: [PinId; 2]) -> Finding {
    let [a, b] = pins.map(|pin| format!("`{}`", facts.model.pin(pin).name));
    let name = &facts.model.part(part).name;
    let finding = RULE
        .finding(
            part_place(facts, part),
            format!("the pictures on {a} and {b} of `{name}` are exchanged, or the triggers that select them"),
        )
        .about(name.as_str())
        .label("each shows when the other should")
        .hint(format!(
            "compare both with the plan: exchange the two picture cables, or the triggers or inputs that select {a} and {b}"
        ))
        .repaired_by(Repair::Exchange(pins[0], pins[1]));
    pins.into_iter().fold(finding, |finding, pin| finding.also(end_place(facts, pin), "shows when the other should"))
}

/// A finding about two pins whose wires are exchanged: cavities of one plug, or pins of two parts.
pub fn crossed(facts: &Facts, pins: [PinId; 2]) -> Finding {
    let model = facts.model;
    let [of, other] = pins.map(|pin| model.pin(pin).part);
    if of == other {
        let plug = ours(facts, pins);
        let finding = swapped(facts, model.pin(plug[0]).part, plug);
        let hint = format!("{}{}", finding.hint, where_crossed(facts, plug));
        return finding.hint(hint).repaired_by(Repair::Exchange(pins[0], pins[1]));
    }
    let [a, b] = pins.map(|pin| model.pin_name(pin));
    let finding = RULE
        .finding(part_place(facts, of), format!("the wires of `{a}` and `{b}` are exchanged"))
        .about(model.part(of).name.as_str())
        .label("exchanged")
        .hint(format!("exchange the wires of `{a}` and `{b}`"))
        .repaired_by(Repair::Exchange(pins[0], pins[1]));
    pins.into_iter().fold(finding, |finding, pin| finding.also(end_place(facts, pin), "belongs on the other pin"))
}

/// The two cavities of a plug, or those that they mate with, where the first half is the vehicle's and stays as it is: it was
/// there before, or its pins have a standard purpose and are live as they should be.
fn ours(facts: &Facts, pins: [PinId; 2]) -> [PinId; 2] {
    let mates = pins.map(|pin| facts.connectivity().mates(pin).first().copied());
    match mates {
        [Some(a), Some(b)] if is_fixed(facts, pins) && !is_fixed(facts, [a, b]) => [a, b],
        _ => pins,
    }
}

fn is_fixed(facts: &Facts, pins: [PinId; 2]) -> bool {
    let model = facts.model;
    let standard = |pin: PinId| facts.standard_pins().iter().find(|standard| standard.pin == pin);
    let is_right = |pin: PinId| standard(pin).is_some_and(|one| one.live.dead.is_none() && one.live.unasked.is_none());
    model.part(model.pin(pins[0]).part).existing || pins.into_iter().all(is_right)
}

/// Where else the wires of two cavities may be crossed: what is found is the same at the mate, and in the wires that lead to
/// either half.
fn where_crossed(facts: &Facts, pins: [PinId; 2]) -> String {
    let model = facts.model;
    let mate = facts.connectivity().mates(pins[0]).first().map(|pin| model.part(model.pin(*pin).part));
    match mate {
        Some(mate) if mate.existing || pins.iter().any(|pin| model.pin(*pin).means.is_some()) => format!(
            ", or the ends of the same wires at what they lead to: compare with the plan; `{}` stays as it is",
            mate.name
        ),
        Some(mate) => format!(
            ", or do so at its mate `{}` or where the same wires end: compare all three with the plan",
            mate.name
        ),
        None => ", or do so where the same wires end: compare both with the plan".to_string(),
    }
}

/// A finding about a ground wire that ends on a feed.
pub fn off_ground(facts: &Facts, wire: WireId, from: PinId) -> Finding {
    let model = facts.model;
    let (name, from_name) = (facts.names().wire(wire), model.pin_name(from));
    let end = model.wire(wire);
    RULE.finding(
        end.end_places[usize::from(end.ends[0] != from)],
        format!("{name} is a ground wire, but ends on the feed `{from_name}`"),
    )
    .about(name.as_str())
    .label("a feed")
    .hint(format!("move this end of {name} to a ground point: compare with the plan"))
}
