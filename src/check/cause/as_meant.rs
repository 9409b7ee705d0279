//! Whether a coil or a trigger is on a switched wire and what it switches on a supply, or the other way round.

use facts::Facts;
use facts::walk::Towards;
use model::{ElementId, ElementKind, PartId, PartKind, PinId};

/// Whether the wires of two pins are on the right pins: the trigger or coil is on a switched wire, and the feed of the
/// contact or output is on a supply. Exchanged, the part would be on permanently, and the trigger's wire would carry the
/// current of the load.
pub fn is_as_meant(facts: &Facts, part: PartId, pins: [PinId; 2]) -> bool {
    either_way(pins, |control, feed| {
        let is_right = controls(facts, part, control) && feeds(facts, part, feed);
        is_right && is_always_fed(facts, feed) && is_switched(facts, control)
    })
}

/// Whether a relay is in whatever is switched: its coil is fed all the time, and what its contact carries is not.
pub fn is_awake(facts: &Facts, part: PartId, pins: [PinId; 2]) -> bool {
    either_way(pins, |coil, contact| {
        let is_crossed = is_coil(facts, part, coil) && !is_coil(facts, part, contact);
        is_crossed && is_always_fed(facts, coil) && is_switched(facts, contact)
    })
}

fn either_way([a, b]: [PinId; 2], holds: impl Fn(PinId, PinId) -> bool) -> bool {
    holds(a, b) || holds(b, a)
}

fn has(facts: &Facts, part: PartId, is: impl Fn(&ElementKind) -> bool) -> bool {
    facts.model.part(part).elements.iter().any(|id| is(&facts.model.element(*id).kind))
}

fn is_coil(facts: &Facts, part: PartId, pin: PinId) -> bool {
    has(facts, part, |kind| matches!(kind, ElementKind::Coil(coil) if coil.feed == pin))
}

/// Whether a pin is a trigger, or the feed of a coil.
fn controls(facts: &Facts, part: PartId, pin: PinId) -> bool {
    let is_trigger = |kind: &ElementKind| matches!(kind, ElementKind::Sense { pin: trigger, .. } if *trigger == pin);
    is_coil(facts, part, pin) || has(facts, part, is_trigger)
}

/// Whether a pin takes what is switched: the feed of a load or an output, the common pin of a contact.
fn feeds(facts: &Facts, part: PartId, pin: PinId) -> bool {
    has(facts, part, |kind| match kind {
        ElementKind::Load(load) => load.feed == pin,
        ElementKind::Output { other, high_side: true, .. } => *other == pin,
        ElementKind::Contact { common, .. } => *common == pin,
        _ => false,
    })
}

fn is_switched(facts: &Facts, pin: PinId) -> bool {
    facts.connectivity().is_fed(pin) && !is_always_fed(facts, pin)
}

/// Whether a pin is fed whatever is switched: by a supply or a converter, through wires, plugs and fuses.
fn is_always_fed(facts: &Facts, pin: PinId) -> bool {
    let model = facts.model;
    let fuse = |id: ElementId, _: [PinId; 2]| matches!(model.element(id).kind, ElementKind::Fuse { .. });
    let reached = facts.connectivity().reached_by(pin, Towards::Supply, &fuse);
    let is_supply = |pin: &PinId| model.part(model.pin(*pin).part).kind == PartKind::Supply;
    let is_outlet = |pin: &PinId| {
        let converts = |kind: &ElementKind| matches!(kind, ElementKind::Converter { output, .. } if output == pin);
        has(facts, model.pin(*pin).part, converts)
    };
    reached.iter().any(|pin| is_supply(pin) || is_outlet(pin))
}
