//! The branches of a path, held to the spots that it goes through.

use super::harness;
use crate::Facts;
use circuit::{NEGATIVE, NodeId, Spot, Via};
use model::{ElementKind, Model};
use states::Solved;

/// The vehicle's door lamp on a wire that goes to ground, with a relay behind a diode on the same wire.
const DOOR: &str = "inputs: {key: {positions: [off, run]}, door: {kind: ground-switch, at: dash, lamps: 10 W}}
parts:
  F1: {use: fuse-blade, rating: 4 A, at: dash}
  BZ: {use: buzzer-12v, at: dash}
  K1: {use: relay-mini-spst-12v-diode, at: dash}
  D1: {use: diode-3a, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: K1.30}
  - {id: 3, from: K1.87, to: BZ.power}
  - {id: 4, from: BZ.ground, to: GND}
  - {id: 5, from: K1.85, to: D1.anode}
  - {id: 6, from: D1.cathode, to: door}
";

/// Compares the branches of the paths of every supply in every state with the spots of the path; how many were compared, and
/// how many of them belong to an element with several branches.
fn compare(model: &Model) -> [usize; 2] {
    let solved = Solved::new(model);
    let facts = Facts::new(&solved);
    let (assembly, mut compared, mut of_several) = (&solved.assembly, 0, 0);
    let node = |spot: Spot| match spot {
        Spot::Negative => Some(NEGATIVE),
        spot => spot.pin().and_then(|pin| assembly.pin(pin)),
    };
    let batteries = model.elements.iter().filter_map(|element| match element.kind {
        ElementKind::Battery { plus, .. } => Some(plus),
        _ => None,
    });
    for plus in batteries {
        for row in &facts.table().rows {
            let path = facts.paths().from(&row.solution, plus);
            let branches = facts.paths().branches().of_path(&row.solution, &path);
            if branches.len() != path.steps.len() {
                continue;
            }
            let mut from = path.start;
            for (branch, step) in branches.iter().zip(&path.steps) {
                let one = &assembly.circuit.branches[branch.index()];
                let mut own: [NodeId; 2] = [one.from, one.to];
                let mut ends = [from, step.to].map(|spot| node(spot).unwrap());
                own.sort();
                ends.sort();
                assert_eq!(own, ends, "{} in {}: {path:?}", one.name, row.name);
                compared += 1;
                of_several += usize::from(matches!(step.via, Via::Element(id) if assembly.element(id).len() > 1));
                from = step.to;
            }
        }
    }
    [compared, of_several]
}

#[test]
fn a_branch_of_a_path_joins_the_spots_of_its_step() {
    let mut all = compare(&harness(DOOR));
    assert!(all[1] > 0, "{all:?}");
    for name in sample::DEMOS {
        let more = compare(&sample::demo(name));
        all = [all[0] + more[0], all[1] + more[1]];
    }
    assert!(all[0] > 1000 && all[1] > 100, "{all:?} steps compared, of elements with several branches");
}
