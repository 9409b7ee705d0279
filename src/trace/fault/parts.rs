//! How fuses, relays, diodes, grounds, feeds, outputs, switches and loads fail.

use super::{CORRODED, FoundFault, Harm, Harness};
use circuit::{BranchId, Change, Variant};
use facts::stuck_contacts;
use model::{ElementId, ElementKind, PinId};
use quantity::Volts;

/// A weak battery gives this share of its nominal voltage under load (typical, common practice, no source).
const WEAK: f64 = 0.7;

/// A fuse has blown or sits badly.
pub fn fuse_blown(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let harm = Harm { blown: vec![id], ..Harm::circuit(harness.open(id)) };
        matches!(kind, ElementKind::Fuse { .. }).then(|| (format!("fuse {} is blown", harness.part(id).1), harm))
    })
}

/// A relay's coil is open: every contact of the relay stays at rest.
pub fn coil_open(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ElementKind::Coil(coil) = kind else { return None };
        let stuck = stuck_contacts::relay_at_rest(harness.model, harness.assembly, coil.relay);
        let open = harness.assembly.element(id).iter().map(|branch| Change::Open(*branch));
        let variant: Variant = open.chain(stuck).collect();
        Some((format!("the coil of {} is open", harness.part(id).1), Harm::circuit(variant)))
    })
}

/// A contact is burnt and no longer makes.
pub fn contact_stuck_open(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let words = || format!("the contact of {} no longer makes", harness.part(id).1);
        matches!(kind, ElementKind::Contact { .. }).then(|| (words(), Harm::circuit(stuck(harness, id, false))))
    })
}

/// A contact is welded.
pub fn contact_stuck_closed(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let words = || format!("the contact of {} is welded", harness.part(id).1);
        let harm = || Harm::circuit(stuck(harness, id, true)).shorting();
        matches!(kind, ElementKind::Contact { .. }).then(|| (words(), harm()))
    })
}

/// A contact of a relay or a switch is burnt: it makes, but with a resistance.
pub fn contact_burnt(harness: &Harness) -> Vec<FoundFault> {
    let model = harness.model;
    let of = |id: ElementId| {
        let pairs: Vec<[PinId; 2]> = match model.element(id).kind {
            ElementKind::Contact { common, made, rest, .. } => {
                [made, rest].into_iter().flatten().map(|pin| [common, pin]).collect()
            }
            ElementKind::Throw { common, throw, .. } => vec![[common, throw]],
            _ => Vec::new(),
        };
        let (part, name) = harness.part(id);
        // OK because a contact has one branch for each of its sides, in this order.
        let branches = harness.assembly.element(id).iter();
        let burnt = |(pins, branch): ([PinId; 2], &BranchId)| {
            let [from, to] = pins.map(|pin| &model.pin(pin).name);
            FoundFault {
                words: format!("contact {from}–{to} of {name} is burnt: it has a resistance"),
                at: vec![part],
                harm: Harm::circuit(Change::InSeries(*branch, CORRODED)).of_some_resistance(),
            }
        };
        pairs.into_iter().zip(branches).map(burnt).collect::<Vec<_>>()
    };
    harness.elements().flat_map(of).collect()
}

/// A diode is open.
pub fn diode_open(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let words = || format!("diode {} is open", harness.part(id).1);
        matches!(kind, ElementKind::Diode { .. }).then(|| (words(), Harm::circuit(harness.open(id))))
    })
}

/// A diode conducts both ways.
pub fn diode_shorted(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ElementKind::Diode { anode, cathode, .. } = kind else { return None };
        let change = harness.touching(*anode, *cathode)?;
        Some((format!("diode {} is shorted", harness.part(id).1), Harm::circuit(change).shorting()))
    })
}

/// A diode is fitted the wrong way round.
pub fn diode_reversed(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let diode = harness.assembly.element(id).first().copied()?;
        let words = || format!("diode {} is fitted the wrong way round", harness.part(id).1);
        let harm = || Harm::circuit(Change::Reversed(diode)).shorting();
        matches!(kind, ElementKind::Diode { .. }).then(|| (words(), harm()))
    })
}

/// A ground point has no contact.
pub fn ground_lost(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let words = || format!("ground point {} is loose or corroded", harness.part(id).1);
        matches!(kind, ElementKind::GroundPoint { .. }).then(|| (words(), Harm::circuit(harness.open(id))))
    })
}

/// A ground point is corroded: it has resistance.
pub fn ground_resistance(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ground = harness.assembly.element(id).first().copied()?;
        let words = || format!("ground point {} has a bad contact", harness.part(id).1);
        let harm = || Harm::circuit(Change::InSeries(ground, CORRODED)).of_some_resistance();
        matches!(kind, ElementKind::GroundPoint { .. }).then(|| (words(), harm()))
    })
}

/// A wire of the vehicle brings nothing.
pub fn feed_missing(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ElementKind::Feed(_) = kind else { return None };
        let feed = harness.assembly.element(id).first().copied();
        let words = format!("no voltage arrives on the vehicle's wire {}", harness.part(id).1);
        Some((words, Harm::circuit(Variant::open(feed))))
    })
}

/// A wire of the vehicle that follows an input stays on.
pub fn feed_stuck(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ElementKind::Feed(_) = kind else { return None };
        let feed = harness.assembly.element(id).first().copied()?;
        let words = format!("the vehicle's wire {} stays on", harness.part(id).1);
        Some((words, Harm::circuit(Change::Closed(feed)).shorting()))
    })
}

/// The battery's voltage breaks down.
pub fn battery_weak(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ElementKind::Battery { volts, .. } = kind else { return None };
        let source: BranchId = harness.assembly.element(id).first().copied()?;
        let weak = Change::Supply(source, Volts::new(volts[1].value() * WEAK));
        let harm = Harm { weak: true, ..Harm::circuit(weak) };
        Some((format!("supply {} is weak", harness.part(id).1), harm))
    })
}

/// An output no longer switches on.
pub fn output_dead(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ElementKind::Output { pin, .. } = kind else { return None };
        let words = format!("the output {} is dead", harness.model.pin_name(*pin));
        Some((words, Harm::circuit(harness.open(id))))
    })
}

/// An output stays on: a module, a timer or a trigger output is stuck.
pub fn output_stuck(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ElementKind::Output { pin, .. } = kind else { return None };
        let on = harness.assembly.element(id).first().copied()?;
        let words = format!("the output {} stays on", harness.model.pin_name(*pin));
        Some((words, Harm::circuit(Change::Closed(on)).shorting()))
    })
}

/// A switch no longer makes.
pub fn switch_dead(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let ElementKind::Throw { throw, .. } = kind else { return None };
        let words = format!("switch {}.{} no longer makes", harness.part(id).1, harness.model.pin(*throw).name);
        Some((words, Harm::circuit(harness.open(id))))
    })
}

/// A switch or a push button stays made: a welded contact, a jammed knob. Its other throws then never make.
pub fn switch_stuck(harness: &Harness) -> Vec<FoundFault> {
    let common_of = |id: ElementId| match harness.model.element(id).kind {
        ElementKind::Throw { common, .. } => Some(common),
        _ => None,
    };
    each(harness, |id, kind| {
        let ElementKind::Throw { input: Some(_), common, throw, .. } = kind else { return None };
        let others = harness.elements().filter(|other| *other != id && common_of(*other) == Some(*common));
        let open = others.flat_map(|other| harness.assembly.element(other)).map(|branch| Change::Open(*branch));
        let closed = harness.assembly.element(id).iter().map(|branch| Change::Closed(*branch));
        let variant: Variant = closed.chain(open).collect();
        let words = format!("switch {}.{} stays made", harness.part(id).1, harness.model.pin(*throw).name);
        Some((words, Harm::circuit(variant).shorting()))
    })
}

/// A lamp, buzzer or module draws nothing. Of a camera or a screen, another kind says what is missing.
pub fn load_dead(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |id, kind| {
        let (part, name) = harness.part(id);
        let is_seen = harness.model.works.iter().any(|promise| promise.part == part);
        let harm = || Harm { dead: vec![part], ..Harm::circuit(harness.open(id)) };
        (matches!(kind, ElementKind::Load(_)) && is_seen).then(|| (format!("{name} is dead"), harm()))
    })
}

/// A contact that stays where it is at rest, or as when its coil pulls.
fn stuck(harness: &Harness, id: ElementId, is_made: bool) -> Variant {
    stuck_contacts::stuck(harness.model, harness.assembly, id, is_made).into_iter().collect()
}

fn each(harness: &Harness, found: impl Fn(ElementId, &ElementKind) -> Option<(String, Harm)>) -> Vec<FoundFault> {
    let of = |id: ElementId| {
        let (words, harm) = found(id, &harness.model.element(id).kind)?;
        Some(FoundFault { words, at: vec![harness.part(id).0], harm })
    };
    harness.elements().filter_map(of).collect()
}
