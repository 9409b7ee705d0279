//! Whether a coil or a trigger is on a switched wire and what it switches on a supply, or the other way round.

use facts::Facts;
use facts::walk::Towards;
use model::{ElementId, ElementKind, PartId, PartKind, PinId};

/// Whether the wires of two pins are on the right pins: the trigger or coil is on a switched wire, and the feed of the
/// contact or output is on a supply. Exchanged, the part would be on permanently, and the trigger's wire would carry the
/// current of the load.
pub fn is_as_meant(facts: &Facts, part: PartId, pins: [PinId; 2]) -> bool {
    let model = facts.model;
    let kinds = || model.part(part).elements.iter().map(|id| &model.element(*id).kind);
    let controls = |pin: PinId| {
        kinds().any(|kind| match kind {
            ElementKind::Sense { pin: trigger, .. } => *trigger == pin,
            ElementKind::Coil(coil) => coil.feed == pin,
            _ => false,
        })
    };
    let feeds = |pin: PinId| {
        kinds().any(|kind| match kind {
            ElementKind::Load(load) => load.feed == pin,
            ElementKind::Output { other, high_side: true, .. } => *other == pin,
            ElementKind::Contact { common, .. } => *common == pin,
            _ => false,
        })
    };
    let [a, b] = pins;
    let is_right = |control: PinId, feed: PinId| {
        let is_switched = || facts.connectivity().is_fed(control) && !is_always_fed(facts, control);
        controls(control) && feeds(feed) && is_always_fed(facts, feed) && is_switched()
    };
    is_right(a, b) || is_right(b, a)
}

/// Whether a relay is in whatever is switched: its coil is fed all the time, and what its contact carries is not.
pub fn is_awake(facts: &Facts, part: PartId, pins: [PinId; 2]) -> bool {
    let model = facts.model;
    let is_coil = |pin: PinId| {
        let kinds = model.part(part).elements.iter().map(|id| &model.element(*id).kind);
        kinds.into_iter().any(|kind| matches!(kind, ElementKind::Coil(coil) if coil.feed == pin))
    };
    let [a, b] = pins;
    let is_crossed = |coil: PinId, contact: PinId| {
        let is_switched = || facts.connectivity().is_fed(contact) && !is_always_fed(facts, contact);
        is_coil(coil) && !is_coil(contact) && is_always_fed(facts, coil) && is_switched()
    };
    is_crossed(a, b) || is_crossed(b, a)
}

/// Whether a pin is fed whatever is switched: by a supply or a converter, through wires, plugs and fuses.
fn is_always_fed(facts: &Facts, pin: PinId) -> bool {
    let model = facts.model;
    let fuse = |id: ElementId, _: [PinId; 2]| matches!(model.element(id).kind, ElementKind::Fuse { .. });
    let reached = facts.connectivity().reached_by(pin, Towards::Supply, &fuse);
    let is_supply = |pin: &PinId| model.part(model.pin(*pin).part).kind == PartKind::Supply;
    let is_outlet = |pin: &PinId| {
        let inside = model.part(model.pin(*pin).part).elements.iter().map(|id| &model.element(*id).kind);
        inside.into_iter().any(|kind| matches!(kind, ElementKind::Converter { output, .. } if output == pin))
    };
    reached.iter().any(|pin| is_supply(pin) || is_outlet(pin))
}
