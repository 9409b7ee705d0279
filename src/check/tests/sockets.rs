//! Pins of trailer sockets that a standard gives another purpose: each wire of the demonstration's socket, moved to each free pin
//! together with its mate, so that all works and only the standard is broken.

use super::roots::{errors, report_of};
use super::*;
use crate::Repair;
use model::{Domain, Family, PinId};

/// The demonstration with a socket. The camera's trailer plug is a part of its own.
const DEMO: &str = "boat-tow-pickup";

/// A wired signal pin of each socket with each pin of it that has no wire and is no ground.
fn moves(model: &Model) -> Vec<[PinId; 2]> {
    let is_wired = |pin: &PinId| model.wires_on(*pin).next().is_some();
    let sockets = model.part_ids().filter(|part| model.part(*part).form.family == Family::TrailerSocket);
    let first = sockets.filter(|part| model.part(*part).pins.iter().any(is_wired)).take(1);
    let pairs = first.flat_map(|part| {
        let pins = &model.part(part).pins;
        let from = pins.iter().filter(|pin| is_wired(pin) && model.pin(**pin).means.is_some());
        let to = pins.iter().filter(|pin| !is_wired(pin) && model.pin(**pin).domain != Domain::Ground);
        from.flat_map(|from| to.clone().map(move |to| [*from, *to])).collect::<Vec<_>>()
    });
    pairs.collect()
}

fn mate(model: &Model, pin: PinId) -> PinId {
    let joint = model.joints.iter().find(|joint| joint.pins.contains(&pin)).unwrap();
    joint.pins[usize::from(joint.pins[0] == pin)]
}

/// How many moves are found of how many.
fn found(model: &Model, most: usize) -> [usize; 2] {
    let all = moves(model);
    let step = all.len().div_ceil(most).max(1);
    let planted: Vec<&[PinId; 2]> = all.iter().step_by(step).collect();
    let is_found = |[from, to]: &[PinId; 2]| {
        let once = Repair::Exchange(*from, *to).repaired(model);
        let moved = Repair::Exchange(mate(model, *from), mate(model, *to)).repaired(&once);
        errors(&report_of(&moved)).iter().any(|root| root.rule == "logic/standard-pin")
    };
    [planted.iter().filter(|pins| is_found(pins)).count(), planted.len()]
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_signal_on_another_pin_of_a_socket_is_found_in_the_demo() {
    let [named, planted] = found(&sample::demo(DEMO), 6);
    assert!(named == planted && planted > 0, "{named} of {planted}");
}

/// A lamp that a signal works through a socket of 13 pins.
fn socket(pin: &str, inputs: &str, feed: &str) -> Vec<(&'static str, String)> {
    let spec = format!(
        "harness: 1
job: {{title: A socket, nominal: 12 V}}
places: [kick]
supplies: {{battery: {{terminal: \"30\", at: kick, volts: [11.8 V, 12.6 V, 14.6 V]}}}}
grounds: {{GND: {{at: kick}}}}
inputs: {{{inputs}}}
parts: {{F1: {{use: fuse-blade, rating: 5 A, at: kick}}, SW1: {{use: toggle-spst, at: kick}}}}
accessories: {{L1: {{use: lamp-5w, at: kick, works: extra}}}}
connectors:
  X1: {{use: trailer-socket-13, at: kick}}
  X2: {{use: trailer-plug-13, at: kick, mates: X1}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: SW1.common}}
  - {{id: 3, from: {feed}, to: X1.{pin}, gauge: 1 mm²}}
  - {{id: 4, from: X1.3, to: GND, gauge: 1 mm²}}
  - {{id: 5, from: X2.{pin}, to: L1.power, gauge: 1 mm²}}
  - {{id: 6, from: L1.ground, to: X2.3, gauge: 1 mm²}}
"
    );
    let (_, report) = specimens::report(&spec).unwrap();
    let of_pins = ["logic/standard-pin", "spec/meaning-missing"];
    let found = report.roots().filter(|root| of_pins.contains(&root.rule));
    found.map(|root| (root.rule, root.message.clone())).collect()
}

#[test]
fn each_pin_of_a_socket_may_carry_its_purpose_alone() {
    let lamp = "extra: {kind: lamp-feed, at: kick, fuse: 5 A, means: brake}";
    let unknown = "extra: {kind: lamp-feed, at: kick, fuse: 5 A}";
    let toggle = "extra: {kind: toggle, part: SW1}";
    for pin in ["1", "2", "4", "5", "7", "8", "9", "10", "12"] {
        let found = socket(pin, lamp, "extra");
        assert_eq!(found.iter().map(|(rule, _)| *rule).collect::<Vec<_>>(), ["logic/standard-pin"], "{pin}: {found:?}");
    }
    assert_eq!(socket("6", lamp, "extra"), []);
    // An input without a meaning may be the one; a switch may work the trailer's supply.
    let note = |found: Vec<(&'static str, String)>| found.first().map(|(rule, _)| *rule);
    assert_eq!(note(socket("2", unknown, "extra")), Some("spec/meaning-missing"));
    assert_eq!(note(socket("2", toggle, "SW1.on")), Some("spec/meaning-missing"));
    for pin in ["9", "10"] {
        assert_eq!(socket(pin, toggle, "SW1.on"), []);
    }
    // Day and night, nobody's signal.
    assert_eq!(note(socket("2", toggle, "F1.2")), Some("logic/standard-pin"));
}
