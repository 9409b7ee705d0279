use crate::{Finding, Finds, Rule, Severity, tables};
use facts::Facts;
use facts::protection::Guard;
use facts::walk::{Label, Towards, walk};
use graph::Link;
use model::{ElementKind, PartKind, PinId, VehicleFuse, WireId, conductor};
use quantity::{Amps, Metres};
use std::cmp::Ordering;
use std::collections::BTreeSet;

pub const RULE: Rule = Rule {
    name: "safety/feed-without-fuse",
    severity: Severity::Error,
    explanation: include_str!("feed_without_fuse.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    for id in facts.model.wire_ids() {
        for end in facts.model.wire(id).ends {
            let kind = facts.model.part(facts.model.pin(end).part).kind;
            match (kind, facts.protection().of(id)) {
                (PartKind::Supply, Guard::Open(_)) if is_reported_at_its_other_end(facts, id, end) => {}
                (PartKind::Supply, Guard::Open(_)) => findings.extend(behind(facts, end, id)),
                (PartKind::Supply, Guard::Vehicle(fuse)) => findings.extend(by_the_vehicle(facts, end, id, fuse)),
                // A tapped wire is fused in the vehicle; the question is how.
                (PartKind::Feed, Guard::Vehicle(fuse)) if !fuse.is_known => {
                    findings.extend(by_the_vehicle(facts, end, id, fuse));
                }
                _ => {}
            }
        }
    }
    findings
}

/// Whether a wire leads straight to another supply and is reported from there. A supply with its own volts comes before
/// one behind a fuse of the vehicle; of two alike, the first counts.
fn is_reported_at_its_other_end(facts: &Facts, id: WireId, end: PinId) -> bool {
    let ends = facts.model.wire(id).ends;
    let other = ends[usize::from(ends[0] == end)];
    let rank = |pin: PinId| (facts.model.vehicle_fuse(pin).is_some(), is_fed_supply(facts, pin), pin);
    is_supply(facts, other) && rank(other) < rank(end)
}

fn is_supply(facts: &Facts, pin: PinId) -> bool {
    facts.model.part(facts.model.pin(pin).part).kind == PartKind::Supply
}

/// Whether a pin is a supply that another supply feeds, with the vehicle's other loads on it.
fn is_fed_supply(facts: &Facts, pin: PinId) -> bool {
    let elements = &facts.model.part(facts.model.pin(pin).part).elements;
    elements
        .iter()
        .any(|id| matches!(facts.model.element(*id).kind, ElementKind::Derived { pin: own, .. } if own == pin))
}

/// A supply or a tapped wire that feeds a consumer through no fuse of the harness. Where the assumed fuse is too large for the
/// wire, safety/fuse-above-wire reports it.
fn by_the_vehicle(facts: &Facts, source: PinId, first: WireId, fuse: VehicleFuse) -> Option<Finding> {
    let consumer = unfused(facts, source, first).consumer?;
    if !fuse.is_known && fuse.rating > carries(facts, first) {
        return None;
    }
    let model = facts.model;
    let (wire, from, to) = (facts.names().wire(first), model.pin_name(source), model.pin_name(consumer));
    let message = format!("{wire} connects `{from}` to `{to}` with no fuse but the vehicle's");
    let finding =
        RULE.finding(model.wire(first).place, message).about(wire).label("no fuse of the harness in this path");
    let finding = match fuse.is_known {
        true => finding
            .value("rating of the vehicle's fuse, from `fuse`", fuse.rating)
            .hint(format!("check that the vehicle has this fuse; otherwise put one close to `{from}`")),
        false => finding
            .value("assumed rating of the vehicle's fuse", fuse.rating)
            .hint(format!("look up its rating and give it as `fuse` of `{from}`, or put a fuse close to `{from}`")),
    };
    Some(Finding { severity: Severity::Note, ..finding })
}

/// Whether every wire on a source of current has a fuse of the harness close by, before any consumer.
pub(super) fn is_fused_close_by(facts: &Facts, source: PinId) -> bool {
    facts.connectivity().wires_on(source).iter().all(|wire| {
        let found = unfused(facts, source, *wire);
        found.consumer.is_none() && found.far.1 <= found.most()
    })
}

/// The current that a wire may carry in its bundle.
fn carries(facts: &Facts, id: WireId) -> Amps {
    let hot = size::in_engine_space(facts.model, id);
    conductor::ampacity(facts.model.wire(id).gauge, facts.bundles().loaded(id), hot)
}

/// The part of the harness between a supply and the first fuses behind one of its wires.
struct Unfused {
    /// The farthest point.
    far: (PinId, Metres),
    /// The first consumer that is met.
    consumer: Option<PinId>,
    /// Whether conduit or sleeve covers all of it.
    sheathed: bool,
}

impl Unfused {
    /// The most wire before the first fuse.
    fn most(&self) -> Metres {
        if self.sheathed { tables::fuse_distance_sheathed() } else { tables::fuse_distance() }
    }
}

fn behind(facts: &Facts, supply: PinId, first: WireId) -> Option<Finding> {
    let found = unfused(facts, supply, first);
    let model = facts.model;
    let (wire, from) = (facts.names().wire(first), model.pin_name(supply));
    let place = model.wire(first).place;
    let (pin, length) = found.far;
    let finding = match found.consumer {
        Some(consumer) => {
            let to = model.pin_name(consumer);
            RULE.finding(place, format!("{wire} connects `{from}` to `{to}` without a fuse"))
                .label("no fuse in this path")
                .hint(format!("put a fuse close to `{from}`, rated for the thinnest wire behind it"))
        }
        None => {
            let most = found.most();
            if length <= most {
                return None;
            }
            let to = model.pin_name(pin);
            let hint = match model.part(model.pin(pin).part).kind {
                // Both feed a short between them.
                PartKind::Supply => format!("put a fuse close to `{from}` and one close to `{to}`"),
                PartKind::Ground => format!("put a fuse close to `{from}`"),
                _ => format!("move the fuse closer to `{from}`, or give the wire its true `length`"),
            };
            RULE.finding(place, format!("{length} of wire without a fuse from `{from}` to `{to}`, limit {most}"))
                .label("unfused from here")
                .limit("wire before the fuse", length, most)
                .hint(hint)
        }
    };
    Some(finding.about(wire))
}

/// The length of wire behind a supply; the nearest pins come first.
#[derive(Clone, Copy)]
struct Behind(Metres);

impl Label for Behind {
    fn order(&self, other: &Behind) -> Ordering {
        self.0.value().total_cmp(&other.0.value())
    }
}

/// Walks from a supply along one of its wires, through everything that conducts, up to the first fuse in each path.
fn unfused(facts: &Facts, supply: PinId, first: WireId) -> Unfused {
    let model = facts.model;
    let ends_walk =
        |pin| matches!(model.part(model.pin(pin).part).kind, PartKind::Supply | PartKind::Ground) && pin != supply;
    let start = (supply, Behind(Metres::new(0.0)));
    let stands = walk(facts.connectivity().links(), Towards::Ground, &[start], &mut |here, hop| {
        let leaves_supply = here.pin == supply && hop.link != Link::Wire(first);
        // A wire to ground or to another supply counts with its length; the walk ends there.
        if leaves_supply || hop.to == supply || ends_walk(here.pin) || is_fuse(facts, hop.link) {
            return None;
        }
        Some(match hop.link {
            // build/wire-length reports a wire without a length.
            Link::Wire(id) => Behind(here.label.0 + model.wire(id).length.unwrap_or_default()),
            _ => here.label,
        })
    });
    let mut found = Unfused { far: (supply, Metres::new(0.0)), consumer: None, sheathed: true };
    let mut seen = BTreeSet::new();
    for stand in stands.iter().filter(|stand| seen.insert(stand.pin)) {
        if stand.label.0 > found.far.1 {
            found.far = (stand.pin, stand.label.0);
        }
        if found.consumer.is_none() && stand.pin != supply && is_consumer(facts, stand.pin) {
            found.consumer = Some(stand.pin);
        }
        if let Some((Link::Wire(id), _)) = stand.by {
            found.sheathed &= facts.bundles().is_sheathed(id);
        }
    }
    found
}

fn is_fuse(facts: &Facts, link: Link) -> bool {
    matches!(link, Link::Through(id, _) if matches!(facts.model.element(id).kind, ElementKind::Fuse { .. }))
}

/// Whether a pin is the input of a consumer.
fn is_consumer(facts: &Facts, pin: PinId) -> bool {
    let part = facts.model.part(facts.model.pin(pin).part);
    part.elements.iter().any(|id| match &facts.model.element(*id).kind {
        ElementKind::Load(load) => load.feed == pin,
        ElementKind::Coil(coil) => coil.feed == pin || coil.ground == pin,
        ElementKind::Converter { input, .. } => *input == pin,
        ElementKind::Output { other, high_side, .. } => *other == pin && *high_side,
        ElementKind::Sense { pin: sense, .. } => *sense == pin,
        // The vehicle's other loads.
        ElementKind::Derived { pin: own, .. } => *own == pin,
        _ => false,
    })
}
