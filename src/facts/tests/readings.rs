//! Readings at every pin, and the recipe for a new capability.

use super::*;
use crate::{Facts, VoltageRange};
use model::{ElementKind, WireId, conductor};
use quantity::{Celsius, Volts};
use states::Solved;

/// A capability in a few lines: every pin above a voltage in a state, with its range over the corners.
fn pins_above(facts: &Facts, state: &str, least: Volts) -> Vec<(String, VoltageRange)> {
    let Some(row) = facts.table().rows.iter().find(|row| row.name == state) else { return Vec::new() };
    let there = facts.readings().of(&row.solution);
    let above = there.pins().filter(|(_, range)| range.nominal > least);
    above.map(|(pin, range)| (facts.model.pin_name(pin), range)).collect()
}

#[test]
fn a_capability_lists_every_pin_above_one_volt() {
    let model = harness(LAMP);
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let names = |state: &str| -> Vec<String> {
        pins_above(&facts, state, Volts::new(1.0)).into_iter().map(|(name, _)| name).collect()
    };
    assert_eq!(names("at rest"), ["battery", "F1.1", "F1.2", "SW1.common"]);
    assert_eq!(names("light"), ["battery", "F1.1", "F1.2", "SW1.common", "SW1.on", "L1.power"]);
    assert!(names("no such state").is_empty());
}

#[test]
fn a_range_holds_the_voltages_of_every_corner() {
    let model = harness(LAMP);
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let row = facts.table().rows.iter().find(|row| row.name == "light").unwrap();
    let there = facts.readings().settled(&row.solution.state).unwrap();
    // Almost nothing flows past the open switch, so the battery's own volts stand at F1.
    let rest = facts.readings().of(&facts.table().rows[0].solution);
    let open = rest.range(pin(&model, "F1.2")).unwrap();
    assert_eq!([open.least, open.nominal, open.most].map(|v| format!("{:.2}", v.value())), ["11.80", "12.60", "14.60"]);
    // By hand: the lamp's current through the battery's 15 mΩ, two wires at 20 °C and the fuse.
    let wire = |i: usize| {
        let wire = &model.wires[i];
        conductor::resistance(wire.gauge, wire.length.unwrap(), Celsius::new(20.0)).value()
    };
    let fuse = model.elements.iter().find_map(|element| match element.kind {
        ElementKind::Fuse { resistance, .. } => Some(resistance.value()),
        _ => None,
    });
    let amps = row.solution.amps(solved.assembly.wire(WireId(0)).unwrap()).value();
    let switched = 12.6 - amps * (0.015 + wire(0) + wire(1) + fuse.unwrap());
    let at = |name: &str| there.range(pin(&model, name)).unwrap().nominal.value();
    assert!((at("SW1.common") - switched).abs() < 1e-6, "{} is not {switched}", at("SW1.common"));
    assert!((0.40..0.46).contains(&amps) && at("L1.ground") > amps * wire(3), "{amps}");
    // Lost from the battery to the lamp at the worst corner is more than at the nominal one.
    let lost = there.drop(pin(&model, "battery"), pin(&model, "L1.power")).value();
    assert!(lost > at("battery") - at("L1.power") && lost < 0.15, "{lost}");
    let lamp = there.range(pin(&model, "L1.power")).unwrap();
    assert!(lamp.least < lamp.nominal && lamp.nominal < lamp.most);
    // Contacts that stay where they are: the switch of the moment counts, and nothing is lost without current.
    let held = facts.readings().held(&row.solution.state).unwrap();
    assert!((held.range(pin(&model, "L1.power")).unwrap().nominal - lamp.nominal).abs().value() < 1e-6);
}
