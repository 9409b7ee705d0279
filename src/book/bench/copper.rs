//! The wires before anything is fitted or mated: which ends they join.

use model::{Model, PartKind, PinId, WireId, conductor};
use petgraph::unionfind::UnionFind;
use quantity::{Celsius, Ohms};
use spec::WireMake;
use std::collections::{BTreeMap, VecDeque};

/// Resistance of a wire's copper at 20 °C; zero if its length is not known.
pub(super) fn resistance(model: &Model, id: WireId) -> Ohms {
    let wire = model.wire(id);
    conductor::resistance(wire.gauge, wire.length.unwrap_or_default(), Celsius::new(20.0))
}

/// Resistance of a cable's shield; zero if its length is not known.
pub(super) fn shield_resistance(model: &Model, id: WireId) -> Ohms {
    conductor::SHIELD_PER_METRE * model.wire(id).length.unwrap_or_default().value()
}

/// The path of wires from one end to every other end of a group.
pub(super) fn ways(model: &Model, net: &JoinedWires, first: HarnessEnd) -> BTreeMap<HarnessEnd, Vec<WireId>> {
    let mut beside: BTreeMap<HarnessEnd, Vec<(WireId, HarnessEnd)>> = BTreeMap::new();
    for id in net.wires.iter().filter(|id| !net.beside.contains(id)) {
        let [a, b] = model.wire(*id).ends.map(|pin| HarnessEnd::of(model, pin, *id));
        beside.entry(a).or_default().push((*id, b));
        beside.entry(b).or_default().push((*id, a));
    }
    let mut ways = BTreeMap::from([(first, Vec::new())]);
    let mut ahead = VecDeque::from([first]);
    while let Some(end) = ahead.pop_front() {
        for (wire, next) in beside.get(&end).into_iter().flatten() {
            if !ways.contains_key(next) {
                let mut way: Vec<WireId> = ways[&end].clone();
                way.push(*wire);
                ways.insert(*next, way);
                ahead.push_back(*next);
            }
        }
    }
    ways
}

/// Where a wire ends before the harness is fitted: a pin, or the loose end of one wire for a ground, a supply or a tap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct HarnessEnd {
    /// The pin.
    pub pin: PinId,
    /// The wire, if its end is loose.
    pub loose: Option<WireId>,
}

impl HarnessEnd {
    /// The end of a wire at a pin.
    pub fn of(model: &Model, pin: PinId, wire: WireId) -> HarnessEnd {
        let kind = model.part(model.pin(pin).part).kind;
        let loose = matches!(kind, PartKind::Ground | PartKind::Supply | PartKind::Feed);
        HarnessEnd { pin, loose: loose.then_some(wire) }
    }

    /// Where the meter's tip goes: `K1.87`, `ring of wire 52 (G1)`, `end of wire 1 (accessory)`.
    pub fn tip(self, model: &Model) -> String {
        let name = model.pin_name(self.pin);
        let several = |pin| model.wires_on(pin).count() > 1;
        match self.loose.filter(|_| several(self.pin)) {
            Some(wire) if model.part(model.pin(self.pin).part).kind == PartKind::Ground => {
                format!("{name}, ring of wire {}", model.wire(wire).id)
            }
            Some(wire) => format!("{name}, end of wire {}", model.wire(wire).id),
            None => name,
        }
    }
}

/// Wires that are joined to each other, at pins and in splices.
pub(super) struct JoinedWires {
    /// The wires.
    pub wires: Vec<WireId>,
    /// The ends that a meter tip reaches: all but splices, which are closed; splices if there are no others.
    pub ends: Vec<HarnessEnd>,
    /// Wires whose ends others join as well.
    pub beside: Vec<WireId>,
}

/// The shield of a coaxial cable that joins cavities of two connectors.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct JoinedShield {
    /// The cable.
    pub wire: WireId,
    /// The cavities.
    pub ends: [PinId; 2],
    /// Whether other conductors join them as well: it stays open at one end until the steps without power are done, so
    /// that it hides none of them.
    pub is_beside: bool,
}

/// The shields that join cavities, in the order of the cables.
pub fn joined_shields(model: &Model) -> Vec<JoinedShield> {
    let built = || model.wire_ids().filter(|id| !model.wire(*id).existing);
    let mut groups: UnionFind<usize> = UnionFind::new(model.pins.len());
    // The vehicle's ends of wires are loose: they join nothing yet.
    let is_joined = |pin: PinId| HarnessEnd::of(model, pin, WireId(0)).loose.is_none();
    built().map(|id| model.wire(id).ends).filter(|ends| ends.iter().all(|pin| is_joined(*pin))).for_each(|[a, b]| {
        groups.union(a.0, b.0);
    });
    let coax = built().filter(|id| model.wire(*id).make == WireMake::Coax);
    let shield = |wire: WireId| {
        let [a, b] = model.wire(wire).ends.map(|end| model.shield_cavity(end));
        let ends = [a?, b?];
        Some(JoinedShield { wire, ends, is_beside: !groups.union(ends[0].0, ends[1].0) })
    };
    coax.filter_map(shield).collect()
}

/// The groups of ends that the wires of the harness join.
pub(super) fn joined_wires(model: &Model) -> Vec<JoinedWires> {
    let built = || model.wire_ids().filter(|id| !model.wire(*id).existing);
    let mut numbers: BTreeMap<HarnessEnd, usize> = BTreeMap::new();
    for id in built() {
        for pin in model.wire(id).ends {
            let next = numbers.len();
            numbers.entry(HarnessEnd::of(model, pin, id)).or_insert(next);
        }
    }
    let mut groups = UnionFind::<usize>::new(numbers.len());
    let ends = |id: WireId| model.wire(id).ends.map(|pin| HarnessEnd::of(model, pin, id));
    let beside: Vec<WireId> = built()
        .filter(|id| {
            let [a, b] = ends(*id).map(|end| numbers[&end]);
            !groups.union(a, b)
        })
        .collect();
    let mut wires: BTreeMap<usize, Vec<WireId>> = BTreeMap::new();
    for id in built() {
        wires.entry(groups.find(numbers[&ends(id)[0]])).or_default().push(id);
    }
    let mut order: Vec<Vec<WireId>> = wires.into_values().collect();
    order.sort();
    let nets = order.into_iter().map(|wires| {
        let mut all: Vec<HarnessEnd> = Vec::new();
        for end in wires.iter().flat_map(|id| ends(*id)) {
            if !all.contains(&end) {
                all.push(end);
            }
        }
        let open = |end: &HarnessEnd| model.part(model.pin(end.pin).part).kind != PartKind::Splice;
        let kept: Vec<HarnessEnd> = all.iter().copied().filter(open).collect();
        let beside = beside.iter().copied().filter(|id| wires.contains(id)).collect();
        JoinedWires { wires, ends: if kept.len() > 1 { kept } else { all }, beside }
    });
    nets.collect()
}
