//! The words of every wire against a search of its own: each part that feeds the net is named, and no fuse that is
//! not in a path from a named source to the wire.

#[path = "../../../tests/made_up/good.rs"]
mod good;

use crate::lists::signal_names::SignalNames;
use model::{Carried, ElementKind, Model, PartKind, PinId, PinRole, joined_pins};
use std::collections::BTreeSet;

/// Pairs of pins that current can pass inside fuses, contacts, switches and diodes, from the first to the second.
fn passages(model: &Model) -> Vec<[PinId; 2]> {
    let passes = model.elements.iter().filter(|element| {
        use ElementKind::{Contact, Diode, Fuse, Throw};
        matches!(element.kind, Fuse { .. } | Contact { .. } | Throw { .. } | Diode { .. })
    });
    let mut all = Vec::new();
    for element in passes {
        for path in element.paths() {
            let Some([from, to]) = path.pins() else { continue };
            all.push([from, to]);
            if !matches!(element.kind, ElementKind::Diode { .. }) {
                all.push([to, from]);
            }
        }
    }
    all
}

struct Search<'m> {
    model: &'m Model,
    net_of: Vec<usize>,
    nets: Vec<Vec<PinId>>,
    passages: Vec<[PinId; 2]>,
}

impl Search<'_> {
    fn new(model: &Model) -> Search<'_> {
        let nets = joined_pins(model);
        let mut net_of = vec![0; model.pins.len()];
        for (number, net) in nets.iter().enumerate() {
            net.iter().for_each(|pin| net_of[pin.0] = number);
        }
        Search { model, net_of, nets, passages: passages(model) }
    }

    fn is_source(&self, pin: PinId) -> bool {
        let part = self.model.part(self.model.pin(pin).part);
        matches!(part.kind, PartKind::Supply | PartKind::Feed)
            || (part.kind == PartKind::Device
                && self.model.pin(pin).role == PinRole::Output
                && self.passages.iter().all(|[_, to]| *to != pin))
    }

    fn has_ground(&self, net: usize) -> bool {
        self.nets[net].iter().any(|pin| self.model.part(self.model.pin(*pin).part).kind == PartKind::Ground)
    }

    /// Whether a net has a source, in itself or towards it, without the nets in `closed`.
    fn is_fed(&self, net: usize, closed: &mut BTreeSet<usize>) -> bool {
        if !closed.insert(net) {
            return false;
        }
        self.nets[net].iter().any(|pin| self.is_source(*pin))
            || self
                .passages
                .iter()
                .any(|[from, to]| self.net_of[to.0] == net && self.is_fed(self.net_of[from.0], closed))
    }

    /// The parts next to a net that feed it.
    fn feeders(&self, net: usize) -> BTreeSet<String> {
        let part = |pin: &PinId| self.model.part(self.model.pin(*pin).part).name.to_string();
        let mut feeders: BTreeSet<String> =
            self.nets[net].iter().filter(|pin| self.is_source(**pin)).map(part).collect();
        for [from, to] in &self.passages {
            let mut closed = BTreeSet::from([net]);
            if self.net_of[to.0] == net && self.is_fed(self.net_of[from.0], &mut closed) {
                feeders.insert(part(to));
            }
        }
        feeders
    }

    /// Every part that some path from a source to the net goes through, the source's own part too.
    fn upstream(&self, net: usize, before: &mut BTreeSet<usize>) -> BTreeSet<String> {
        let mut parts = self.feeders(net);
        before.insert(net);
        for [from, to] in &self.passages {
            let next = self.net_of[from.0];
            if self.net_of[to.0] == net && !before.contains(&next) && self.is_fed(next, &mut BTreeSet::from([net])) {
                parts.extend(self.upstream(next, before));
            }
        }
        parts
    }
}

/// What is wrong with the words of a harness, a line each, and the number of nets with more than one feeder.
fn faults(model: &Model) -> (Vec<String>, usize) {
    let (search, names) = (Search::new(model), SignalNames::new(model));
    let (mut faults, mut several) = (Vec::new(), 0);
    for id in model.wire_ids() {
        let wire = model.wire(id);
        let net = search.net_of[wire.ends[0].0];
        if !matches!(wire.signal, Carried::From(_)) || search.has_ground(net) {
            continue;
        }
        let words = names.of(id);
        let named: BTreeSet<String> = words
            .split([' ', ',', ';', '(', ')'])
            .filter(|word| model.part_named(word).is_some())
            .map(ToString::to_string)
            .collect();
        let feeders = search.feeders(net);
        several += usize::from(feeders.len() > 1);
        let (missing, upstream) = (feeders.difference(&named), search.upstream(net, &mut BTreeSet::new()));
        faults.extend(missing.map(|part| format!("wire {} '{words}' is also fed by {part}", wire.id)));
        let fuse = |name: &&String| words.contains(&format!("fuse {name}"));
        let strange = named.iter().filter(fuse).filter(|name| !upstream.contains(*name));
        faults.extend(strange.map(|part| format!("wire {} '{words}': {part} does not feed it", wire.id)));
    }
    (faults, several)
}

/// A spec with the far sides of its first two fuses joined, so that two sources meet; `None` if it has only one.
fn joined(spec: &str) -> Option<String> {
    let name = |line: &str| Some(line.trim().split_once(": {use: fuse-blade")?.0.to_string());
    let mut fuses = spec.lines().filter_map(name);
    let (first, second) = (fuses.next()?, fuses.next()?);
    Some(format!("{}\n  - {{id: 9001, from: {first}.2, to: {second}.2}}\n", spec.trim_end()))
}

#[test]
fn every_wire_is_named_by_all_that_feeds_it_and_by_fuses_in_its_path() {
    let demos = sample::DEMOS.map(|name| (name.to_string(), sample::demo(name)));
    let count = if cfg!(debug_assertions) { 20 } else { 200 };
    let good = (0..count).map(|seed| (format!("seed {seed}"), super::model(&good::spec(seed))));
    let with_two = (0..count).filter_map(|seed| joined(&good::spec(seed)));
    let joined = with_two.map(|text| ("joined".to_string(), super::model(&text)));
    let mut several = 0;
    for (name, model) in demos.into_iter().chain(good).chain(joined) {
        let (faults, more) = faults(&model);
        assert!(faults.is_empty(), "{name}:\n{}", faults.join("\n"));
        several += more;
    }
    assert!(several > 20, "{several} wires with several sources");
}

/// Two tapped wires meet behind diodes; a relay with a purpose feeds two fuses with and without one.
#[test]
fn the_function_comes_first_and_sources_that_meet_are_all_named() {
    let truck = sample::demo("refuse-truck");
    let names = SignalNames::new(&truck);
    let of = |number: &str| names.of(truck.wire_ids().find(|wire| truck.wire(*wire).id.as_str() == number).unwrap());
    assert_eq!(of("7"), "Main relay (K1 make)");
    assert_eq!(of("40"), "24 V cameras in the cab (K1 make, 3 A fuse F4)");
    assert_eq!(of("122"), "Work lights and alarm (K4 make)");
    assert_eq!(of("26"), "G1");
    let behind_diodes = truck.wire_ids().map(|wire| names.of(wire)).find(|words| words.contains("diode D1"));
    assert_eq!(behind_diodes.as_deref(), Some("Rear picture from reverse or PTO (reverse or pto, diode D1)"));
}
