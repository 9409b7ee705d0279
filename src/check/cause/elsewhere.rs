//! Wires on a feed or a ground that comes at the wrong time, where the right one has wires already: a wire of the part that
//! works at the wrong time, moved to each other source. Which source is meant only the plan says, so all near must be right.

use super::regions::Regions;
use super::sources::{OnWrongFeed, trigger_wires};
use super::suspects::is_dead;
use crate::{Finding, Repair};
use facts::Facts;
use facts::consumers::Consumer;
use model::{ElementKind, Model, PartId, PartKind, PinId, WireId};

/// Most moves that are tried.
const MOST: usize = 32;

/// A wire that may belong on another source.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Elsewhere {
    /// The wire.
    pub wire: WireId,
    /// Its end now.
    pub from: PinId,
    /// Where all works as asked.
    pub to: PinId,
}

impl Elsewhere {
    pub fn repair(self) -> Repair {
        Repair::Moved(self.wire, self.from, self.to)
    }

    /// Whether a finding counts, and speaks against the move if it stays.
    pub fn counts(finding: &Finding) -> bool {
        OnWrongFeed::counts(finding) || is_dead(finding)
    }

    /// Whether a finding that stays is near.
    pub fn must_go(self, facts: &Facts, finding: &Finding, regions: &Regions) -> bool {
        let part = |pin: PinId| facts.model.pin(pin).part;
        facts.model.wire(self.wire).ends.into_iter().any(|pin| regions.may_reach(finding, part(pin)))
    }
}

/// The moves to try for open findings.
pub fn elsewhere(facts: &Facts, open: &[Finding]) -> Vec<Elsewhere> {
    let model = facts.model;
    let mut wires: Vec<(WireId, PinId, bool)> = Vec::new();
    for finding in open.iter().filter(|finding| OnWrongFeed::counts(finding)) {
        let Some(part) = at_wrong_time(model, finding) else { continue };
        for consumer in Consumer::of_part(facts.connectivity(), part) {
            for (pin, is_feed) in [(consumer.feed, true), (consumer.ground, false)] {
                let Some(pin) = pin else { continue };
                let all = wires_to(facts, pin).into_iter();
                wires.extend(all.map(|(wire, far)| (wire, far, is_feed)));
            }
        }
    }
    wires.extend(trigger_wires(facts, open).into_iter().map(|(wire, far)| (wire, far, true)));
    let (feeds, grounds) = (feeds(facts), grounds(model));
    let mut all: Vec<Elsewhere> = Vec::new();
    for (wire, from, is_feed) in wires {
        let targets = if is_feed { &feeds } else { &grounds };
        let is_other = |to: &&PinId| {
            facts.nets().of(**to) != facts.nets().of(from) && !(is_feed && skips_fuse(facts, (wire, from), **to))
        };
        for to in targets.iter().filter(is_other) {
            let one = Elsewhere { wire, from, to: *to };
            if !all.contains(&one) {
                all.push(one);
            }
        }
    }
    all.truncate(MOST);
    all
}

/// The part that works at the wrong time, or the camera whose picture is missing.
fn at_wrong_time(model: &Model, finding: &Finding) -> Option<PartId> {
    match finding.rule {
        "logic/works-differs" => model.part_named(&finding.about),
        "logic/view-differs" => finding.involved.without_picture().and(finding.involved.wanted()),
        _ => None,
    }
}

/// The wires on a pin, or on what is plugged onto it, each with its far end.
fn wires_to(facts: &Facts, pin: PinId) -> Vec<(WireId, PinId)> {
    let near = std::iter::once(pin).chain(facts.connectivity().mates(pin));
    let far = |wire: WireId, near: PinId| {
        let ends = facts.model.wire(wire).ends;
        ends[usize::from(ends[0] == near)]
    };
    let wires = near.flat_map(|near| facts.connectivity().wires_on(near).iter().map(move |wire| (*wire, near)));
    wires.map(|(wire, near)| (wire, far(wire, near))).collect()
}

/// What may feed a wire: inputs, supplies, fuses, contacts and outputs.
fn feeds(facts: &Facts) -> Vec<PinId> {
    let model = facts.model;
    let has_wire = |pin: &PinId| !facts.connectivity().wires_on(*pin).is_empty();
    let of = |element: &model::Element| match &element.kind {
        ElementKind::Feed(feed) => vec![feed.pin],
        ElementKind::Fuse { between, .. } => between.to_vec(),
        ElementKind::Contact { made, rest, .. } => [*made, *rest].into_iter().flatten().collect(),
        ElementKind::Output { pin, high_side: true, .. } => vec![*pin],
        _ => Vec::new(),
    };
    let is_feed = |element: &&model::Element| matches!(element.kind, ElementKind::Feed(_));
    let (first, others): (Vec<_>, Vec<_>) = model.elements.iter().partition(is_feed);
    let others = others.into_iter().flat_map(of).filter(has_wire);
    // A fuse's side of the supply gives no protection.
    let is_behind_fuse = |pin: &PinId| !on_vehicle(facts, *pin);
    first.into_iter().flat_map(of).chain(others.filter(is_behind_fuse)).collect()
}

/// Whether a net holds a pin of the vehicle.
fn on_vehicle(facts: &Facts, pin: PinId) -> bool {
    let kind = |pin: &PinId| facts.model.part(facts.model.pin(*pin).part).kind;
    facts.nets().with(pin).iter().any(|pin| matches!(kind(pin), PartKind::Supply))
}

/// What may lead a wire to ground: the throws of switches, and outputs to ground.
fn grounds(model: &Model) -> Vec<PinId> {
    let pins = model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Throw { throw, .. } => Some(*throw),
        ElementKind::Output { pin, high_side: false, .. } => Some(*pin),
        _ => None,
    });
    pins.collect()
}

/// Whether a wire whose end comes to a pin of the vehicle loses the fuse before it: it comes from no such pin, and does not lead to
/// a fuse.
pub fn skips_fuse(facts: &Facts, (wire, from): (WireId, PinId), to: PinId) -> bool {
    let model = facts.model;
    let part = |pin: PinId| model.part(model.pin(pin).part);
    let is_vehicles = |pin: PinId| matches!(part(pin).kind, PartKind::Supply | PartKind::Feed);
    let is_fuse = |pin: PinId| {
        let elements = part(pin).elements.iter();
        elements.into_iter().any(|id| matches!(model.element(*id).kind, ElementKind::Fuse { .. }))
    };
    is_vehicles(to) && !is_vehicles(from) && !model.wire(wire).ends.into_iter().any(|end| end != from && is_fuse(end))
}
