//! How cameras, picture cables and screens fail.

use super::{FoundFault, Harm, Harness, PictureHarm};
use model::{Domain, ElementKind, PartId, PinId, SignalId, SignalKind, WireId};
use spec::WireMake;

/// A camera or another source sends no picture.
pub fn camera_dead(harness: &Harness) -> Vec<FoundFault> {
    of_parts(harness, sources(harness), "has power but sends no picture", PictureHarm::NoPicture)
}

/// A camera sends one picture that no longer moves.
pub fn camera_stuck(harness: &Harness) -> Vec<FoundFault> {
    of_parts(harness, sources(harness), "is stuck: its picture no longer moves", PictureHarm::Still)
}

/// A camera's switch or a setting of the screen is wrong: the picture arrives in a format that the screen does not expect.
pub fn format(harness: &Harness) -> Vec<FoundFault> {
    let how = "sends another picture format than its input is set to, or is faulty";
    of_parts(harness, sources(harness), how, PictureHarm::Format)
}

/// A screen shows nothing, though it has power.
pub fn screen_dead(harness: &Harness) -> Vec<FoundFault> {
    let screens = harness.model.screens.iter().map(|screen| screen.part).collect();
    of_parts(harness, screens, "has power but shows nothing", PictureHarm::DeadScreen)
}

/// An input of a screen no longer shows pictures.
pub fn input_dead(harness: &Harness) -> Vec<FoundFault> {
    let model = harness.model;
    let mut inputs: Vec<PinId> =
        model.screens.iter().flat_map(|screen| screen.shows.iter().map(|show| show.input)).collect();
    inputs.sort();
    inputs.dedup();
    let found = |pin: PinId| FoundFault {
        words: format!("input {} shows no picture any more", model.pin_name(pin)),
        at: vec![model.pin(pin).part],
        harm: Harm::picture(PictureHarm::DeadInput(pin)),
    };
    inputs.into_iter().map(found).collect()
}

/// A trigger input of a screen no longer notices that it is on.
pub fn trigger_dead(harness: &Harness) -> Vec<FoundFault> {
    let model = harness.model;
    let found = |(at, signal): (usize, &model::Signal)| match signal.kind {
        SignalKind::Sense { pin, .. } if model.screens.iter().any(|screen| screen.part == signal.part) => {
            Some(FoundFault {
                words: format!("trigger input {} is dead", model.pin_name(pin)),
                at: vec![signal.part],
                harm: Harm::picture(PictureHarm::DeadTrigger(SignalId(at))),
            })
        }
        _ => None,
    };
    model.signals.iter().enumerate().filter_map(found).collect()
}

/// The core of a picture's cable is open.
pub fn core_open(harness: &Harness) -> Vec<FoundFault> {
    of_cables(harness, "has an open core", PictureHarm::CoreOpen)
}

/// The core of a picture's cable touches its shield.
pub fn core_shorted(harness: &Harness) -> Vec<FoundFault> {
    of_cables(harness, "has its core on its shield", PictureHarm::CoreShorted)
}

/// Parts that send pictures, each once.
fn sources(harness: &Harness) -> Vec<PartId> {
    let model = harness.model;
    let sends =
        |kind: &ElementKind| matches!(kind, ElementKind::Source { pin, .. } if model.pin(*pin).domain == Domain::Video);
    let mut parts: Vec<PartId> =
        model.elements.iter().filter(|element| sends(&element.kind)).map(|element| element.part).collect();
    parts.dedup();
    parts
}

fn of_parts(harness: &Harness, parts: Vec<PartId>, how: &str, harm: fn(PartId) -> PictureHarm) -> Vec<FoundFault> {
    let found = |part: PartId| FoundFault {
        words: format!("{} {how}", harness.model.part(part).name),
        at: vec![part],
        harm: Harm::picture(harm(part)),
    };
    parts.into_iter().map(found).collect()
}

/// A picture's cable opens as the vehicle moves.
pub fn intermittent(harness: &Harness) -> Vec<FoundFault> {
    let found = of_cables(harness, "opens now and then: a loose plug", PictureHarm::CoreOpen).into_iter();
    let now_and_then = |fault: FoundFault| {
        let wire = fault.harm.cable().copied();
        FoundFault { harm: Harm { comes_and_goes: true, ..fault.harm.on(wire) }, ..fault }
    };
    found.map(now_and_then).collect()
}

fn of_cables(harness: &Harness, how: &str, harm: fn(WireId) -> PictureHarm) -> Vec<FoundFault> {
    let model = harness.model;
    let is_cable = |id: &WireId| {
        let wire = model.wire(*id);
        harness.assembly.wire(*id).is_none() && wire.domain == Domain::Video && wire.make == WireMake::Coax
    };
    let found = |wire: WireId| FoundFault {
        words: format!("the picture cable {} {how}", harness.wire(wire)),
        at: harness.ends(wire),
        harm: Harm::picture(harm(wire)),
    };
    model.wire_ids().filter(is_cable).map(found).collect()
}
