//! Two cavities of one plug with each other's wires: any two wires of the plug that carry different things.

use super::alike::unfed;
use crate::{Finding, Repair};
use facts::Facts;
use model::{Domain, Model, PartId, PartKind, PinId, is_terminal};
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, BTreeSet};

/// Most pairs that are tried, for all plugs together.
const MOST: usize = 40;

/// Two cavities, and whether an exchange of two pins of one part does the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cavities {
    pub pins: [PinId; 2],
    pub is_of_one_part: bool,
}

/// The pairs to try for open findings, those that most findings touch first.
pub fn cavities(facts: &Facts, open: &[Finding]) -> Vec<Cavities> {
    let model = facts.model;
    let named = named_pins(model);
    let touched: Vec<BTreeSet<usize>> = open.iter().map(|finding| nets_of(facts, &named, finding)).collect();
    let weight = |pin: PinId| touched.iter().filter(|nets| nets.contains(&facts.nets().of(pin))).count();
    let has_wire = |pin: &PinId| !facts.connectivity().wires_on(*pin).is_empty();
    let mut all: Vec<([usize; 2], Cavities)> = Vec::new();
    let mut plugs: Vec<PartId> = Vec::new();
    for part in model.part_ids().filter(|part| model.part(*part).kind == PartKind::Connector) {
        let pins: Vec<PinId> = model.part(part).pins.iter().copied().filter(has_wire).collect();
        // An exchange in one half does what an exchange in the other does, unless a shield passes over one of the cavities.
        let has_shield = pins.iter().any(|pin| is_picture(facts, *pin));
        let mates: BTreeSet<PartId> =
            pins.iter().flat_map(|pin| facts.connectivity().mates(*pin)).map(|pin| model.pin(pin).part).collect();
        if !has_shield && plugs.iter().any(|plug| mates.contains(plug)) {
            continue;
        }
        plugs.push(part);
        let sides = Sides::new(model, &pins);
        for (i, &a) in pins.iter().enumerate() {
            for &b in pins[i + 1..].iter().filter(|b| differ(facts, a, **b)) {
                let [least, most] = [weight(a).min(weight(b)), weight(a).max(weight(b))];
                if most > 0 && !is_named(open, [a, b]) {
                    let is_of_one_part = sides.is_of_one_part(facts, a, b);
                    all.push(([least, most], Cavities { pins: [a, b], is_of_one_part }));
                }
            }
        }
    }
    all.sort_by_key(|(weights, _)| std::cmp::Reverse(*weights));
    all.into_iter().map(|(_, pair)| pair).take(MOST).collect()
}

/// Every pin by its printed name.
pub fn named_pins(model: &Model) -> BTreeMap<String, PinId> {
    model.pin_ids().map(|pin| (model.pin_name(pin), pin)).collect()
}

/// Whether a finding already says that the two are crossed.
fn is_named(open: &[Finding], [a, b]: [PinId; 2]) -> bool {
    let given = [Some(Repair::Exchange(a, b)), Some(Repair::Exchange(b, a))];
    open.iter().any(|finding| given.contains(&finding.repair))
}

/// Whether two cavities carry different things. Of two pictures only the views say which is meant.
fn differ(facts: &Facts, a: PinId, b: PinId) -> bool {
    facts.nets().of(a) != facts.nets().of(b) && !(is_picture(facts, a) && is_picture(facts, b))
}

fn is_picture(facts: &Facts, pin: PinId) -> bool {
    facts.connectivity().wires_on(pin).iter().any(|wire| facts.model.wire(*wire).domain == Domain::Video)
}

/// The nets where a finding shows: those of its current, of its pins, and those that feed its subject.
fn nets_of(facts: &Facts, named: &BTreeMap<String, PinId>, finding: &Finding) -> BTreeSet<usize> {
    let model = facts.model;
    let on_path = finding.evidence.path.iter().filter_map(|point| named.get(&point.pin).copied());
    let part = model.part_named(finding.about.split('.').next().unwrap_or_default());
    let screen = finding.about.strip_prefix("screen ");
    let screen = model.screens.iter().find(|one| screen == Some(one.name.as_str())).map(|one| one.part);
    let wanted = finding.involved.wanted();
    let parts = [part, screen, wanted].into_iter().flatten();
    let of_parts = parts.flat_map(|part| model.part(part).pins.iter().copied());
    let of_wire =
        model.wires.iter().filter(|wire| finding.about == format!("wire {}", wire.id)).flat_map(|wire| wire.ends);
    let triggers = finding.involved.triggers.iter().copied();
    let pins = on_path.chain(of_parts).chain(of_wire).chain(triggers).chain(finding.involved.pins.iter().copied());
    pins.chain(unfed(facts, finding)).map(|pin| facts.nets().of(pin)).collect()
}

/// What is on either side of a plug.
struct Sides {
    joined: UnionFind<usize>,
}

impl Sides {
    fn new(model: &Model, pins: &[PinId]) -> Sides {
        let mut joined = UnionFind::new(model.pins.len());
        let is_of_plug = |ends: &[PinId; 2]| ends.iter().any(|end| pins.contains(end));
        let joints = model.joints.iter().map(|joint| joint.pins).filter(|ends| !is_of_plug(ends));
        model.wires.iter().map(|wire| wire.ends).chain(joints).for_each(|[a, b]| {
            joined.union(a.0, b.0);
        });
        Sides { joined }
    }

    /// Whether both wires lead to one part and to nothing else, on one side of the plug.
    fn is_of_one_part(&self, facts: &Facts, a: PinId, b: PinId) -> bool {
        let mate = |pin: PinId| facts.connectivity().mates(pin).first().copied();
        let here = [Some(a), Some(b)];
        [here, [mate(a), mate(b)]].into_iter().any(|pins| {
            let parts = pins.map(|pin| pin.and_then(|pin| self.only_part(facts.model, pin)));
            parts[0].is_some() && parts[0] == parts[1]
        })
    }

    /// The part of the only terminal on this side.
    fn only_part(&self, model: &Model, pin: PinId) -> Option<PartId> {
        let mut terminals =
            model.pin_ids().filter(|other| self.joined.equiv(other.0, pin.0) && is_terminal(model, *other));
        let only = terminals.next()?;
        terminals.next().is_none().then_some(model.pin(only).part)
    }
}
