//! Pictures over contacts, and wires at each other's pins.

use super::*;

const CONTACT: &str = r#"harness: 1
job: {title: Two pictures over a plain relay, nominal: 12 V}
places: [dash]
supplies:
  battery: {terminal: "30", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}
  accessory: {terminal: "75", at: dash, follows: key, fuse: 10 A}
grounds: {GND: {at: dash}}
inputs: {key: {positions: [off, run]}, look: {kind: lamp-feed, at: dash, fuse: 5 A, needs: key}}
screens: {dash: {part: HU1}}
views:
  dash:
    - {when: not key, show: black}
    - {when: look, show: LEFT}
    - {otherwise: any}
cameras: {LEFT: {use: camera-cvbs-12v, at: dash}, RIGHT: {use: camera-cvbs-12v, at: dash}}
parts:
  F1: {use: fuse-blade, rating: 2 A, at: dash}
  HU1: {use: screen-2in-12v, at: dash}
  K1: {use: relay-mini-spdt-12v-diode, at: dash}
splices: {S2: {at: dash}}
wires:
  - {id: 1, from: accessory, to: F1.1}
  - {id: 2, from: F1.2, to: S2}
  - {id: 3, from: S2, to: HU1.power}
  - {id: 4, from: HU1.ground, to: GND}
  - {id: 5, from: S2, to: LEFT.power}
  - {id: 6, from: LEFT.ground, to: GND}
  - {id: 7, from: S2, to: RIGHT.power}
  - {id: 8, from: RIGHT.ground, to: GND}
  - {id: 9, from: look, to: K1.86}
  - {id: 14, from: S2, to: HU1.REV}
  - {id: 10, from: K1.85, to: GND}
  - {id: 11, from: LEFT.video, to: K1.87, make: coax}
  - {id: 12, from: RIGHT.video, to: K1.87a, make: coax}
  - {id: 13, from: K1.30, to: HU1.cam1, make: coax}
"#;

/// Rule and message of the roots among the errors.
fn roots(spec: &str) -> Vec<(&'static str, String)> {
    let report = specimens::report(spec).unwrap().1;
    let errors = report.roots().filter(|finding| finding.severity == Severity::Error);
    errors.map(|finding| (finding.rule, finding.message.clone())).collect()
}

/// Three nets of pictures meet the contacts of one relay: one finding, which names the kinds that switch pictures.
#[test]
fn a_picture_over_a_plain_relay_is_one_finding() {
    let found = roots(CONTACT);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].0, "net/mixed-kinds");
    let hint = messages_of_hints(CONTACT);
    assert!(hint.contains("video-relay-12v") && hint.contains("selector-2in"), "{hint}");
    // The kinds that the hint names do it without a finding.
    let switched = CONTACT.replace("relay-mini-spdt-12v-diode", "video-relay-12v");
    let switched = switched.replace("K1.87a", "K1.in1").replace("K1.87", "K1.in2").replace("K1.30", "K1.out");
    assert_eq!(roots(&switched), []);
}

fn messages_of_hints(spec: &str) -> String {
    found("net/mixed-kinds", spec).into_iter().map(|finding| finding.hint).collect()
}

/// Feed and picture at each other's pins of a camera: one finding names both wires.
#[test]
fn a_feed_and_a_picture_at_each_others_pins_are_swapped() {
    let good = CONTACT.replace("relay-mini-spdt-12v-diode", "video-relay-12v");
    let good = good.replace("K1.87a", "K1.in1").replace("K1.87", "K1.in2").replace("K1.30", "K1.out");
    let swapped = good.replace("to: LEFT.power", "to: LEFT.video").replace("from: LEFT.video", "from: LEFT.power");
    let found = roots(&swapped);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(found[0].1.starts_with("`power` and `video` of `LEFT` are swapped: wire 5 joins"), "{found:?}");
}
