//! What is joined to what, what protects it, and what a short draws.

use super::*;
use crate::Facts;
use crate::consumers::{Consumer, is_spare, is_wired};
use crate::protection::Guard;
use crate::walk::Towards;
use circuit::{Spot, Via};
use model::{ElementId, ElementKind, WireId, conductor};
use quantity::Ohms;
use states::Solved;

#[test]
fn a_walk_passes_contacts_and_ends_at_loads_supplies_and_grounds() {
    let model = harness(
        "inputs: {light: {kind: toggle, part: SW1}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  SW1: {use: toggle-spst, at: dash}
  K1: {use: relay-mini-spdt-12v, at: dash}
  L1: {use: lamp-5w, at: dash}
  L2: {use: lamp-5w, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: SW1.common}
  - {id: 3, from: SW1.on, to: K1.86}
  - {id: 4, from: K1.85, to: GND}
  - {id: 5, from: F1.2, to: K1.87}
  - {id: 6, from: K1.30, to: L1.power}
  - {id: 7, from: K1.87a, to: L2.power}
  - {id: 8, from: L1.ground, to: GND}
  - {id: 9, from: L2.ground, to: GND}
",
    );
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let connectivity = facts.connectivity();
    let reached = |from: &str, towards| -> Vec<String> {
        connectivity.reached(pin(&model, from), towards).into_iter().map(|pin| model.pin_name(pin)).collect()
    };
    let down = reached("F1.2", Towards::Ground);
    assert!(down.contains(&"L1.power".to_string()) && !down.contains(&"L1.ground".to_string()), "{down:?}");
    // In at 87 and out at 30, and not back over the wire on 30 and out at 87a.
    assert!(!down.contains(&"L2.power".to_string()) && !connectivity.is_fed(pin(&model, "L2.power")), "{down:?}");
    assert_eq!(reached("L2.ground", Towards::Ground), ["L2.ground", "GND"]);
    assert!(connectivity.is_fed(pin(&model, "L1.power")) && !connectivity.is_fed(pin(&model, "L1.ground")));
    assert!(connectivity.is_grounded(pin(&model, "K1.85")) && !connectivity.is_grounded(pin(&model, "K1.86")));
    let lamp = model.part_named("L1").unwrap();
    let consumers = Consumer::of_part(connectivity, lamp);
    assert!(consumers.len() == 1 && !consumers[0].is_exchanged(connectivity) && is_wired(connectivity, lamp));
    assert!(!is_spare(connectivity, pin(&model, "L1.power")));
}

/// By hand: the battery's 15 mΩ, three wires of hot copper, fuse, switch, and the ground point.
#[test]
fn a_short_draws_what_the_loop_lets_through() {
    let model = harness(LAMP);
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let short = facts.shorts().at_end_of(WireId(2)).unwrap();
    assert_eq!(short.at, pin(&model, "L1.power"));
    let wires: Ohms = (0..3)
        .map(|i| {
            let wire = &model.wires[i];
            conductor::resistance(wire.gauge, wire.length.unwrap(), model.limits.hot)
        })
        .fold(Ohms::new(0.0), |sum, ohms| sum + ohms);
    let inside = model.elements.iter().map(|element| match element.kind {
        ElementKind::Fuse { resistance, .. } | ElementKind::Throw { resistance, .. } => resistance.value(),
        ElementKind::GroundPoint { resistance, .. } => resistance.value() / 2.0, // Two alike; one counts.
        _ => 0.0,
    });
    let ohms = 0.015 + wires.value() + inside.sum::<f64>();
    assert!((short.ohms.value() - ohms).abs() < 1e-9, "{} is not {ohms}", short.ohms);
    assert!((short.amps[0].value() - 11.8 / ohms).abs() < 1e-6 && (short.amps[1].value() - 14.6 / ohms).abs() < 1e-6);
    assert_eq!(short.fuses.len(), 1);
    // The ground wire is reached by no supply without going through the lamp.
    assert!(facts.shorts().at_end_of(WireId(3)).is_none());
}

#[test]
fn a_wire_is_protected_by_the_fuse_before_it() {
    let model = harness(LAMP);
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let guard = |wire| facts.protection().of(WireId(wire));
    assert!(matches!(guard(0), Guard::Open(_)) && guard(3) == Guard::Dead);
    for wire in [1, 2] {
        assert!(matches!(guard(wire), Guard::Element(_, amps) if amps.to_string() == "3 A"), "{:?}", guard(wire));
    }
}

/// 2 A at 14.6 V let through 2.21 A at 13.2 V, which is less than the converter's own 5 A.
#[test]
fn a_converter_changes_the_amperes_that_its_fuse_lets_through() {
    for (fuse, amps) in [("2 A", 2.0 * 14.6 / 13.2), ("5 A", 5.0)] {
        let model = harness(&format!(
            "parts:\n  F1: {{use: fuse-blade, rating: {fuse}, at: dash}}\n  PS1: {{use: converter-24-12-5a, at: dash}}\n  \
             BZ: {{use: buzzer-12v, at: dash}}\nwires:\n  - {{id: 1, from: battery, to: F1.1}}\n  \
             - {{id: 2, from: F1.2, to: PS1.in}}\n  - {{id: 3, from: PS1.ground, to: GND}}\n  \
             - {{id: 4, from: PS1.out, to: BZ.power}}\n  - {{id: 5, from: BZ.ground, to: GND}}\n"
        ));
        let solved = Solved::new(&model);
        let guard = Facts::new(&solved).protection().of(WireId(3));
        assert!(matches!(guard, Guard::Element(_, limit) if (limit.value() - amps).abs() < 1e-9), "{fuse}: {guard:?}");
    }
}

#[test]
fn a_path_leads_from_the_battery_through_the_lamp_to_its_negative() {
    let model = harness(LAMP);
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let row = facts.table().rows.iter().find(|row| row.name == "light").unwrap();
    let lamp =
        (0..model.elements.len()).map(ElementId).find(|id| matches!(model.element(*id).kind, ElementKind::Load(_)));
    let lamp = lamp.unwrap();
    let path = facts.paths().through(&row.solution, lamp, pin(&model, "L1.power"), pin(&model, "L1.ground"));
    let wires: Vec<usize> =
        path.steps.iter().filter_map(|step| if let Via::Wire(id) = step.via { Some(id.0) } else { None }).collect();
    assert_eq!(wires, [0, 1, 2, 3]);
    assert_eq!((path.start, path.steps.last().unwrap().to), (Spot::Negative, Spot::Negative));
    assert!(path.steps.windows(2).all(|two| (two[0].amps - two[1].amps).abs().value() < 1e-3), "{path:?}");
    assert!(!facts.paths().branches().is_short(&row.solution, &path));
    let drop = facts.wire_drop(&row.solution, lamp).unwrap().lost;
    // 0.4 A through 8 m of 1 mm².
    assert!((0.04..0.09).contains(&drop.drop.value()) && drop.worst().is_some(), "{drop:?}");
}
