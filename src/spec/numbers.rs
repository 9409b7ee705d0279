//! Numbers of wires that the spec leaves open. Wires that splices and mated connectors join are one circuit. Its open
//! wires get the number of a wire of this circuit that the spec numbers, else the next free number; several open wires get
//! letters behind it: 12a, 12b. Wires do not join at a supply or a ground.

use super::{SpecForm, WireForm};
use form::{End, Form, Name, Node, Placed, Reader, Schemas};
use petgraph::unionfind::UnionFind;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Deref;

/// The number or name of a wire.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct WireNumber {
    name: Placed<Name>,
    is_open: bool,
}

impl WireNumber {
    /// Whether the spec leaves it open, so that the program chose it.
    pub fn is_open(&self) -> bool {
        self.is_open
    }
}

impl Deref for WireNumber {
    type Target = Placed<Name>;
    fn deref(&self) -> &Placed<Name> {
        &self.name
    }
}

impl Form for WireNumber {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        Some(WireNumber { name: Placed::read(node, reader)?, is_open: false })
    }
    fn absent() -> Option<Self> {
        Some(WireNumber { is_open: true, ..WireNumber::default() })
    }
    fn schema(schemas: &mut Schemas) -> Value {
        Name::schema(schemas)
    }
}

/// Numbers every open wire of a spec.
pub(super) fn choose(form: &mut SpecForm) {
    if form.wires.iter().all(|wire| !wire.id.is_open) {
        return;
    }
    let circuits = circuits(form);
    let given = form.wires.iter().filter(|wire| !wire.id.is_open);
    let mut taken: BTreeSet<String> = given.map(|wire| wire.id.to_string()).collect();
    let mut next = taken.iter().filter_map(|name| leading_number(name)).max().unwrap_or(0) + 1;
    let mut wires_of = BTreeMap::<usize, usize>::new();
    let mut first_of = BTreeMap::<usize, String>::new();
    for (wire, circuit) in form.wires.iter().zip(&circuits) {
        *wires_of.entry(*circuit).or_default() += 1;
        if !wire.id.is_open {
            first_of.entry(*circuit).or_insert_with(|| wire.id.to_string());
        }
    }
    for (wire, circuit) in form.wires.iter_mut().zip(&circuits).filter(|(wire, _)| wire.id.is_open) {
        let first = first_of.entry(*circuit).or_insert_with(|| {
            next += 1;
            (next - 1).to_string()
        });
        let alone = (wires_of[circuit] == 1).then(|| first.clone());
        let lettered = (0..).map(|index| format!("{first}{}", letter(index)));
        let mut names = alone.into_iter().chain(lettered);
        let name = names.find(|name| taken.insert(name.clone())).unwrap_or_default();
        wire.id.name = Placed { value: Name::new(name), place: wire.from.place };
    }
}

/// The digits at the start of a name as a number.
fn leading_number(name: &str) -> Option<u64> {
    name.split(|c: char| !c.is_ascii_digit()).next()?.parse().ok()
}

/// a, b, … z, aa, ab, …
fn letter(index: usize) -> String {
    let last = char::from(b'a' + (index % 26) as u8).to_string();
    match index / 26 {
        0 => last,
        more => letter(more - 1) + &last,
    }
}

/// A part and its pin, where wires of one circuit meet; for an open cavity its signal.
type Spot = (Name, Option<String>);

/// For each wire, the index of its circuit.
fn circuits(form: &SpecForm) -> Vec<usize> {
    let mut indices = BTreeMap::<Spot, usize>::new();
    let mut joined = UnionFind::<usize>::new_empty();
    let mut index = |joined: &mut UnionFind<usize>, spot: Option<Spot>| match spot {
        Some(spot) => *indices.entry(spot).or_insert_with(|| joined.new_set()),
        None => joined.new_set(),
    };
    for (half, entry) in form.connectors.iter() {
        for (cavity, pin) in &entry.carries {
            let Some(on) = &entry.on else { continue };
            let cavity = index(&mut joined, Some((half.value.clone(), Some(cavity.to_string()))));
            let pin = index(&mut joined, Some((on.value.clone(), Some(pin.to_string()))));
            joined.union(cavity, pin);
        }
    }
    let mut circuit = |wire: &WireForm| {
        let [from, to] = [&wire.from.value, &wire.to.value].map(|end| index(&mut joined, spot(form, wire, end)));
        joined.union(from, to);
        from
    };
    let wires: Vec<usize> = form.wires.iter().map(&mut circuit).collect();
    wires.into_iter().map(|wire| joined.find(wire)).collect()
}

/// The spot where a wire meets others of its circuit; mated cavities are one spot, and so are open cavities of one signal.
/// `None` at a supply, an input's feed and a ground, and at a connector without cavity and signal.
fn spot(form: &SpecForm, wire: &WireForm, end: &End) -> Option<Spot> {
    let is_shared = form.supplies.get(&end.part).is_some()
        || form.grounds.get(&end.part).is_some()
        || form.inputs.get(&end.part).is_some();
    if is_shared {
        return None;
    }
    let pin = end.pin.as_ref().map(Name::to_string);
    let Some(half) = form.connectors.get(&end.part) else { return Some((end.part.clone(), pin)) };
    let cavity = pin.or_else(|| Some(format!("signal {}", wire.signal.as_ref()?.0)))?;
    let mate = half.mates.as_ref();
    Some((mate.map_or(&end.part, |mate| &mate.value).clone(), Some(cavity)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use form::TextMap;
    use std::path::Path;

    fn numbers(wires: &str) -> Vec<String> {
        let text = format!(
            "harness: 1\njob: {{title: T, nominal: 12 V}}\nplaces: [dash]\nsupplies: {{bat: {{terminal: \"30\", at: dash}}}}\n\
             grounds: {{G1: {{at: dash}}}}\nconnectors: {{X1: {{use: c, at: dash}}, X1R: {{use: c, at: dash, mates: X1}}}}\n\
             splices: {{S1: {{at: dash}}}}\nwires:\n{wires}"
        );
        let read = crate::read(&TextMap::new([("t.yaml", text.as_str())]), Path::new("t.yaml"));
        assert!(read.problems.is_empty(), "{:?}", read.problems);
        read.form.unwrap().wires.iter().map(|wire| wire.id.to_string()).collect()
    }

    #[test]
    fn wires_of_one_circuit_share_a_number() {
        let wires = "  - {from: bat, to: F1.1}\n  - {from: F1.2, to: S1}\n  - {from: S1, to: X1.1}\n  - {from: X1R.1, to: L1.a}\n  \
                     - {from: L1.b, to: G1}\n  - {from: L2.b, to: G1}\n";
        assert_eq!(numbers(wires), ["1", "2a", "2b", "2c", "3", "4"]);
    }

    #[test]
    fn a_circuit_keeps_the_number_that_a_wire_of_it_has() {
        let wires = "  - {from: S1, to: F1.2}\n  - {id: 7, from: S1, to: L1.a}\n  - {id: 7a, from: L1.b, to: G1}\n  \
                     - {from: L2.b, to: G1}\n";
        assert_eq!(numbers(wires), ["7b", "7", "7a", "8"]);
    }

    #[test]
    fn letters_go_on_after_z() {
        assert_eq!([0, 25, 26, 51, 52, 702].map(letter), ["a", "z", "aa", "az", "ba", "aaa"]);
    }
}
