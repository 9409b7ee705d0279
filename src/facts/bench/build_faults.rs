//! Faults that building can bring: what the bench test must find.

use super::stays_in_vehicle;
use crate::stuck_contacts::{relay_at_rest, stuck};
use catalogue::part_form::Acts;
use circuit::{Assembly, BranchId, Change, Variant};
use model::{Domain, ElementId, ElementKind, Family, Model, Part, PartId, PartKind, PinId, WireId};
use quantity::Ohms;
use spec::WireMake;

/// Resistance of a crimp that a tech would refuse (typical, common practice, no source).
pub const BAD_CONTACT: Ohms = Ohms::new(1.0);

/// A fault that building can bring, or a part that is bad when it is fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum BuildFault {
    /// A wire has no contact at one of its ends.
    NoContact(WireId),
    /// A wire has a bad crimp, or a terminal that is spread: [`BAD_CONTACT`].
    BadContact(WireId),
    /// The shield of a coaxial cable has no contact at one of its ends.
    OpenShield(WireId),
    /// A camera or another source sends no picture.
    NoPicture(PartId),
    /// What is in two cavities of one housing is exchanged; one of them may be empty.
    Exchanged(PinId, PinId),
    /// A diode is fitted the other way round.
    Reversed(ElementId),
    /// A diode, a resistor or a fuse is not fitted, or is open.
    Missing(ElementId),
    /// A diode conducts both ways.
    Shorted(ElementId),
    /// A fuse of another rating is fitted.
    OtherRating(ElementId),
    /// A relay's coil is open.
    OpenCoil(ElementId),
    /// A relay's contact stays as at rest.
    NeverMakes(ElementId),
    /// A relay's contact stays as with the coil energised.
    StaysMade(ElementId),
    /// A module's output never switches on.
    DeadOutput(ElementId),
    /// A module's output never switches off.
    StaysOn(ElementId),
}

/// Every fault that building this harness can bring, kind by kind.
pub fn build_faults(model: &Model) -> Vec<BuildFault> {
    let built = model.wire_ids().filter(|id| !model.wire(*id).existing);
    // An ohm more in the line of a picture, of sound or of data is no fault.
    let carries_current =
        |id: WireId| matches!(model.wire(id).domain, Domain::Power | Domain::Ground | Domain::Trigger);
    let bad = move |id: WireId| carries_current(id).then_some(BuildFault::BadContact(id));
    let shield = |id: WireId| (model.wire(id).make == WireMake::Coax).then_some(BuildFault::OpenShield(id));
    let wires = built.flat_map(|id| std::iter::once(BuildFault::NoContact(id)).chain(bad(id)).chain(shield(id)));
    let housings = model.parts.iter().filter(|part| matches!(part.kind, PartKind::Connector | PartKind::Device));
    let mut faults: Vec<BuildFault> = wires.chain(housings.flat_map(|part| exchanges(model, part))).collect();
    let fitted = (0..model.elements.len()).map(ElementId).filter(|id| {
        let part = model.element(*id).part;
        !stays_in_vehicle(model, model.part(part), part)
    });
    faults.extend(fitted.flat_map(|id| of_element(model, id)));
    faults.extend(sources(model).map(BuildFault::NoPicture));
    faults.sort_by_key(|fault| fault.kind());
    faults
}

/// The parts at the bench that send pictures.
fn sources(model: &Model) -> impl Iterator<Item = PartId> {
    let sends = |id: &ElementId| {
        let kind = &model.element(*id).kind;
        matches!(kind, ElementKind::Source { pin, .. } if model.pin(*pin).domain == Domain::Video)
    };
    let is_source = move |id: &PartId| model.part(*id).elements.iter().any(sends);
    model.part_ids().filter(is_source).filter(|id| !stays_in_vehicle(model, model.part(*id), *id))
}

/// Every pair of cavities of a housing; at least one of them has a wire that is built.
fn exchanges(model: &Model, part: &Part) -> Vec<BuildFault> {
    let is_built = |pin: &PinId| model.wires_on(*pin).any(|wire| !model.wire(wire).existing);
    let has_old = |pin: &PinId| model.wires_on(*pin).any(|wire| model.wire(wire).existing);
    let pins: Vec<PinId> = part.pins.iter().copied().filter(|pin| !has_old(pin)).collect();
    let pairs = pins.iter().enumerate().flat_map(|(i, one)| pins[i + 1..].iter().map(|other| (*one, *other)));
    pairs
        .filter(|(one, other)| is_built(one) || is_built(other))
        .map(|(one, other)| BuildFault::Exchanged(one, other))
        .collect()
}

fn of_element(model: &Model, id: ElementId) -> Vec<BuildFault> {
    let element = model.element(id);
    let family = model.part(element.part).form.family;
    let is_wired = |pin: &Option<PinId>| pin.is_some_and(|pin| model.wires_on(pin).next().is_some());
    match &element.kind {
        ElementKind::Fuse { .. } => vec![BuildFault::Missing(id), BuildFault::OtherRating(id)],
        ElementKind::Diode { .. } if family == Family::Diode => {
            vec![BuildFault::Reversed(id), BuildFault::Missing(id), BuildFault::Shorted(id)]
        }
        ElementKind::Resistor { .. } if family == Family::Resistor => vec![BuildFault::Missing(id)],
        ElementKind::Coil(_) => vec![BuildFault::OpenCoil(id)],
        ElementKind::Contact { made, rest, .. } if is_wired(made) || is_wired(rest) => {
            vec![BuildFault::NeverMakes(id), BuildFault::StaysMade(id)]
        }
        ElementKind::Output { pin, .. } if is_wired(&Some(*pin)) => {
            vec![BuildFault::DeadOutput(id), BuildFault::StaysOn(id)]
        }
        _ => Vec::new(),
    }
}

impl BuildFault {
    /// The kind of fault, in the order in which a list has them, and in words.
    pub fn kind(self) -> (usize, &'static str) {
        match self {
            BuildFault::NoContact(_) => (0, "wire without contact at one end"),
            BuildFault::BadContact(_) => (1, "wire with a bad crimp or contact"),
            BuildFault::OpenShield(_) => (2, "cable shield without contact at one end"),
            BuildFault::Exchanged(..) => (3, "two cavities exchanged"),
            BuildFault::Reversed(_) => (4, "diode reversed"),
            BuildFault::Missing(_) => (5, "diode, resistor or fuse missing"),
            BuildFault::Shorted(_) => (6, "diode shorted"),
            BuildFault::OtherRating(_) => (7, "fuse of another rating"),
            BuildFault::OpenCoil(_) => (8, "relay coil open"),
            BuildFault::NeverMakes(_) => (9, "relay contact that never makes"),
            BuildFault::StaysMade(_) => (10, "relay contact that stays made"),
            BuildFault::DeadOutput(_) => (11, "module output that never switches on"),
            BuildFault::StaysOn(_) => (12, "module output that never switches off"),
            BuildFault::NoPicture(_) => (13, "camera or other source without a picture"),
        }
    }

    /// The fault and where it is: `wire 12 (K1.86 – SA) has no contact at one end`.
    pub fn words(self, model: &Model) -> String {
        let part = |id: ElementId| element_name(model, id);
        match self {
            BuildFault::NoContact(id) => format!("{} has no contact at one end", model.wire_words(id)),
            BuildFault::BadContact(id) => {
                format!("{} has a bad crimp or contact ({BAD_CONTACT})", model.wire_words(id))
            }
            BuildFault::OpenShield(id) => format!("the shield of {} has no contact at one end", model.wire_words(id)),
            BuildFault::NoPicture(id) => format!("{} sends no picture", model.part(id).name),
            BuildFault::Exchanged(one, other) => {
                format!("{} and {} are exchanged", model.pin_name(one), model.pin_name(other))
            }
            BuildFault::Reversed(id) => format!("{} is reversed", part(id)),
            BuildFault::Missing(id) => format!("{} is missing or open", part(id)),
            BuildFault::Shorted(id) => format!("{} conducts both ways", part(id)),
            BuildFault::OtherRating(id) => format!("{} has another rating", part(id)),
            BuildFault::OpenCoil(id) => format!("the coil of {} is open", part(id)),
            BuildFault::NeverMakes(id) => format!("the contact of {}{} never makes", part(id), pole(model, id)),
            BuildFault::StaysMade(id) => format!("the contact of {}{} stays made", part(id), pole(model, id)),
            BuildFault::DeadOutput(id) => format!("the output {} never switches on", output(model, id)),
            BuildFault::StaysOn(id) => format!("the output {} never switches off", output(model, id)),
        }
    }

    /// Whether it can arise, or be noticed first, when parts are fitted and connectors are mated, after the tests
    /// without power.
    pub fn arises_late(self) -> bool {
        !matches!(self, BuildFault::Exchanged(..) | BuildFault::OtherRating(_) | BuildFault::OpenShield(_))
    }

    /// What it changes in the assembled circuit; `None` if it changes a picture only, or nothing that a solver knows.
    pub fn variant(self, model: &Model, assembly: &Assembly) -> Option<Variant> {
        let branches = |id: ElementId| assembly.element(id).iter().copied();
        let all = |id: ElementId, change: fn(BranchId) -> Change| branches(id).map(change).collect::<Variant>();
        match self {
            BuildFault::NoContact(wire) => Some(Change::Open(assembly.wire(wire)?).into()),
            BuildFault::BadContact(wire) => Some(Change::InSeries(assembly.wire(wire)?, BAD_CONTACT).into()),
            BuildFault::OpenShield(wire) => Some(Change::Open(assembly.shield(wire)?).into()),
            BuildFault::Exchanged(one, other) => exchanged(model, assembly, [one, other]),
            BuildFault::OtherRating(_) | BuildFault::NoPicture(_) => None,
            BuildFault::Reversed(id) => Some(all(id, Change::Reversed)),
            BuildFault::Missing(id) => Some(all(id, Change::Open)),
            BuildFault::Shorted(id) => {
                let ElementKind::Diode { anode, cathode, .. } = model.element(id).kind else { return None };
                Some(Change::Between(assembly.pin(anode)?, assembly.pin(cathode)?, circuit::LEAST_OHMS).into())
            }
            BuildFault::OpenCoil(id) => {
                let ElementKind::Coil(coil) = &model.element(id).kind else { return None };
                // Nothing changes until a latch that was set must be reset.
                if coil.acts == Acts::Resets {
                    return None;
                }
                let open = Change::Open(branches(id).next()?);
                Some(relay_at_rest(model, assembly, coil.relay).into_iter().fold(open.into(), Variant::and))
            }
            BuildFault::NeverMakes(id) => Some(stuck(model, assembly, id, false).into_iter().collect()),
            BuildFault::StaysMade(id) => Some(stuck(model, assembly, id, true).into_iter().collect()),
            BuildFault::DeadOutput(id) => Some(all(id, Change::Open)),
            BuildFault::StaysOn(id) => Some(Change::Closed(branches(id).next()?).into()),
        }
    }
}

/// The part of an element; of several diodes in one case, with its anode.
fn element_name(model: &Model, id: ElementId) -> String {
    let part = model.part(model.element(id).part);
    let is_diode = |id: &&ElementId| matches!(model.element(**id).kind, ElementKind::Diode { .. });
    match model.element(id).kind {
        ElementKind::Diode { anode, .. } if part.elements.iter().filter(is_diode).count() > 1 => {
            format!("the diode at {}", model.pin_name(anode))
        }
        _ => part.name.to_string(),
    }
}

/// The common pin of a contact, where its relay has several.
fn pole(model: &Model, id: ElementId) -> String {
    let ElementKind::Contact { common, relay, .. } = model.element(id).kind else { return String::new() };
    let poles = model
        .elements
        .iter()
        .filter(|element| matches!(element.kind, ElementKind::Contact { relay: other, .. } if other == relay));
    if poles.count() > 1 { format!(" at {}", model.pin(common).name) } else { String::new() }
}

fn output(model: &Model, id: ElementId) -> String {
    match model.element(id).kind {
        ElementKind::Output { pin, .. } => model.pin_name(pin),
        _ => String::new(),
    }
}

/// Each wire in two cavities leaves its own and ends in the other; `None` if one of them carries no current.
fn exchanged(model: &Model, assembly: &Assembly, [one, other]: [PinId; 2]) -> Option<Variant> {
    let mut changes = Vec::new();
    for (from, to) in [(one, other), (other, one)] {
        for id in model.wire_ids().filter(|id| model.wire(*id).ends.contains(&from)) {
            let far = model.wire(id).ends.into_iter().find(|end| *end != from)?;
            changes.push(Change::Open(assembly.wire(id)?));
            changes.push(Change::Between(assembly.pin(far)?, assembly.pin(to)?, circuit::LEAST_OHMS));
        }
    }
    Some(changes.into_iter().collect())
}
