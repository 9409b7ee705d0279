//! Wires whose ends at their sources are exchanged, or one wire on the wrong source: relays, cameras and modules get their
//! feed from the wrong place, and each of them causes a finding.

use super::alike::unfed;
use super::cavities::named_pins;
use super::diodes::LEAST;
use super::elsewhere::{Elsewhere, skips_fuse};
use super::suspects::{is_dead, is_loaded};
use crate::{Finding, Repair, Severity};
use facts::Facts;
use facts::consumers::Consumer;
use facts::walk::Towards;
use model::{Domain, ElementKind, Model, PartId, PartKind, PinId, WireId};
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, BTreeSet};

/// Most wires that are looked at, and most repairs that are tried.
const MOST_WIRES: usize = 20;
const MOST: usize = 60;

/// Most pairs at one part that are tried.
const MOST_IN_PARTS: usize = 24;

/// Rules about what has no feed, or a feed at the wrong time.
const OF_WIRING: [&str; 4] = ["net/part-unpowered", "logic/view-differs", "logic/works-differs", "logic/standard-pin"];

/// How many relays may be between a fault and what shows it.
const DEPTH: usize = 3;

/// Two wires with exchanged ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CrossedEnds {
    /// Each wire with its end now.
    pub ends: [(WireId, PinId); 2],
}

impl CrossedEnds {
    pub fn repair(self) -> Repair {
        Repair::Ends(self.ends)
    }
}

/// The pairs to try for open findings, and the wires that may belong on another source.
pub fn rewired(facts: &Facts, open: &[Finding]) -> (Vec<CrossedEnds>, Vec<Elsewhere>) {
    let model = facts.model;
    let errors: Vec<&Finding> = open.iter().filter(|f| f.severity == Severity::Error && shows(f)).collect();
    // One weak feed alone has a diode or a thin wire in it, and says so.
    let is_of_wiring = errors.iter().any(|finding| OF_WIRING.contains(&finding.rule));
    // A part that is measured to be wrong for its place is.
    let is_measured = |finding: &&Finding| {
        matches!(finding.repair, Some(Repair::Rated(..) | Repair::Gives(..) | Repair::Coil(..) | Repair::Latching(_)))
    };
    if errors.len() < LEAST || !is_of_wiring || open.iter().any(|finding| is_measured(&finding)) {
        return (Vec::new(), Vec::new());
    }
    let (named, takers) = (named_pins(model), takers(model));
    let mut weights: BTreeMap<WireId, usize> = BTreeMap::new();
    let mut source_end: BTreeMap<WireId, PinId> = BTreeMap::new();
    for finding in &errors {
        let mut mine: BTreeSet<WireId> = BTreeSet::new();
        let up = upstream(facts, starts(facts, &named, finding)).into_iter();
        // Ends that are exchanged at what takes the current do the same as those at its sources.
        for (wire, from) in up.filter(|(_, from)| !takers.contains(from)) {
            source_end.entry(wire).or_insert(from);
            mine.insert(wire);
        }
        mine.into_iter().for_each(|wire| *weights.entry(wire).or_default() += 1);
    }
    let mut wires: Vec<WireId> = weights.keys().copied().collect();
    wires.sort_by_key(|wire| std::cmp::Reverse(weights[wire]));
    wires.truncate(MOST_WIRES);
    let net = |pin: PinId| facts.nets().of(pin);
    let feeding = Feeding::new(facts, &errors);
    // The other wire may lead to where nothing shows; then what is dead says whether the exchange can help.
    let all = if feeding.dead.is_empty() { Vec::new() } else { upstream(facts, takers.iter().copied().collect()) };
    let all = all.into_iter().filter(|(_, end)| !takers.contains(end));
    let named_first = wires.iter().map(|wire| (*wire, source_end[wire]));
    let mut others: Vec<(WireId, PinId)> = Vec::new();
    for (wire, end) in named_first.chain(all) {
        if !others.iter().any(|other| other.0 == wire) {
            others.push((wire, end));
        }
    }
    let mut pairs: Vec<CrossedEnds> = Vec::new();
    let mut moves: Vec<Elsewhere> = Vec::new();
    let open_sources = open_sources(facts);
    for (i, &wire) in wires.iter().enumerate() {
        let own = (wire, source_end[&wire]);
        let mut tried = BTreeSet::from([net(own.1)]);
        let to_open = open_sources.iter().filter(|to| feeding.helps(&[(own, **to)]));
        moves.extend(to_open.map(|to| Elsewhere { wire, from: own.1, to: *to }));
        for (at, &other) in others.iter().enumerate().filter(|(_, other)| other.0 != wire && net(other.1) != net(own.1))
        {
            let is_new = at > i && !pairs.iter().any(|pair| pair.ends == [other, own]);
            if is_new && feeding.helps(&[(own, other.1), (other, own.1)]) {
                pairs.push(CrossedEnds { ends: [own, other] });
            }
            if tried.insert(net(other.1)) && !skips_fuse(facts, own, other.1) && feeding.helps(&[(own, other.1)]) {
                moves.push(Elsewhere { wire, from: own.1, to: other.1 });
            }
        }
    }
    // Ends are mixed up where they meet, and two wires that findings name are likelier than one.
    let place = |pin: PinId| model.part(model.pin(pin).part).at;
    let rank = |[one, other]: [(WireId, PinId); 2]| (place(one.1) != place(other.1), !wires.contains(&other.0));
    pairs.sort_by_key(|pair| rank(pair.ends));
    moves.sort_by_key(|one| (!open_sources.contains(&one.to), place(one.from) != place(one.to)));
    let in_parts = in_one_part(facts, &errors);
    let in_parts = in_parts
        .into_iter()
        .filter(|pair| feeding.helps(&[(pair.ends[0], pair.ends[1].1), (pair.ends[1], pair.ends[0].1)]));
    let in_parts: Vec<CrossedEnds> = in_parts.take(MOST_IN_PARTS).collect();
    let pairs = in_parts.iter().copied().chain(pairs.into_iter().filter(|pair| !in_parts.contains(pair)));
    let pairs: Vec<CrossedEnds> = pairs.take(MOST).collect();
    moves.truncate(MOST);
    (pairs, moves)
}

/// Two wires on pins of one part that findings name, where one pin has several: the pins as a whole are no exchange then.
fn in_one_part(facts: &Facts, errors: &[&Finding]) -> Vec<CrossedEnds> {
    let model = facts.model;
    let named =
        errors.iter().filter_map(|finding| model.part_named(finding.about.split('.').next().unwrap_or_default()));
    let parts: BTreeSet<PartId> = named.filter(|part| model.part(*part).kind == PartKind::Device).collect();
    let mut all = Vec::new();
    for part in parts {
        let pins = &model.part(part).pins;
        let wires = |pin: PinId| facts.connectivity().wires_on(pin);
        for (i, &a) in pins.iter().enumerate() {
            for &b in pins[i + 1..].iter().filter(|b| wires(a).len().max(wires(**b).len()) > 1) {
                let of_a = wires(a).iter().filter(|wire| !wires(b).contains(wire));
                let pair = |one: &WireId, other: &WireId| CrossedEnds { ends: [(*one, a), (*other, b)] };
                all.extend(of_a.flat_map(|one| wires(b).iter().map(move |other| pair(one, other))));
            }
        }
    }
    all
}

/// The pins of fuses, contacts, outputs and converters on which nothing ends.
pub fn open_sources(facts: &Facts) -> Vec<PinId> {
    let of = |element: &model::Element| match &element.kind {
        ElementKind::Fuse { between, .. } => between.to_vec(),
        ElementKind::Contact { made, rest, .. } => [*made, *rest].into_iter().flatten().collect(),
        ElementKind::Output { pin, high_side: true, .. } | ElementKind::Converter { output: pin, .. } => vec![*pin],
        _ => Vec::new(),
    };
    let pins = facts.model.elements.iter().flat_map(of);
    pins.filter(|pin| !facts.connectivity().is_joined(*pin) && facts.connectivity().is_fed(*pin)).collect()
}

/// The pins of loads, coils, converters and triggers that take a current.
fn takers(model: &Model) -> BTreeSet<PinId> {
    let pin = |element: &model::Element| match &element.kind {
        ElementKind::Load(load) => Some(load.feed),
        ElementKind::Coil(coil) => Some(coil.feed),
        ElementKind::Converter { input, .. } => Some(*input),
        ElementKind::Sense { pin, .. } => Some(*pin),
        _ => None,
    };
    model.elements.iter().filter_map(pin).collect()
}

/// What feeds what, through metal and diodes, whatever is switched.
struct Feeding<'m> {
    model: &'m Model,
    /// The feeds of findings that no supply reaches.
    dead: Vec<PinId>,
    /// The other feeds that one reaches.
    fed: Vec<PinId>,
}

/// A wire with its end, and the pin to which that goes.
type Rewiring = ((WireId, PinId), PinId);

impl<'m> Feeding<'m> {
    fn new(facts: &Facts<'m>, errors: &[&Finding]) -> Feeding<'m> {
        let model = facts.model;
        let dead: Vec<PinId> = errors.iter().filter_map(|finding| unfed(facts, finding)).collect();
        let mut feeding = Feeding { model, dead, fed: Vec::new() };
        let is_fed = feeding.fed_pins(&[]);
        let feeds = model.elements.iter().filter_map(|element| match &element.kind {
            ElementKind::Load(load) => Some(load.feed),
            ElementKind::Coil(coil) => Some(coil.feed),
            ElementKind::Converter { input, .. } => Some(*input),
            _ => None,
        });
        feeding.fed = feeds.filter(|pin| is_fed[pin.0]).collect();
        feeding
    }

    /// For each pin, whether a supply is joined to it.
    fn fed_pins(&self, moved: &[Rewiring]) -> Vec<bool> {
        let mut joined = UnionFind::new(self.model.pins.len());
        for (i, wire) in self.model.wires.iter().enumerate() {
            let to =
                |end: PinId| moved.iter().find(|((of, from), _)| of.0 == i && *from == end).map_or(end, |one| one.1);
            let [a, b] = wire.ends.map(to);
            joined.union(a.0, b.0);
        }
        let inside = self.model.elements.iter().flat_map(|element| {
            let diode = match element.kind {
                ElementKind::Diode { anode, cathode, .. } => Some([anode, cathode]),
                ElementKind::Output { pin, other, high_side: true, .. } => Some([other, pin]),
                _ => None,
            };
            element.metal_paths().chain(diode)
        });
        inside.chain(self.model.joints.iter().map(|joint| joint.pins)).for_each(|[a, b]| {
            joined.union(a.0, b.0);
        });
        let net = joined.into_labeling();
        let mut is_fed = vec![false; net.len()];
        for element in &self.model.elements {
            match &element.kind {
                ElementKind::Battery { plus: supply, .. }
                | ElementKind::Derived { pin: supply, .. }
                | ElementKind::Converter { output: supply, .. } => is_fed[net[supply.0]] = true,
                ElementKind::Feed(feed) => is_fed[net[feed.pin.0]] = true,
                _ => {}
            }
        }
        net.into_iter().map(|net| is_fed[net]).collect()
    }

    /// Whether everything that is dead may be fed then, and all else as before.
    fn helps(&self, moved: &[Rewiring]) -> bool {
        let is_fed = self.fed_pins(moved);
        self.dead.iter().chain(&self.fed).all(|pin| is_fed[pin.0])
    }
}

/// Whether a finding shows that something has no feed, or the wrong one.
pub fn shows(finding: &Finding) -> bool {
    is_dead(finding) || is_loaded(finding)
}

/// The pins from which the feeds of a finding are followed back.
fn starts(facts: &Facts, named: &BTreeMap<String, PinId>, finding: &Finding) -> Vec<PinId> {
    let model = facts.model;
    let part = model.part_named(finding.about.split('.').next().unwrap_or_default());
    let screen = finding.involved.screen.map(|screen| model.screens[screen.0].part);
    let parts = [part, finding.involved.wanted(), screen].into_iter().flatten();
    let of_parts = parts.flat_map(|part| {
        let feeds = Consumer::of_part(facts.connectivity(), part).into_iter().filter_map(|consumer| consumer.feed);
        let triggers = model.part(part).elements.iter().filter_map(|id| match &model.element(*id).kind {
            ElementKind::Sense { pin, .. } => Some(*pin),
            _ => None,
        });
        feeds.chain(triggers).collect::<Vec<PinId>>()
    });
    let on_path = finding.evidence.path.iter().filter_map(|point| named.get(&point.pin).copied());
    let mut all: Vec<PinId> = unfed(facts, finding).into_iter().chain(of_parts).chain(on_path).collect();
    all.dedup();
    all
}

/// The wires on the ways from pins back to supplies, each with its end at the source; those of the coils of relays on the way too.
fn upstream(facts: &Facts, starts: Vec<PinId>) -> Vec<(WireId, PinId)> {
    let model = facts.model;
    let mut all: Vec<(WireId, PinId)> = Vec::new();
    let mut ahead = starts;
    let mut done: BTreeSet<PinId> = BTreeSet::new();
    for _ in 0..DEPTH {
        let mut relays = BTreeSet::new();
        for pin in std::mem::take(&mut ahead) {
            if !done.insert(pin) {
                continue;
            }
            let reached = facts.connectivity().reached(pin, Towards::Supply);
            let position: BTreeMap<PinId, usize> = reached.iter().enumerate().map(|(i, pin)| (*pin, i)).collect();
            for wire in model.wire_ids().filter(|wire| carries(facts, *wire)) {
                let [a, b] = model.wire(wire).ends;
                if let (Some(near), Some(far)) = (position.get(&a), position.get(&b)) {
                    all.push((wire, if near > far { a } else { b }));
                }
            }
            relays.extend(reached.iter().map(|pin| model.pin(*pin).part));
        }
        let coils = model.coils().filter(|(id, _)| relays.contains(&model.element(*id).part));
        ahead = coils.map(|(_, coil)| coil.feed).collect();
    }
    all
}

fn carries(facts: &Facts, wire: WireId) -> bool {
    matches!(facts.model.wire(wire).domain, Domain::Power | Domain::Trigger)
}
