//! Wires that several parts share, on wrong pins: two cavities crossed in a plug, the wires of two parts exchanged, a common
//! ground wire that ends on a feed. Each part shows it by itself, as if its own two wires were swapped.

use super::cavities::cavities;
use super::diodes::is_fed_back;
use super::regions::Regions;
use super::sources::OnWrongFeed;
use super::suspects::is_dead;
use crate::{Finding, Repair, Severity};
use facts::Facts;
use facts::consumers::Consumer;
use facts::walk::Towards;
use model::{Domain, ElementKind, PartId, PartKind, PinId, WireId};
use std::collections::{BTreeMap, BTreeSet};

/// Most repairs that are tried.
const MOST: usize = 24;

/// What may be crossed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Crossed {
    /// The wires of two pins, of one plug or of two parts.
    Pins(PinId, PinId),
    /// The wires of two cavities of one plug that carry different things.
    Cavities(PinId, PinId),
    /// A wire that ends on this pin of a feed, and belongs on a ground point.
    OffGround { wire: WireId, from: PinId, to: PinId },
}

impl Crossed {
    pub fn repair(self) -> Repair {
        match self {
            Crossed::Pins(a, b) | Crossed::Cavities(a, b) => Repair::Exchange(a, b),
            Crossed::OffGround { wire, from, to } => Repair::Moved(wire, from, to),
        }
    }

    /// Whether a finding that stays speaks against it: something near that still does not work.
    pub fn must_go(self, facts: &Facts, finding: &Finding, regions: &Regions) -> bool {
        let pins = match self {
            Crossed::Pins(a, b) | Crossed::Cavities(a, b) => [a, b],
            Crossed::OffGround { wire, .. } => facts.model.wire(wire).ends,
        };
        let is_near = || pins.iter().any(|pin| regions.may_reach(finding, facts.model.pin(*pin).part));
        finding.severity == Severity::Error && self.counts(finding) && is_near()
    }

    /// Whether a finding shows that something is crossed.
    pub fn counts(self, finding: &Finding) -> bool {
        let is_shown = is_fed_back(&finding) || OnWrongFeed::counts(finding);
        is_dead(finding) || matches!(self, Crossed::Cavities(..)) && (is_shown || BY_CAVITIES.contains(&finding.rule))
    }
}

/// More rules that report what crossed cavities do.
const BY_CAVITIES: [&str; 3] = ["net/mixed-kinds", "net/outputs-joined", "logic/chatter"];

/// A part that has no ground where it should have one.
struct Ungrounded {
    part: PartId,
    ground: PinId,
    /// It belongs on the feed that its ground is on now.
    is_between_feeds: bool,
}

/// What to try for open findings, what explains several parts first.
pub fn crossed(facts: &Facts, open: &[Finding]) -> Vec<Crossed> {
    let all: Vec<Ungrounded> = open.iter().filter_map(|finding| ungrounded(facts, finding)).collect();
    let mut crossed = in_plugs(facts, &all);
    crossed.extend(between_parts(facts, open, &all));
    crossed.extend(pictures(facts, open));
    crossed.extend(off_ground(facts, &all));
    crossed.truncate(MOST);
    for pair in cavities(facts, open).into_iter().filter(|pair| !pair.is_of_one_part) {
        let [a, b] = pair.pins;
        let is_listed = [Crossed::Pins(a, b), Crossed::Pins(b, a)].iter().any(|other| crossed.contains(other));
        crossed.extend((!is_listed).then_some(Crossed::Cavities(a, b)));
    }
    crossed
}

/// The part of a finding whose ground is on a feed, or on nothing.
fn ungrounded(facts: &Facts, finding: &Finding) -> Option<Ungrounded> {
    if !["net/ground-missing", "net/part-unpowered"].contains(&finding.rule) {
        return None;
    }
    let part = facts.model.part_named(&finding.about)?;
    let grounds = Consumer::of_part(facts.connectivity(), part).into_iter().filter_map(|consumer| consumer.ground);
    let ground = grounds.filter(|pin| !facts.connectivity().is_grounded(*pin)).min()?;
    let is_between_feeds = matches!(finding.repair, Some(Repair::FedByGround(..)));
    Some(Ungrounded { part, ground, is_between_feeds })
}

/// Two cavities of a plug: one on the net that several parts have as their ground, one on a ground.
fn in_plugs(facts: &Facts, all: &[Ungrounded]) -> Vec<Crossed> {
    let model = facts.model;
    let mut of_net: BTreeMap<usize, BTreeSet<PartId>> = BTreeMap::new();
    for one in all {
        of_net.entry(facts.nets().of(one.ground)).or_default().insert(one.part);
    }
    let is_shared = |pin: PinId| of_net.get(&facts.nets().of(pin)).is_some_and(|parts| parts.len() > 1);
    let has_wire = |pin: PinId| !facts.connectivity().wires_on(pin).is_empty();
    let plugs = model.part_ids().filter(|part| model.part(*part).kind == PartKind::Connector);
    let pairs = plugs.flat_map(|part| {
        let pins = || model.part(part).pins.iter().copied().filter(|pin| has_wire(*pin));
        let on_ground = move |pin: &PinId| facts.connectivity().is_grounded(*pin);
        pins().filter(|pin| is_shared(*pin)).flat_map(move |a| {
            let others = model.part(part).pins.iter().copied().filter(|pin| has_wire(*pin)).filter(on_ground);
            others.map(move |b| Crossed::Pins(a, b)).collect::<Vec<_>>()
        })
    });
    pairs.collect()
}

/// The ground of one part and the feed of another, each on what the other should have.
fn between_parts(facts: &Facts, open: &[Finding], all: &[Ungrounded]) -> Vec<Crossed> {
    let connectivity = facts.connectivity();
    let feeds = open.iter().filter(|finding| finding.rule == "net/part-unpowered" && finding.repair.is_none());
    let on_ground = |pin: &PinId| !connectivity.is_fed(*pin) && connectivity.is_grounded(*pin);
    let feeds = feeds.filter_map(|finding| super::alike::unfed(facts, finding)).filter(on_ground);
    let on_feed = |one: &&Ungrounded| connectivity.is_fed(one.ground);
    let others = |feed: PinId| all.iter().filter(on_feed).map(move |one| Crossed::Pins(one.ground, feed));
    feeds.flat_map(others).collect()
}

/// Two cables of pictures in one plug, where several views show the wrong picture.
fn pictures(facts: &Facts, open: &[Finding]) -> Vec<Crossed> {
    let model = facts.model;
    if open.iter().filter(|finding| finding.rule == "logic/view-differs").count() < 2 {
        return Vec::new();
    }
    let mut all = Vec::new();
    for part in model.part_ids().filter(|part| model.part(*part).kind == PartKind::Connector) {
        let is_picture = |pin: &PinId| {
            facts.connectivity().wires_on(*pin).iter().any(|wire| model.wire(*wire).domain == Domain::Video)
        };
        let pins: Vec<PinId> = model.part(part).pins.iter().copied().filter(is_picture).collect();
        for (i, a) in pins.iter().enumerate() {
            all.extend(pins[i + 1..].iter().map(|b| Crossed::Pins(*a, *b)));
        }
    }
    all
}

/// Each wire on the way from a ground to a feed that ends on a pin of that feed, with the ground point.
fn off_ground(facts: &Facts, all: &[Ungrounded]) -> Vec<Crossed> {
    let model = facts.model;
    let point = model.elements.iter().find_map(|element| match element.kind {
        ElementKind::GroundPoint { pin, .. } => Some(pin),
        _ => None,
    });
    let Some(to) = point else { return Vec::new() };
    let mut found: Vec<Crossed> = Vec::new();
    for one in all.iter().filter(|one| !one.is_between_feeds) {
        let reached = facts.connectivity().reached(one.ground, Towards::Ground);
        let own = |pin: PinId| model.pin(pin).part == one.part;
        let position = |pin: PinId| reached.iter().position(|other| *other == pin);
        for wire in model.wire_ids() {
            let [a, b] = model.wire(wire).ends;
            let (Some(near), Some(far)) = (position(a), position(b)) else { continue };
            let from = if near > far { a } else { b };
            let candidate = Crossed::OffGround { wire, from, to };
            if !own(from) && facts.connectivity().is_fed(from) && !found.contains(&candidate) {
                found.push(candidate);
            }
        }
    }
    found
}
