//! The bench test without power: every wire from end to end, nothing joined that should not be, and each part by itself.

use super::bench::{Step, Steps};
use crate::catalogue::form::Acts;
use crate::model::{Coil, ElementKind, Family, Model, PartKind, PinId, SignalId, SignalKind, WireId, conductor};
use crate::quantity::{Celsius, Ohms};
use crate::spec::WireMake;
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, VecDeque};

/// What a hand meter, its leads and its tips may add to a good joint (common practice, no source).
const METER_ADDS: Ohms = Ohms::new(0.5);

/// Resistance above which two conductors count as apart (common practice, no source).
const APART: &str = "open, above 1 MΩ";

/// How far a coil or a resistor may be off (common practice, no source).
const TOLERANCE: &str = "within 10 %";

/// Every wire from end to end: in each group of joined wires, from one end to every other.
pub fn end_to_end(model: &Model) -> Steps {
    let mut steps = Vec::new();
    for net in Nets::new(model).each() {
        let Some((first, others)) = net.ends.split_first() else { continue };
        let ways = ways(model, &net.wires, *first);
        for other in others {
            let way = ways.get(other).cloned().unwrap_or_default();
            let ids: Vec<&str> = way.iter().map(|id| model.wire(*id).id.as_str()).collect();
            let known = way.iter().all(|id| model.wire(*id).length.is_some());
            let cable = way.iter().any(|id| !matches!(model.wire(*id).make, WireMake::Single | WireMake::Twisted));
            let (expect, pass) = if known && !cable {
                let ohms: Ohms = way.iter().map(|id| resistance(model, *id)).sum();
                let most = ((ohms + METER_ADDS).value() * 10.0).ceil() / 10.0;
                (format!("{:.2} Ω", ohms.value()), format!("at most {most:.1} Ω"))
            } else if cable {
                ("joined".to_string(), "centre to centre joined, centre to screen open".to_string())
            } else {
                ("joined".to_string(), "joined".to_string())
            };
            let what = format!("{} {}", if ids.len() == 1 { "wire" } else { "wires" }, ids.join(", "));
            steps.push(Step { what, red: model.pin_name(*first), black: model.pin_name(*other), expect, pass });
        }
    }
    Steps {
        title: "Every wire, end to end".to_string(),
        how:
            "No supply, nothing plugged in, connectors apart. Meter on ohms, its own leads taken off the reading. Move \
              the wire while you read: the figure must not jump."
                .to_string(),
        set: Vec::new(),
        steps,
    }
}

fn resistance(model: &Model, id: WireId) -> Ohms {
    let wire = model.wire(id);
    conductor::resistance(wire.gauge, wire.length.unwrap_or_default(), Celsius::new(20.0))
}

/// The wires from one pin to every other of a group.
fn ways(model: &Model, wires: &[WireId], first: PinId) -> BTreeMap<PinId, Vec<WireId>> {
    let mut beside: BTreeMap<PinId, Vec<(WireId, PinId)>> = BTreeMap::new();
    for id in wires {
        let [a, b] = model.wire(*id).ends;
        beside.entry(a).or_default().push((*id, b));
        beside.entry(b).or_default().push((*id, a));
    }
    let mut ways = BTreeMap::from([(first, Vec::new())]);
    let mut ahead = VecDeque::from([first]);
    while let Some(pin) = ahead.pop_front() {
        for (wire, next) in beside.get(&pin).into_iter().flatten() {
            if !ways.contains_key(next) {
                let mut way: Vec<WireId> = ways[&pin].clone();
                way.push(*wire);
                ways.insert(*next, way);
                ahead.push_back(*next);
            }
        }
    }
    ways
}

/// Pins that wires of the harness alone join.
struct Nets {
    groups: UnionFind<usize>,
    nets: Vec<Net>,
}

struct Net {
    wires: Vec<WireId>,
    /// The ends to put a tip on: all pins but splices, which are closed; those too where there is nothing else.
    ends: Vec<PinId>,
}

impl Nets {
    fn new(model: &Model) -> Nets {
        let mut groups = UnionFind::<usize>::new(model.pins.len());
        let built = |id: &WireId| !model.wire(*id).existing;
        for id in model.wire_ids().filter(built) {
            let [a, b] = model.wire(id).ends;
            groups.union(a.0, b.0);
        }
        let mut wires: BTreeMap<usize, Vec<WireId>> = BTreeMap::new();
        for id in model.wire_ids().filter(built) {
            wires.entry(groups.find(model.wire(id).ends[0].0)).or_default().push(id);
        }
        let mut order: Vec<Vec<WireId>> = wires.into_values().collect();
        order.sort();
        let nets = order.into_iter().map(|wires| {
            let mut pins: Vec<PinId> = Vec::new();
            for pin in wires.iter().flat_map(|id| model.wire(*id).ends) {
                if !pins.contains(&pin) {
                    pins.push(pin);
                }
            }
            let open = |pin: &PinId| model.part(model.pin(*pin).part).kind != PartKind::Splice;
            let ends: Vec<PinId> = pins.iter().copied().filter(open).collect();
            Net { wires, ends: if ends.len() > 1 { ends } else { pins } }
        });
        Nets { nets: nets.collect(), groups }
    }

    fn each(&self) -> &[Net] {
        &self.nets
    }

    /// Of these pins, those that are joined: `1, 4 and 6`, a text for each group of two or more.
    fn together(&self, model: &Model, pins: &[PinId]) -> Vec<String> {
        let mut groups: BTreeMap<usize, Vec<&str>> = BTreeMap::new();
        for pin in pins {
            groups.entry(self.groups.find(pin.0)).or_default().push(&model.pin(*pin).name);
        }
        let words = |names: &Vec<&str>| {
            let (last, others) = names.split_last()?;
            (!others.is_empty()).then(|| format!("{} and {last}", others.join(", ")))
        };
        groups.values().filter_map(words).collect()
    }
}

/// In each connector and at each part: every pin against every other, but for those that are joined on purpose.
pub fn apart(model: &Model) -> Steps {
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
        steps.push(Step {
            what: format!("{} ({})", part.name, part.title),
            red: names.join(", "),
            black: "each of the others".to_string(),
            expect: "open".to_string(),
            pass,
        });
    }
    Steps {
        title: "Nothing joined that should not be".to_string(),
        how: "Still no supply and nothing plugged in. Meter on its highest ohms range.".to_string(),
        set: Vec::new(),
        steps,
    }
}

/// Each part by itself: fuses, diodes, coils and rest contacts, resistors, switches, and the times that modules are set
/// to.
pub fn parts_alone(model: &Model) -> Steps {
    let mut steps = Vec::new();
    for element in &model.elements {
        let part = model.part(element.part);
        if part.existing || matches!(part.kind, PartKind::Supply | PartKind::Feed | PartKind::Ground) {
            continue;
        }
        let what = format!("{} ({})", part.name, part.title);
        let mut step = |red: PinId, black: PinId, expect: String, pass: String| {
            let [red, black] = [red, black].map(|pin| model.pin_name(pin));
            steps.push(Step { what: what.clone(), red, black, expect, pass });
        };
        match &element.kind {
            ElementKind::Fuse { between: [a, b], rating, .. } => {
                step(*a, *b, format!("{rating} marked on it"), "joined".to_string());
            }
            ElementKind::Diode { anode, cathode, knee, .. } => {
                let silicon = knee.value() >= 0.5;
                let expect =
                    if silicon { "0.4 V to 0.8 V on the diode range" } else { "0.1 V to 0.4 V on the diode range" };
                step(*anode, *cathode, expect.to_string(), "open with the tips changed round".to_string());
            }
            ElementKind::Coil(coil) => step(coil.feed, coil.ground, coil.resistance.to_string(), coil_pass(coil)),
            ElementKind::Contact { common, rest, made, relay, .. } if !latching(model, *relay) => {
                if let Some(rest) = rest {
                    step(*common, *rest, "joined".to_string(), "joined".to_string());
                }
                if let Some(made) = made {
                    step(*common, *made, "open".to_string(), APART.to_string());
                }
            }
            ElementKind::Resistor { between: [a, b], resistance, .. } if part.form.family == Family::Resistor => {
                step(*a, *b, resistance.to_string(), TOLERANCE.to_string());
            }
            ElementKind::Throw { input: Some(input), common, throw, when, .. } => {
                let positions = &model.inputs[input.0].positions;
                let closed: Vec<&str> = (0..positions.len())
                    .filter(|at| when.holds(&|id| if id == *input { *at } else { 0 }, &|_| false))
                    .map(|at| positions[at].as_str())
                    .collect();
                let pass = format!("joined at {}, open otherwise", closed.join(", "));
                step(*common, *throw, format!("joined at {}", closed.join(", ")), pass);
            }
            _ => {}
        }
    }
    Steps {
        title: "Each part by itself".to_string(),
        how: "Before it is plugged in. A coil with a diode across it reads right one way round only: red on the first pin."
            .to_string(),
        set: Vec::new(),
        steps,
    }
}

fn coil_pass(coil: &Coil) -> String {
    match coil.acts {
        Acts::Holds => TOLERANCE.to_string(),
        acts => format!("{TOLERANCE}; this coil {acts}"),
    }
}

fn latching(model: &Model, relay: SignalId) -> bool {
    matches!(model.signals[relay.0].kind, SignalKind::Relay { latching: true, .. })
}

/// The times that modules are to be set to.
pub fn settings(model: &Model) -> Vec<String> {
    let timer = |signal: &crate::model::Signal| match &signal.kind {
        SignalKind::Timer { kind, time, .. } if time.value() > 0.0 && !model.part(signal.part).existing => {
            let part = model.part(signal.part);
            Some(format!("Set the {kind} time of {} ({}) to {time}.", part.name, part.title))
        }
        _ => None,
    };
    model.signals.iter().filter_map(timer).collect()
}
