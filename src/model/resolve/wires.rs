//! Wires: their ends, the runs they go through, their lengths, and what they carry.

use super::{Resolver, cavities, nets};
use crate::{Carried, Domain, Draft, LooseWire, PinId, PlaceId, RunId, Wire};
use form::{End, Placed, Problem};
use petgraph::algo::astar;
use petgraph::graph::{NodeIndex, UnGraph};
use petgraph::visit::EdgeRef;
use quantity::{Gauge, Metres};
use spec::{WireForm, WireMake};
use std::collections::BTreeMap;

pub(super) fn wires(resolver: &mut Resolver) {
    let form = resolver.form;
    let roads = roads(&resolver.model);
    let mut seen = BTreeMap::new();
    let cavities = cavities::choose(resolver);
    for (i, wire) in form.wires.iter().enumerate() {
        if resolver.enough() {
            return;
        }
        if let Some(first) = seen.insert(wire.id.value.clone(), wire.id.place) {
            resolver.report(
                Problem::at(wire.id.place, format!("wire `{}` appears twice", wire.id.value)).also(first, "first here"),
            );
            continue;
        }
        let chosen = [0, 1].map(|end| cavities.get(&(i, end)).copied());
        let [from, to] = chosen;
        let ends = (from.or_else(|| end(resolver, wire, &wire.from)), to.or_else(|| end(resolver, wire, &wire.to)));
        if let (Some(a), Some(b)) = ends {
            if a == b {
                resolver.report(
                    Problem::at(wire.to.place, format!("wire `{}` ends where it starts", wire.id.value))
                        .hint("a wire goes from one pin to another"),
                );
                continue;
            }
            let wire = resolve_wire(resolver, wire, [a, b], &roads);
            resolver.model.wires.push(Wire { cavity_open: chosen.map(|pin| pin.is_some()), ..wire });
        }
    }
    nets::name(&mut resolver.model);
    nets::ports(&mut resolver.model);
}

/// The pin of an end. An unknown part is reported; an unknown pin makes the wire a loose one.
fn end(resolver: &mut Resolver, wire: &WireForm, end: &Placed<End>) -> Option<PinId> {
    if is_no_part(resolver, end) {
        return None;
    }
    let part = resolver.known_part(&end.part, end.place, "end of a wire")?;
    let pins = resolver.model.part(part).pins.clone();
    match (&end.pin, pins.as_slice()) {
        (None, [only]) => return Some(*only),
        (Some(name), _) => {
            if let Some(pin) = resolver.model.pin_named(part, name) {
                return Some(pin);
            }
        }
        _ => {}
    }
    resolver.model.loose.push(LooseWire {
        id: wire.id.value.clone(),
        end: end.value.to_string(),
        place: end.place,
        part,
        pin: end.pin.clone(),
    });
    None
}

/// Reports an end that names an input without a wire of its own, or joins a part and its pin by a hyphen.
fn is_no_part(resolver: &mut Resolver, end: &Placed<End>) -> bool {
    if resolver.model.part_named(&end.part).is_some() || resolver.excused(&end.part) {
        return false;
    }
    if let Some(input) = resolver.find_input(&end.part) {
        let input = &resolver.model.inputs[input.0];
        let supplies = resolver.form.supplies.iter().filter(|(_, supply)| supply.follows.is_some());
        let follows: Vec<String> = supplies.map(|(name, _)| format!("`{}`", name.value)).collect();
        let hint = match (input.switch, follows.is_empty()) {
            (Some(switch), _) => {
                let part = resolver.model.part(switch);
                let pins: Vec<String> =
                    part.pins.iter().map(|pin| format!("`{}`", resolver.model.pin_name(*pin))).collect();
                format!("take a pin of the switch that it moves: {}", pins.join(", "))
            }
            (None, false) => format!("take a supply that follows it, such as {}", follows.join(", ")),
            (None, true) => "give it a `kind` whose wire the vehicle has, such as lamp-feed, and `at`".to_string(),
        };
        let message = format!("`{}` is an input without a wire of its own", end.part);
        resolver.report(Problem::at(end.place, message).label("no wire can end here").hint(hint));
        return true;
    }
    if let (Some((part, pin)), None) = (end.part.rsplit_once('-'), &end.pin)
        && let Some(id) = resolver.model.part_named(part)
        && resolver.model.pin_named(id, pin).is_some()
    {
        let message = format!("nothing in this spec is named `{}`", end.part);
        let hint = format!("a part and its pin are joined by a dot: `{part}.{pin}`");
        resolver.report(Problem::at(end.place, message).label("end of a wire").hint(hint));
        return true;
    }
    false
}

fn resolve_wire(
    resolver: &Resolver,
    form: &WireForm,
    ends: [PinId; 2],
    roads: &UnGraph<(), (RunId, f64)>,
) -> Wire<Option<Gauge>> {
    let model = &resolver.model;
    let at = ends.map(|pin| model.part(model.pin(pin).part).at);
    let (path, along) = match at {
        [Some(a), Some(b)] if a == b => (Vec::new(), Some(model.limits.local_length)),
        [Some(a), Some(b)] => match way(roads, a, b) {
            Some((path, length)) => (path, Some(length)),
            None => (Vec::new(), None),
        },
        _ => (Vec::new(), None),
    };
    Wire {
        id: form.id.value.clone(),
        ends,
        gauge: form.gauge.map(|g| g.value),
        colour: form.colour.map(|c| c.value),
        length: form.length.map(|l| l.value).or(along),
        path,
        make: form.make.unwrap_or(WireMake::Single),
        signal: form.signal.as_ref().map_or(Carried::Unnamed, |words| Carried::Words(words.0.clone())),
        domain: Domain::Trigger,
        existing: form.existing.0,
        note: form.note.as_ref().map(|n| n.0.clone()),
        place: form.id.place,
        cavity_open: [false; 2],
        end_places: [form.from.place, form.to.place],
        gauge_place: form.gauge.map(|g| g.place),
        colour_place: form.colour.map(|c| c.place),
    }
}

/// The runs as a graph of places.
fn roads(model: &Draft) -> UnGraph<(), (RunId, f64)> {
    let mut graph = UnGraph::default();
    for _ in &model.places {
        graph.add_node(());
    }
    for (i, run) in model.runs.iter().enumerate() {
        let [a, b] = run.ends.map(|p| NodeIndex::new(p.0));
        graph.add_edge(a, b, (RunId(i), run.length.value()));
    }
    graph
}

/// The shortest way between two places, and its length.
fn way(roads: &UnGraph<(), (RunId, f64)>, from: PlaceId, to: PlaceId) -> Option<(Vec<RunId>, Metres)> {
    let (start, goal) = (NodeIndex::new(from.0), NodeIndex::new(to.0));
    let (length, nodes) = astar(roads, start, |n| n == goal, |e| e.weight().1, |_| 0.0)?;
    let step = |pair: &[NodeIndex]| {
        roads
            .edges_connecting(pair[0], pair[1])
            .min_by(|a, b| a.weight().1.total_cmp(&b.weight().1).then(a.weight().0.cmp(&b.weight().0)))
            .map(|e| (e.id(), e.weight().0).1)
    };
    Some((nodes.windows(2).filter_map(step).collect(), Metres::new(length)))
}
