//! The bench test of the wires without power: continuity of every wire, and no unwanted connections.

use crate::bench::assembly;
use crate::bench::limit::Limit;
use crate::bench::steps::{BenchGroup, BenchStep, GroupKind};
use crate::lists::connections::screen_at;
use model::{Model, PartKind, PinId, WireId, conductor};
use petgraph::unionfind::UnionFind;
use quantity::{Celsius, Ohms};
use spec::WireMake;
use states::listed;
use std::collections::{BTreeMap, VecDeque};

/// Resistance that crimps, splices and meter tips may add to a good wire (common practice, no source).
const JOINTS_ADD: Ohms = Ohms::new(0.1);

/// Share by which the copper may exceed its calculated resistance, for length and temperature (common practice, no
/// source).
const COPPER_ADDS: f64 = 0.2;

/// Reading that counts as no connection (common practice, no source).
pub const APART: &str = "open, above 1 MΩ";

/// The continuity of every wire: in each group of joined wires, from one end to every other; a wire in parallel with
/// others, alone.
pub fn end_to_end(model: &Model) -> BenchGroup {
    let mut steps = Vec::new();
    let not_yet = not_yet_in(model);
    for net in Nets::new(model).each() {
        steps.extend(net.beside.iter().map(|id| before_it_is_closed(model, *id)));
        let Some((first, others)) = net.ends.split_first() else { continue };
        let ways = ways(model, net, *first);
        for other in others {
            let way = ways.get(other).cloned().unwrap_or_default();
            let ids: Vec<&str> = way.iter().map(|id| model.wire(*id).id.as_str()).collect();
            let what = format!("{} {}", if ids.len() == 1 { "wire" } else { "wires" }, ids.join(", "));
            steps.push(reading(model, &way, what, [first.tip(model), other.tip(model)]));
        }
    }
    BenchGroup {
        title: "Every wire, end to end".to_string(),
        how: format!(
            "No supply. Nothing plugged in, connectors apart, rings and bare ends touching nothing.{not_yet} Meter on \
             ohms: hold the tips together first, and subtract that reading from all others. Move the wire while you \
             read: the reading must not jump. Limit: the copper's resistance plus 20 %, plus 0.1 Ω for crimps and \
             splices (common practice, no source)."
        ),
        kind: GroupKind::Continuity,
        doing: false,
        set: Vec::new(),
        steps,
    }
}

/// Parts that would bridge wires under test: they are fitted after these tests.
fn not_yet_in(model: &Model) -> String {
    match assembly::names(model, assembly::in_line) {
        names if names.is_empty() => String::new(),
        names => format!(" Not fitted yet: {}.", names.join(", ")),
    }
}

/// One reading along wires, from tip to tip.
fn reading(model: &Model, way: &[WireId], what: String, [red, black]: [String; 2]) -> BenchStep {
    let known = way.iter().all(|id| model.wire(*id).length.is_some());
    let cable = way.iter().any(|id| !matches!(model.wire(*id).make, WireMake::Single | WireMake::Twisted));
    let coax = match way {
        [only] if model.wire(*only).make == WireMake::Coax => {
            Some(model.wire(*only).ends.map(|end| screen_at(model, end)))
        }
        _ => None,
    };
    let (expect, pass, limit) = match coax {
        Some([one, other]) => {
            let pass =
                format!("centre to centre joined; shield to shield ({one} to {other}) joined; centre to shield open");
            ("joined".to_string(), pass, Limit::Joined)
        }
        None if known && !cable => {
            let ohms: Ohms = way.iter().map(|id| resistance(model, *id)).sum();
            let most = (ohms * (1.0 + COPPER_ADDS) + JOINTS_ADD).value();
            // Rounding errors must not turn 0.11 into 0.12.
            let most = (most * 100.0 - 1e-6).ceil() / 100.0;
            let limit = Limit::Ohms { least: Ohms::default(), most: Ohms::new(most) };
            (format!("{:.2} Ω", ohms.value()), format!("at most {most:.2} Ω"), limit)
        }
        None => ("joined".to_string(), "joined".to_string(), Limit::Joined),
    };
    BenchStep { what, red, black, expect, pass, limit }
}

/// A wire beside others that would read instead of it.
fn before_it_is_closed(model: &Model, id: WireId) -> BenchStep {
    let wire = model.wire(id);
    let what = format!("wire {} alone, before its second end is crimped: others are in parallel with it", wire.id);
    reading(model, &[id], what, wire.ends.map(|end| model.pin_name(end)))
}

fn resistance(model: &Model, id: WireId) -> Ohms {
    let wire = model.wire(id);
    conductor::resistance(wire.gauge, wire.length.unwrap_or_default(), Celsius::new(20.0))
}

/// The path of wires from one end to every other end of a group.
fn ways(model: &Model, net: &Net, first: End) -> BTreeMap<End, Vec<WireId>> {
    let mut beside: BTreeMap<End, Vec<(WireId, End)>> = BTreeMap::new();
    for id in net.wires.iter().filter(|id| !net.beside.contains(id)) {
        let [a, b] = model.wire(*id).ends.map(|pin| End::of(model, pin, *id));
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
struct End {
    pin: PinId,
    loose: Option<WireId>,
}

impl End {
    fn of(model: &Model, pin: PinId, wire: WireId) -> End {
        let kind = model.part(model.pin(pin).part).kind;
        let loose = matches!(kind, PartKind::Ground | PartKind::Supply | PartKind::Feed);
        End { pin, loose: loose.then_some(wire) }
    }

    /// Where the meter's tip goes: `K1.87`, `ring of wire 52 (G1)`, `end of wire 1 (accessory)`.
    fn tip(self, model: &Model) -> String {
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

/// Groups of ends that the wires of the harness join.
struct Nets {
    nets: Vec<Net>,
}

struct Net {
    wires: Vec<WireId>,
    /// The ends that a meter tip reaches: all but splices, which are closed; splices if there are no others.
    ends: Vec<End>,
    /// Wires whose ends others join as well.
    beside: Vec<WireId>,
}

impl Nets {
    fn new(model: &Model) -> Nets {
        let built = || model.wire_ids().filter(|id| !model.wire(*id).existing);
        let mut numbers: BTreeMap<End, usize> = BTreeMap::new();
        for id in built() {
            for pin in model.wire(id).ends {
                let next = numbers.len();
                numbers.entry(End::of(model, pin, id)).or_insert(next);
            }
        }
        let mut groups = UnionFind::<usize>::new(numbers.len());
        let ends = |id: WireId| model.wire(id).ends.map(|pin| End::of(model, pin, id));
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
            let mut all: Vec<End> = Vec::new();
            for end in wires.iter().flat_map(|id| ends(*id)) {
                if !all.contains(&end) {
                    all.push(end);
                }
            }
            let open = |end: &End| model.part(model.pin(end.pin).part).kind != PartKind::Splice;
            let kept: Vec<End> = all.iter().copied().filter(open).collect();
            let beside = beside.iter().copied().filter(|id| wires.contains(id)).collect();
            Net { wires, ends: if kept.len() > 1 { kept } else { all }, beside }
        });
        Nets { nets: nets.collect() }
    }

    fn each(&self) -> &[Net] {
        &self.nets
    }

    /// Which of the pins are joined: `1, 4 and 6`, a text for each group of two or more.
    fn together(&self, model: &Model, pins: &[PinId]) -> Vec<String> {
        let mine = |net: &Net| -> Vec<&str> {
            let in_net = |pin: &&PinId| net.wires.iter().any(|id| model.wire(*id).ends.contains(pin));
            pins.iter().filter(in_net).map(|pin| model.pin(*pin).name.as_str()).collect()
        };
        self.nets.iter().map(mine).filter(|names| names.len() > 1).filter_map(|names| listed(&names)).collect()
    }
}

/// In each connector and part: every pin against every other, except those that are joined on purpose.
pub fn apart(model: &Model) -> BenchGroup {
    let not_yet = not_yet_in(model);
    let nets = Nets::new(model);
    let mut wired = vec![false; model.pins.len()];
    model.wires.iter().filter(|w| !w.existing).flat_map(|w| w.ends).for_each(|pin| wired[pin.0] = true);
    let mut steps = Vec::new();
    for part in model.parts.iter().filter(|p| matches!(p.kind, PartKind::Connector | PartKind::Device)) {
        let pins: Vec<PinId> = part.pins.iter().copied().filter(|pin| wired[pin.0]).collect();
        if pins.len() < 2 {
            continue;
        }
        let joined = nets.together(model, &pins);
        let names: Vec<&str> = pins.iter().map(|pin| model.pin(*pin).name.as_str()).collect();
        let pass = if joined.is_empty() {
            APART.to_string()
        } else {
            format!("{APART}; joined on purpose: {}", joined.join("; "))
        };
        steps.push(BenchStep {
            what: format!("{} ({})", part.name, part.title),
            red: names.join(", "),
            black: "each of the others".to_string(),
            expect: "open".to_string(),
            pass,
            limit: Limit::Open,
        });
    }
    BenchGroup {
        title: "No unwanted connections".to_string(),
        how: format!("Still no supply and nothing plugged in.{not_yet} Meter on its highest ohms range."),
        kind: GroupKind::Apart,
        doing: false,
        set: Vec::new(),
        steps,
    }
}
