//! Lost grounds.

use super::*;
use crate::Facts;
use crate::lost_grounds::{GroundKind, LossEffect};
use model::ElementKind;
use states::Solved;

/// With its ground lost, a lamp's current goes back through the coil that shares the splice, to the feed's lamps.
#[test]
fn a_lost_ground_sends_current_back_through_what_shares_it() {
    let model = harness(
        "inputs: {reverse: {kind: lamp-feed, at: dash, lamps: 21 W}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  L1: {use: lamp-5w, at: dash}
  K1: {use: relay-mini-spst-12v, at: dash}
  BZ: {use: buzzer-12v, at: dash}
splices: {S-G: {at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: L1.power}
  - {id: 3, from: F1.2, to: K1.30}
  - {id: 4, from: reverse, to: K1.86}
  - {id: 5, from: K1.85, to: S-G}
  - {id: 7, from: L1.ground, to: S-G}
  - {id: 8, from: S-G, to: GND}
  - {id: 6, from: K1.87, to: BZ.power}
  - {id: 9, from: BZ.ground, to: G2}
",
    );
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let lost = facts.lost_grounds();
    assert!(lost.shields.is_none());
    let of = |name: &str| {
        let part = model.part_named(name).unwrap();
        lost.all.iter().find(|(ground, _)| ground.kind == GroundKind::Point(part)).unwrap()
    };
    let (ground, loss) = of("GND");
    assert!(!ground.is_dead_end && !loss.is_hidden() && loss.unsolved == 0);
    let backwards = loss.effects.iter().find_map(|(effect, shown)| match effect {
        LossEffect::Backwards(id) if matches!(model.element(*id).kind, ElementKind::Coil(_)) => Some(shown),
        _ => None,
    });
    assert!(backwards.unwrap().amps > model.limits.sneak_current);
    // The buzzer's own ground carries nothing else: current has no way round it.
    let (ground, loss) = of("G2");
    assert!(ground.is_dead_end && loss.effects.is_empty());
}
