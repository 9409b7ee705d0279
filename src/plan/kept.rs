//! What a new plan keeps of an earlier one: each new part takes the name, the place and the text of the earlier part that
//! does the same, each net its wires.
//!
//! Parts are matched by what they are connected to: a relay whose coil is on the same input and whose contact leads to the
//! same trigger is the same relay. The best pair is settled first; its pins then count for its neighbours.

use crate::earlier::{EarlierNet, EarlierSpec};
use crate::harness::{Assembled, KeptNet, KeptPart, NewSplice, NewWire, WireLook};
use crate::wish::{WishRead, free_name, names};
use form::Name;
use size::SIGNALS;
use spec::{PartEntry, WireForm};
use std::collections::{BTreeMap, BTreeSet};

/// Points of a pair of parts with the same title, beside one for each pin's neighbour that they share.
const SAME_TITLE: usize = 2;

/// Gives what was put together the names, places and wires of an earlier spec.
pub fn keep(earlier: &EarlierSpec, wish: &WishRead, assembled: &mut Assembled) {
    assembled.taken.extend(earlier.names());
    let pairs = Matching::new(earlier, wish, assembled).run();
    rename(&pairs, wish, assembled);
    let ends: Vec<BTreeSet<String>> =
        assembled.nets.iter().map(|net| net.terminals.iter().map(|t| t.end.clone()).collect()).collect();
    let found: Vec<Option<usize>> = ends.iter().map(|ends| like(earlier, ends)).collect();
    let mut used: BTreeSet<String> =
        found.iter().flatten().flat_map(|net| colours(earlier, &earlier.nets[*net])).collect();
    for (index, (ends, net)) in ends.iter().zip(&found).enumerate() {
        let first = found.iter().position(|other| other == net) == Some(index);
        match net.filter(|_| first) {
            Some(net) => assembled.nets[index].kept = Some(kept_net(earlier, wish, &earlier.nets[net], ends)),
            None if matches!(assembled.nets[index].look, WireLook::Signal(_)) => {
                // A new signal gets a colour that no kept one has.
                let colour = SIGNALS.iter().find(|colour| !used.contains(**colour)).map(|colour| colour.to_string());
                used.extend(colour.clone());
                assembled.nets[index].kept = Some(KeptNet { colour, ..KeptNet::default() });
            }
            None => {}
        }
    }
}

/// Gives the buttons of a wish the parts that they have in an earlier spec.
pub fn keep_buttons(earlier: &EarlierSpec, wish: &mut WishRead) {
    let own: BTreeSet<String> = names(&wish.form).into_iter().collect();
    for button in &mut wish.buttons {
        let part = earlier.form.inputs.get(&button.input).and_then(|input| input.part.as_ref());
        let Some((name, entry)) = part.and_then(|part| Some((&part.value, earlier.form.parts.get(&part.value)?)))
        else {
            continue;
        };
        let same = entry.use_.as_str() == button.kind && entry.at.as_ref().is_some_and(|at| at.value == button.at);
        let free = *name == button.part || !own.contains(name.as_str());
        if !same || !free {
            continue;
        }
        for part in wish.form.parts.0.iter_mut().filter(|part| part.name.value == button.part) {
            part.name.value = name.clone();
        }
        let inputs = wish.form.inputs.0.iter_mut().filter(|input| input.name.value == button.input);
        for part in inputs.filter_map(|input| input.body.as_mut()?.part.as_mut()) {
            part.value = name.clone();
        }
        button.part = name.clone();
        button.kept = earlier.entry("parts", name).map(|entry| entry.lines.clone());
    }
}

/// Pairs of a new part and the name of the earlier part that does the same.
struct Matching<'a> {
    earlier: &'a EarlierSpec,
    wish: &'a WishRead,
    assembled: &'a Assembled,
    old: Vec<(&'a Name, &'a PartEntry)>,
    /// For each new part, the earlier one.
    pairs: BTreeMap<usize, usize>,
    /// The names that ends of new nets have in the earlier spec, if they are settled.
    known: BTreeMap<String, String>,
}

impl<'a> Matching<'a> {
    fn new(earlier: &'a EarlierSpec, wish: &'a WishRead, assembled: &'a Assembled) -> Matching<'a> {
        let buttons: BTreeSet<&Name> = wish.buttons.iter().map(|button| &button.part).collect();
        let old = earlier.added(&wish.form).into_iter().filter(|(name, _)| !buttons.contains(name)).collect();
        let new: BTreeSet<&str> = assembled.parts.iter().map(|part| part.name.as_str()).collect();
        let ends = assembled.nets.iter().flat_map(|net| &net.terminals).map(|terminal| terminal.end.clone());
        let settled = ends.filter(|end| !new.contains(part_of(end))).map(|end| (end.clone(), end));
        let (pairs, known) = (BTreeMap::new(), settled.collect());
        Matching { earlier, wish, assembled, old, pairs, known }
    }

    fn run(mut self) -> Vec<(usize, Name, KeptPart)> {
        while let Some((new, old)) = self.best() {
            self.pairs.insert(new, old);
            for (pin, _) in self.pins(new) {
                let name = |part: &Name| format!("{part}.{pin}");
                self.known.insert(name(&self.assembled.parts[new].name), name(self.old[old].0));
            }
        }
        let kept = |(new, old): (&usize, &usize)| {
            let (name, entry) = self.old[*old];
            let lines = self.earlier.entry("parts", name).map(|entry| entry.lines.clone()).unwrap_or_default();
            let at = entry.at.as_ref().map(|at| at.value.clone());
            let title = entry.title.as_ref().map(|title| title.0.clone());
            (
                *new,
                name.clone(),
                KeptPart { lines, at, title, rating: entry.rating.as_ref().map(|rating| rating.value) },
            )
        };
        self.pairs.iter().map(kept).collect()
    }

    /// The pair with the most in common, the first of equal ones.
    fn best(&self) -> Option<(usize, usize)> {
        let mut best: Option<(usize, usize, usize)> = None;
        for new in (0..self.assembled.parts.len()).filter(|new| !self.pairs.contains_key(new)) {
            let pins = self.pins(new);
            for old in (0..self.old.len()).filter(|old| !self.pairs.values().any(|taken| taken == old)) {
                let points = self.points(new, old, &pins);
                if points > 0 && best.is_none_or(|(most, ..)| points > most) {
                    best = Some((points, new, old));
                }
            }
        }
        best.map(|(_, new, old)| (new, old))
    }

    /// The pins of a new part, and its nets there.
    fn pins(&self, new: usize) -> Vec<(String, usize)> {
        let name = self.assembled.parts[new].name.as_str();
        let nets = self.assembled.nets.iter().enumerate();
        let ends = nets.flat_map(|(net, n)| n.terminals.iter().map(move |terminal| (net, &terminal.end)));
        let own = ends.filter(|(_, end)| part_of(end) == name);
        own.filter_map(|(net, end)| Some((end.split_once('.')?.1.to_string(), net))).collect()
    }

    /// What two parts have in common; nothing if they are of different kinds.
    fn points(&self, new: usize, old: usize, pins: &[(String, usize)]) -> usize {
        let (part, (name, entry)) = (&self.assembled.parts[new], self.old[old]);
        let kind = |name: &str| self.wish.catalogue.get(name);
        let (Some(is), Some(was)) = (kind(&part.kind), kind(&entry.use_.value)) else { return 0 };
        if is.family != was.family || pins.iter().any(|(pin, _)| was.pins.get(pin).is_none()) {
            return 0;
        }
        let shared = |(pin, net): &(String, usize)| {
            let Some(before) = self.earlier.net_of(&format!("{name}.{pin}")) else { return 0 };
            let ends = self.assembled.nets[*net].terminals.iter().filter_map(|t| self.known.get(&t.end));
            ends.filter(|end| before.ends.contains(*end) && part_of(end) != name.as_str()).count()
        };
        let neighbours: usize = pins.iter().map(shared).sum();
        let titled = entry.title.as_ref().is_some_and(|title| title.0 == part.title);
        3 * (neighbours + if titled { SAME_TITLE } else { 0 })
            + usize::from(neighbours > 0 && part.kind == *entry.use_.value)
    }
}

fn part_of(end: &str) -> &str {
    end.split('.').next().unwrap_or_default()
}

/// Gives each paired part the earlier name and place, and each other part a name that was never used.
fn rename(pairs: &[(usize, Name, KeptPart)], wish: &WishRead, assembled: &mut Assembled) {
    let mut names: BTreeMap<String, (String, Option<usize>)> = BTreeMap::new();
    for index in 0..assembled.parts.len() {
        let before = assembled.parts[index].name.to_string();
        let pair = pairs.iter().find(|(new, ..)| *new == index);
        let (name, at) = match pair {
            Some((_, name, kept)) => {
                let at = kept.at.as_ref().and_then(|at| wish.form.places.iter().position(|place| place.value == *at));
                let stays =
                    KeptPart { lines: if at.is_some() { kept.lines.clone() } else { Vec::new() }, ..kept.clone() };
                assembled.parts[index].kept = Some(stays);
                (name.clone(), at)
            }
            None => (free_name(before.trim_end_matches(|c: char| c.is_ascii_digit()), &mut assembled.taken), None),
        };
        let part = &mut assembled.parts[index];
        part.at = at.unwrap_or(part.at);
        part.name = name.clone();
        names.insert(before, (name.to_string(), at));
    }
    for terminal in assembled.nets.iter_mut().flat_map(|net| &mut net.terminals) {
        let Some((part, pin)) = terminal.end.split_once('.') else { continue };
        if let Some((name, at)) = names.get(part) {
            terminal.at = at.unwrap_or(terminal.at);
            terminal.end = format!("{name}.{pin}");
        }
    }
}

/// The earlier net that shares most with these ends: what ends every net does not count.
fn like(earlier: &EarlierSpec, ends: &BTreeSet<String>) -> Option<usize> {
    let counts = |end: &&String| earlier.form.supplies.get(end).is_none() && earlier.form.grounds.get(end).is_none();
    let shared = |net: &EarlierNet| net.ends.intersection(ends).filter(counts).count();
    let most = (0..earlier.nets.len()).max_by_key(|net| (shared(&earlier.nets[*net]), std::cmp::Reverse(*net)))?;
    (shared(&earlier.nets[most]) > 0).then_some(most)
}

fn colours(earlier: &EarlierSpec, net: &EarlierNet) -> Vec<String> {
    net.wires.iter().filter_map(|wire| colour(earlier.wire(*wire))).collect()
}

fn colour(wire: &WireForm) -> Option<String> {
    wire.colour.as_ref().map(|colour| colour.value.to_string())
}

/// What stays of a net: all of it if the same pins are joined, at places that there still are.
fn kept_net(earlier: &EarlierSpec, wish: &WishRead, net: &EarlierNet, ends: &BTreeSet<String>) -> KeptNet {
    let place = |name: &Name| wish.form.places.iter().position(|place| place.value == *name);
    let splice = |name: &Name| {
        let at = place(&earlier.form.splices.get(name)?.at.value)?;
        let lines = earlier.entry("splices", name).map(|entry| entry.lines.clone());
        Some(NewSplice { name: name.clone(), at, group: String::new(), kept: lines })
    };
    let splices: Vec<NewSplice> = net.splices.iter().filter_map(splice).collect();
    let wires: Vec<NewWire> = net.wires.iter().map(|wire| kept_wire(earlier, earlier.wire(*wire))).collect();
    let connected = |end: &str| earlier.form.connectors.get(part_of(end)).is_none_or(|x| place(&x.at.value).is_some());
    let stands = splices.len() == net.splices.len() && wires.iter().all(|w| connected(&w.from) && connected(&w.to));
    KeptNet { same: stands && net.ends == *ends, colour: colours(earlier, net).first().cloned(), splices, wires }
}

fn kept_wire(earlier: &EarlierSpec, wire: &WireForm) -> NewWire {
    let picture = wire.signal.as_ref().filter(|_| wire.make == Some(spec::WireMake::Coax));
    NewWire {
        from: wire.from.value.to_string(),
        to: wire.to.value.to_string(),
        colour: colour(wire).unwrap_or_default(),
        picture: picture.map_or_else(String::new, |signal| signal.0.clone()),
        group: String::new(),
        id: Some(wire.id.value.to_string()),
        kept: earlier.entry("wires", &wire.id.value).map(|entry| entry.lines.clone()),
    }
}
