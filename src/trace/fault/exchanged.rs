//! What fits in the place of another and is put there: wires in each other's cavities, plugs in each other's sockets.

use super::{FoundFault, Harm, Harness, PictureHarm};
use circuit::{Change, Variant};
use graph::Link;
use model::{Domain, Model, PartId, PartKind, PinId, WireId};

/// Two wires in neighbouring cavities of a connector are exchanged.
pub fn neighbours(harness: &Harness) -> Vec<FoundFault> {
    of_parts(harness, |model, part, apart| apart == 1 && model.part(part).kind == PartKind::Connector)
}

/// Two wires in other cavities of a connector, or at a screen, a relay or a module, are exchanged.
pub fn others(harness: &Harness) -> Vec<FoundFault> {
    of_parts(harness, |model, part, apart| match model.part(part).kind {
        PartKind::Connector => apart > 1,
        // A fuse, a lamp or a diode with two wires is the same either way, or has a fault of its own.
        PartKind::Device => model.part(part).pins.len() > 2,
        _ => false,
    })
}

/// Pairs of wires at a part that are exchanged; `takes` says at which part, and how many wired cavities apart.
fn of_parts(harness: &Harness, takes: impl Fn(&Model, PartId, usize) -> bool) -> Vec<FoundFault> {
    let model = harness.model;
    let mut all = Vec::new();
    for part in model.part_ids() {
        let wired: Vec<(PinId, WireId)> = model
            .part(part)
            .pins
            .iter()
            .filter_map(|pin| Some((*pin, model.wires_on(*pin).find(|w| harness.assembly.wire(*w).is_some())?)))
            .collect();
        for (one, (first, left)) in wired.iter().enumerate() {
            for (other, (second, right)) in wired.iter().enumerate().skip(one + 1) {
                if takes(model, part, other - one) && harness.nets.of(*first) != harness.nets.of(*second) {
                    all.extend(exchange(harness, [*first, *second], [*left, *right]));
                }
            }
        }
    }
    all
}

/// Wires on the same pin of two parts of a kind at one place, or of two wires of the vehicle there, are exchanged: those of parts
/// that follow each other soonest, at most as many as there are wires.
pub fn between_parts(harness: &Harness) -> Vec<FoundFault> {
    let model = harness.model;
    let parts: Vec<PartId> = model.part_ids().collect();
    let is_like = |one: PartId, other: PartId| {
        let (a, b) = (model.part(one), model.part(other));
        let same = a.kind == b.kind && a.at == b.at && a.at.is_some() && a.pins.len() == b.pins.len();
        same && (a.kind == PartKind::Feed || (a.kind == PartKind::Device && a.use_name == b.use_name))
    };
    let mut all = Vec::new();
    for apart in 1..parts.len() {
        for (one, other) in parts.iter().zip(&parts[apart..]).filter(|(one, other)| is_like(**one, **other)) {
            for (first, second) in model.part(*one).pins.iter().zip(&model.part(*other).pins) {
                let wires =
                    [first, second].map(|pin| model.wires_on(*pin).find(|w| harness.assembly.wire(*w).is_some()));
                let [Some(left), Some(right)] = wires else { continue };
                if harness.nets.of(*first) != harness.nets.of(*second) {
                    all.extend(exchange(harness, [*first, *second], [left, right]));
                }
            }
        }
        if all.len() >= model.wires.len() {
            break;
        }
    }
    all
}

/// Each of two wires leaves its own cavity and ends in the other's.
fn exchange(harness: &Harness, cavities: [PinId; 2], wires: [WireId; 2]) -> Option<FoundFault> {
    let model = harness.model;
    let far = |at: usize| model.wire(wires[at]).ends.into_iter().find(|end| *end != cavities[at]);
    let branches = [harness.assembly.wire(wires[0])?, harness.assembly.wire(wires[1])?];
    let changes = [
        Change::Open(branches[0]),
        Change::Open(branches[1]),
        harness.touching(far(0)?, cavities[1])?,
        harness.touching(far(1)?, cavities[0])?,
    ];
    let harm = Harm::circuit(changes.into_iter().collect::<Variant>()).on(wires).shorting();
    Some(found(model, cavities, wires, harm))
}

fn found(model: &Model, cavities: [PinId; 2], wires: [WireId; 2], harm: Harm) -> FoundFault {
    let names = cavities.map(|pin| model.pin_name(pin));
    let ids = wires.map(|wire| model.wire(wire).id.to_string());
    let part = model.pin(cavities[0]).part;
    FoundFault {
        words: format!("wires {} and {} are exchanged in {} and {}", ids[0], ids[1], names[0], names[1]),
        at: vec![part],
        harm: Harm { exchanged: Some(part), ..harm },
    }
}

/// Two picture cables are in each other's sockets: at one part, or at two parts of a kind at one place.
pub fn pictures(harness: &Harness) -> Vec<FoundFault> {
    let model = harness.model;
    let is_picture =
        |wire: &WireId| model.wire(*wire).domain == Domain::Video && harness.assembly.wire(*wire).is_none();
    let wires: Vec<WireId> = model.wire_ids().filter(is_picture).collect();
    let fits = |one: PinId, other: PinId| {
        let [one, other] = [one, other].map(|pin| model.pin(pin).part);
        let (a, b) = (model.part(one), model.part(other));
        one == other || (a.kind == PartKind::Device && a.use_name == b.use_name && a.at == b.at && a.at.is_some())
    };
    let mut all = Vec::new();
    for (at, one) in wires.iter().enumerate() {
        for other in &wires[at + 1..] {
            for first in model.wire(*one).ends {
                for second in model.wire(*other).ends.into_iter().filter(|second| fits(first, *second)) {
                    let exchanged = [(Link::Wire(*one), first), (Link::Wire(*other), second)];
                    let harm = Harm::picture(PictureHarm::Exchanged(exchanged)).on([*one, *other]);
                    all.push(found(model, [first, second], [*one, *other], harm));
                }
            }
        }
    }
    all
}

/// What meets in a connector: its cavities, each with what it meets and its joint.
struct Plugged {
    part: PartId,
    other: PartId,
    joints: Vec<(usize, [PinId; 2])>,
}

/// Two plugs of a kind at one place are in each other's sockets.
pub fn plugs(harness: &Harness) -> Vec<FoundFault> {
    let model = harness.model;
    let all = plugged(model);
    let use_names = |one: &Plugged| [one.part, one.other].map(|part| model.part(part).use_name.as_str());
    let fits = |one: &Plugged, other: &Plugged| {
        let [a, b] = [one, other].map(|plugged| model.part(plugged.part).at);
        a.is_some() && a == b && use_names(one) == use_names(other) && one.joints.len() == other.joints.len()
    };
    let pairs = all.iter().enumerate().flat_map(|(at, one)| all[at + 1..].iter().map(move |other| (one, other)));
    pairs.filter(|(one, other)| fits(one, other)).filter_map(|(one, other)| crossed(harness, one, other)).collect()
}

fn plugged(model: &Model) -> Vec<Plugged> {
    let mut all: Vec<Plugged> = Vec::new();
    for (joint, pins) in model.joints.iter().map(|joint| joint.pins).enumerate() {
        let [part, other] = pins.map(|pin| model.pin(pin).part);
        match all.iter_mut().find(|one| one.part == part && one.other == other) {
            Some(known) => known.joints.push((joint, pins)),
            None => all.push(Plugged { part, other, joints: vec![(joint, pins)] }),
        }
    }
    all
}

fn crossed(harness: &Harness, one: &Plugged, other: &Plugged) -> Option<FoundFault> {
    let model = harness.model;
    let (mut changes, mut pictures) = (Vec::new(), Vec::new());
    for ((joint, pins), (second, across)) in one.joints.iter().zip(&other.joints) {
        match (harness.assembly.joint(*joint), harness.assembly.joint(*second)) {
            (Some(a), Some(b)) => {
                changes.extend([Change::Open(a), Change::Open(b)]);
                changes.extend([harness.touching(pins[0], across[1])?, harness.touching(across[0], pins[1])?]);
            }
            _ => pictures
                .push(PictureHarm::Exchanged([(Link::Joint(*joint), pins[1]), (Link::Joint(*second), across[1])])),
        }
    }
    let wires: Vec<WireId> =
        [one, other].iter().filter_map(|plugged| model.wires_on(plugged.joints[0].1[0]).next()).collect();
    let harm = Harm { pictures, ..Harm::circuit(changes.into_iter().collect::<Variant>()) }.on(wires).shorting();
    let [a, b] = [one, other].map(|plugged| &model.part(plugged.part).name);
    Some(FoundFault {
        words: format!("plugs {a} and {b} are in each other's sockets"),
        at: vec![one.part],
        harm: Harm { exchanged: Some(one.part), ..harm },
    })
}
