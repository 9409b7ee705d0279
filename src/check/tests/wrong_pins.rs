//! A wire on the wrong pin: one root names it, and nothing beside it is graver than a note.

use super::roots::{HEAD, errors};
use super::*;

/// The one error of a report that follows from no other, its advice, and what else follows from no other but is graver than
/// a note.
fn root_of(spec: &str) -> (String, String) {
    let (_, report) = specimens::report(spec).unwrap();
    let grave: Vec<&Finding> = report.roots().filter(|finding| finding.severity < Severity::Note).collect();
    assert_eq!(grave.len(), 1, "{:?}", grave.iter().map(|finding| &finding.message).collect::<Vec<_>>());
    (grave[0].message.clone(), grave[0].hint.clone())
}

/// A relay that a toggle switches, with a lamp; the wires of its pins are on the pins given.
fn relay_circuit(kind: &str, [p30, p87, p86, p85]: [&str; 4]) -> String {
    format!(
        "{HEAD}inputs: {{key: {{positions: [off, run]}}, go: {{kind: toggle, part: SW1}}}}
parts:
  F1: {{use: fuse-blade, rating: 5 A, at: dash}}
  F2: {{use: fuse-blade, rating: 2 A, at: dash}}
  SW1: {{use: toggle-spst, at: dash}}
  K1: {{use: {kind}, at: dash}}
accessories: {{L1: {{use: led-worklight, at: dash, works: go}}}}
wires:
  - {{id: 1, from: battery, to: F1.1, gauge: 1.5 mm²}}
  - {{id: 2, from: F1.2, to: K1.{p30}, gauge: 1.5 mm²}}
  - {{id: 3, from: K1.{p87}, to: L1.power, gauge: 1.5 mm²}}
  - {{id: 4, from: L1.ground, to: GND, gauge: 1.5 mm²}}
  - {{id: 5, from: battery, to: F2.1, gauge: 0.75 mm²}}
  - {{id: 6, from: F2.2, to: SW1.common, gauge: 0.5 mm²}}
  - {{id: 7, from: SW1.on, to: K1.{p86}, gauge: 0.5 mm²}}
  - {{id: 8, from: K1.{p85}, to: GND, gauge: 0.5 mm²}}
"
    )
}

/// A pin of the contact exchanged with the coil's ground, and a load on the contact that rests: named, with or without a
/// diode in the relay.
#[test]
fn a_wire_on_another_pin_of_a_relay_is_named() {
    for kind in ["relay-mini-spdt-12v", "relay-mini-spdt-12v-diode"] {
        let (_, right) = specimens::report(&relay_circuit(kind, ["30", "87", "86", "85"])).unwrap();
        assert!(errors(&right).is_empty(), "{:?}", errors(&right).first().map(|finding| &finding.message));
        let (message, _) = root_of(&relay_circuit(kind, ["30", "85", "86", "87"]));
        assert_eq!(message, "`85` and `87` of `K1` are swapped");
        let (message, hint) = root_of(&relay_circuit(kind, ["30", "87a", "86", "85"]));
        assert_eq!(message, "wire 3 is on `K1.87a` instead of `K1.87`");
        assert_eq!(hint, "move wire 3 to `K1.87`");
    }
}

/// A diode between a coil and a door switch, which conducts backwards through the lamps of the door.
#[test]
fn a_reversed_diode_that_conducts_backwards_is_named() {
    let spec = |[anode, cathode]: [&str; 2]| {
        format!(
            "{HEAD}inputs: {{key: {{positions: [off, run]}}, door: {{kind: ground-switch, at: dash, limit: 1 A, lamps: 10 W}}}}
parts: {{F1: {{use: fuse-blade, rating: 2 A, at: dash}}, D1: {{use: diode-1a, at: dash}}, K1: {{use: relay-mini-spst-12v-diode, at: dash}}}}
accessories: {{H1: {{use: buzzer-12v, at: dash, works: door and key}}}}
splices: {{SA: {{at: dash}}}}
wires:
  - {{id: 1, from: accessory, to: F1.1}}
  - {{id: 2, from: F1.2, to: SA}}
  - {{id: 3, from: SA, to: K1.86}}
  - {{id: 4, from: K1.85, to: D1.{anode}}}
  - {{id: 5, from: D1.{cathode}, to: door}}
  - {{id: 6, from: SA, to: K1.30}}
  - {{id: 7, from: K1.87, to: H1.power}}
  - {{id: 8, from: H1.ground, to: GND}}
"
        )
    };
    let (message, hint) = root_of(&spec(["cathode", "anode"]));
    assert_eq!(message, "`D1` is reversed");
    assert!(hint.starts_with("exchange its two wires"), "{hint}");
    let (_, right) = specimens::report(&spec(["anode", "cathode"])).unwrap();
    assert!(!right.findings.iter().any(|finding| finding.rule == "net/swapped"));
}

/// A converter on the battery draws more while parked, once it is the right way round: that hides nothing.
#[test]
fn a_converter_the_wrong_way_round_on_the_battery_is_named() {
    let (message, _) = root_of(&format!(
        "{HEAD}inputs: {{key: {{positions: [off, run]}}}}
parts:
  F1: {{use: fuse-blade, rating: 5 A, at: dash}}
  U1: {{use: converter-12-12, at: dash}}
  L1: {{use: led-worklight, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1, gauge: 1.5 mm²}}
  - {{id: 2, from: F1.2, to: U1.out, gauge: 1.5 mm²}}
  - {{id: 3, from: U1.in, to: L1.power, gauge: 1.5 mm²}}
  - {{id: 4, from: L1.ground, to: GND, gauge: 1.5 mm²}}
  - {{id: 5, from: U1.ground, to: GND, gauge: 1.5 mm²}}
"
    ));
    assert_eq!(message, "`in` and `out` of `U1` are swapped");
}

/// What is between the battery and a lamp's feed is to be fed by that feed: grounded, it would run without end. Its drain and
/// its wrong times follow.
#[test]
fn what_runs_between_the_battery_and_a_feed_is_to_be_fed_by_that_feed() {
    for kind in ["buzzer-12v", "led-marker-12v"] {
        let (message, hint) = root_of(&format!(
            "{HEAD}inputs: {{key: {{positions: [off, run]}}, tail: {{kind: lamp-feed, at: dash, limit: 2 A, lamps: 21 W, fuse: 10 A}}}}
parts: {{F1: {{use: fuse-blade, rating: 1 A, at: dash}}}}
accessories: {{BZ: {{use: {kind}, at: dash, works: tail}}}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: BZ.power}}
  - {{id: 3, from: BZ.ground, to: tail}}
"
        ));
        assert!(message.contains("connected to the feed `tail`"), "{message}");
        assert_eq!(hint, "feed `BZ.power` from `tail` instead, and connect `BZ.ground` to a ground point");
    }
}

/// Stop and left tail crossed before a socket: that lamps work at each other's times follows from its pins.
#[test]
fn lamps_crossed_by_a_socket_follow_from_its_pins() {
    let spec = |[brake, tail]: [&str; 2]| {
        format!(
            "{HEAD}inputs:
  key: {{positions: [off, run]}}
  brake: {{kind: lamp-feed, at: dash, fuse: 5 A, means: brake}}
  lights: {{kind: lamp-feed, at: dash, fuse: 5 A, means: tail-lamps}}
accessories: {{L1: {{use: lamp-21w, at: dash, works: brake}}, L2: {{use: lamp-5w, at: dash, works: lights}}}}
connectors: {{X1: {{use: trailer-socket-7, at: dash}}, X2: {{use: trailer-plug-7, at: dash, mates: X1}}}}
splices: {{S1: {{at: dash}}}}
wires:
  - {{id: 1, from: brake, to: X1.{brake}}}
  - {{id: 2, from: lights, to: X1.{tail}}}
  - {{id: 3, from: X1.3, to: GND}}
  - {{id: 4, from: X2.6, to: L1.power}}
  - {{id: 5, from: X2.7, to: L2.power}}
  - {{id: 6, from: L1.ground, to: S1}}
  - {{id: 7, from: L2.ground, to: S1}}
  - {{id: 8, from: S1, to: X2.3}}
"
        )
    };
    let (_, report) = specimens::report(&spec(["7", "6"])).unwrap();
    let differs = report.findings.iter().find(|finding| finding.rule == "logic/works-differs").unwrap();
    let root = &report.findings[differs.follows_from.unwrap()];
    assert_eq!(root.rule, "logic/standard-pin", "{}", root.message);
    let (_, right) = specimens::report(&spec(["6", "7"])).unwrap();
    let rules = ["logic/standard-pin", "logic/works-differs"];
    assert!(!right.findings.iter().any(|finding| rules.contains(&finding.rule)));
}
