//! The rework, carried out on the old harness, gives the new one: on every demonstration against every other, and on
//! demonstrations changed at random.

use super::*;
use proptest::prelude::*;

const DEMOS: [&str; 5] =
    ["first-harness", "wheelchair-van", "refuse-truck", "orchard-sprayer-pickup", "boat-tow-pickup"];

fn assert_round_trip(old: &Inventory, new: &Inventory) -> Rework {
    let rework = Rework::between(old, new, &Pairs::of(old, new));
    let applied = rework.applied(old);
    assert!(applied.is_same(new), "{rework:#?}");
    rework
}

#[test]
fn one_demonstration_turns_into_another() {
    let inventories = DEMOS.map(|name| Inventory::of(&sample::demo(name)));
    for old in &inventories {
        for new in &inventories {
            assert_round_trip(old, new);
        }
        assert!(assert_round_trip(old, old).is_empty());
    }
}

/// A change of an inventory.
#[derive(Debug, Clone)]
enum Change {
    RenamePart(usize, String),
    Renumber(usize, String),
    RemoveWire(usize),
    RemovePart(usize),
    MoveEnd(usize, bool, usize),
    Recut(usize, bool),
    Rotate(usize),
}

fn change() -> impl Strategy<Value = Change> {
    let at = 0..400usize;
    prop_oneof![
        (at.clone(), "Z[0-9]{3}").prop_map(|(i, name)| Change::RenamePart(i, name)),
        (at.clone(), "9[0-9]{3}").prop_map(|(i, id)| Change::Renumber(i, id)),
        at.clone().prop_map(Change::RemoveWire),
        at.clone().prop_map(Change::RemovePart),
        (at.clone(), any::<bool>(), at.clone()).prop_map(|(i, end, to)| Change::MoveEnd(i, end, to)),
        (at.clone(), any::<bool>()).prop_map(|(i, longer)| Change::Recut(i, longer)),
        at.prop_map(Change::Rotate),
    ]
}

fn rename(inventory: &mut Inventory, from: &str, to: &str) {
    let new_name = |name: &str| if name == from { to.to_string() } else { name.to_string() };
    inventory.parts.iter_mut().for_each(|part| *part = part.named(&new_name));
    let pins = inventory.wires.iter_mut().flat_map(|wire| &mut wire.ends);
    pins.filter(|pin| pin.part == from).for_each(|pin| pin.part = to.to_string());
}

fn apply(inventory: &mut Inventory, change: &Change) {
    let (parts, wires) = (inventory.parts.len(), inventory.wires.len());
    if parts == 0 || wires == 0 {
        return;
    }
    match change {
        Change::RenamePart(i, name) if !inventory.parts.iter().any(|part| part.name == *name) => {
            let from = inventory.parts[i % parts].name.clone();
            rename(inventory, &from, name);
        }
        Change::Renumber(i, id) if !inventory.wires.iter().any(|wire| wire.id == *id) => {
            inventory.wires[i % wires].id = id.clone();
        }
        Change::RemoveWire(i) => drop(inventory.wires.remove(i % wires)),
        Change::RemovePart(i) => {
            let gone = inventory.parts.remove(i % parts).name;
            inventory.wires.retain(|wire| wire.ends.iter().all(|pin| pin.part != gone));
        }
        Change::MoveEnd(i, end, to) => {
            let to = inventory.wires[to % wires].ends[0].clone();
            inventory.wires[i % wires].ends[usize::from(*end)] = to;
        }
        Change::Recut(i, longer) => {
            let other = inventory.wires.iter().filter_map(|wire| wire.cut);
            let cut = if *longer { other.max() } else { other.min() };
            inventory.wires[i % wires].cut = cut;
        }
        // A row of parts renumbered: each takes the name of the next of its kind.
        Change::Rotate(i) => {
            let kind = inventory.parts[i % parts].kind.clone();
            let row: Vec<String> =
                inventory.parts.iter().filter(|part| part.kind == kind).map(|part| part.name.clone()).collect();
            row.iter().enumerate().for_each(|(n, name)| rename(inventory, name, &format!("row-{n}")));
            let next = (0..row.len()).map(|n| row[(n + 1) % row.len()].clone()).collect::<Vec<_>>();
            next.iter().enumerate().for_each(|(n, name)| rename(inventory, &format!("row-{n}"), name));
        }
        Change::RenamePart(..) | Change::Renumber(..) => {}
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]
    #[test]
    fn the_rework_gives_the_new_harness(demo in 0..DEMOS.len(), changes in prop::collection::vec(change(), 1..12)) {
        let old = Inventory::of(&sample::demo(DEMOS[demo]));
        let mut new = old.clone();
        changes.iter().for_each(|change| apply(&mut new, change));
        assert_round_trip(&old, &new);
    }
}

/// Relays that are renumbered in a row are renamed, and no wire is touched.
#[test]
fn a_row_that_is_renumbered_keeps_its_wires() {
    for demo in DEMOS {
        let old = Inventory::of(&sample::demo(demo));
        for i in 0..old.parts.len() {
            let mut new = old.clone();
            apply(&mut new, &Change::Rotate(i));
            let rework = assert_round_trip(&old, &new);
            let rest = Rework { renamed_parts: Vec::new(), ..rework.clone() };
            assert!(rest.is_empty(), "{demo}, {}: {rest:#?}", old.parts[i].name);
        }
    }
}
