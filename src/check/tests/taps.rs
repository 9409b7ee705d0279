//! Wires of the vehicle that inputs tap: fused in the vehicle, and how is what counts.

use super::{found, messages};

/// A motor of 2 A at the end of 5 m of wire behind a wire of the vehicle.
fn motor(input: &str, gauge: &str) -> String {
    format!(
        "harness: 1
job: {{title: A motor on a tap, nominal: 12 V}}
places: [dash, tail]
runs: [{{between: [dash, tail], length: 5 m}}]
supplies: {{battery: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}}}}
grounds: {{G1: {{at: tail}}}}
inputs: {{tap: {{{input}}}}}
parts: {{M1: {{use: motor-small, at: tail}}}}
wires:
  - {{id: 1, from: tap, to: M1.power, gauge: {gauge}}}
  - {{id: 2, from: M1.ground, to: G1, gauge: 2.5 mm²}}
"
    )
}

const LIVE: [&str; 5] = ["switched-feed", "lamp-feed", "flasher-feed", "module-output", "pulsed-feed, duty: 50..90 %"];

/// ABYC E-11, up to two conductors outside an engine space: 16 AWG carries 25 A, and 1.5 mm² counts as that.
#[test]
fn a_tap_of_unknown_fuse_needs_a_wire_for_thirty_amperes() {
    for kind in LIVE {
        let reported = messages("safety/fuse-above-wire", &motor(&format!("kind: {kind}, at: dash"), "1.5 mm²"));
        let wanted = "the vehicle's fuse of `tap` (rating not given, 30 A assumed) is too large for wire 1 (1.5 mm²), \
                      limit 25 A";
        assert_eq!(reported, [wanted], "{kind}");
        // 2.5 mm² counts as 14 AWG and carries 35 A: only the rating is still to be looked up.
        let thick = motor(&format!("kind: {kind}, at: dash"), "2.5 mm²");
        assert_eq!(messages("safety/fuse-above-wire", &thick), [""; 0], "{kind}");
        let noted = found("safety/feed-without-fuse", &thick);
        assert!(noted.len() == 1 && noted[0].severity == crate::Severity::Note, "{kind}: {noted:?}");
    }
}

#[test]
fn a_tap_of_known_fuse_needs_a_wire_for_that_fuse() {
    for kind in LIVE {
        let spec = |fuse: &str| motor(&format!("kind: {kind}, at: dash, fuse: {fuse}"), "1.5 mm²");
        assert_eq!(messages("safety/fuse-above-wire", &spec("25 A")), [""; 0], "{kind}");
        assert_eq!(messages("safety/feed-without-fuse", &spec("25 A")), [""; 0], "{kind}");
        let reported = messages("safety/fuse-above-wire", &spec("26 A"));
        let wanted = "the vehicle's fuse of `tap` (26 A) is too large for wire 1 (1.5 mm²), limit 25 A";
        assert_eq!(reported, [wanted], "{kind}");
    }
}

/// What feeds a tap may have the smaller fuse.
#[test]
fn the_smallest_fuse_before_a_tap_counts() {
    let spec = |supply: &str| {
        motor("kind: switched-feed, at: dash, from: ign, fuse: 40 A", "1.5 mm²")
            .replace("14.6 V]}}", &format!("14.6 V]}}, ign: {{terminal: \"15\", at: dash{supply}}}}}"))
    };
    assert_eq!(messages("safety/fuse-above-wire", &spec(", fuse: 20 A")), [""; 0]);
    assert_eq!(messages("safety/fuse-above-wire", &spec("")).len(), 1);
}

/// The wire of an input that goes to ground when on is fed by nothing of its own.
#[test]
fn a_ground_switch_has_no_fuse() {
    for kind in ["ground-switch", "module-low"] {
        let spec = motor(&format!("kind: {kind}, at: dash"), "1.5 mm²");
        assert_eq!(messages("safety/fuse-above-wire", &spec), [""; 0]);
    }
}

/// A fuse of the harness within 450 mm of the tap protects what is behind it; one at the far end does not.
#[test]
fn a_fuse_close_to_the_tap_is_enough() {
    let spec = |at: &str, length: &str| {
        motor("kind: switched-feed, at: dash", "1.5 mm²")
            .replace("parts: {", &format!("parts: {{F1: {{use: fuse-blade, rating: 5 A, at: {at}}}, "))
            .replace(
                "- {id: 1, from: tap, to: M1.power, gauge: 1.5 mm²}",
                &format!(
                    "- {{id: 1, from: F1.2, to: M1.power, gauge: 1.5 mm²}}\n  \
                     - {{id: 3, from: tap, to: F1.1, gauge: 1.5 mm²{length}}}"
                ),
            )
    };
    assert_eq!(messages("safety/fuse-above-wire", &spec("dash", ", length: 450 mm")), [""; 0]);
    assert_eq!(messages("safety/feed-without-fuse", &spec("dash", ", length: 450 mm")), [""; 0]);
    let far = messages("safety/fuse-above-wire", &spec("tail", ""));
    assert!(far.len() == 1 && far[0].contains("wire 3"), "{far:?}");
}

/// 20 m of 1.5 mm² (13.3 mΩ/m, IEC 60228, class 5, at 20 °C) there: some 35 A from 11.8 V, at which a blade fuse of 15 A opens
/// within 5 s, as ISO 8820-3 asks at 200 %, and one of 30 A need not open (from memory).
#[test]
fn a_short_behind_a_long_tap_has_to_clear() {
    let spec = |fuse: &str| {
        motor(&format!("kind: switched-feed, at: dash, fuse: {fuse}"), "1.5 mm²").replace("length: 5 m", "length: 20 m")
    };
    assert_eq!(messages("load/short-clears", &spec("15 A")), [""; 0]);
    let reported = messages("load/short-clears", &spec("30 A"));
    let wanted =
        ("a short at the far end of wire 1 draws ", ", at which the vehicle's fuse of `tap` (30 A) need not open");
    assert!(
        reported.len() == 1 && reported[0].starts_with(wanted.0) && reported[0].ends_with(wanted.1),
        "{reported:?}"
    );
}

/// A door lamp of the vehicle on a wire that goes to ground, and a relay behind a diode on it: no current of the battery
/// goes to ground but through the lamp. Without that lamp, a wire from the battery there is a short.
#[test]
fn the_vehicles_own_lamp_is_no_short() {
    let spec = |wire: &str| {
        format!(
            "harness: 1
job: {{title: A door lamp, nominal: 12 V}}
places: [dash]
supplies:
  battery: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}}
  accessory: {{terminal: \"75\", at: dash, follows: key, fuse: 10 A}}
grounds: {{GND: {{at: dash}}}}
inputs: {{key: {{positions: [off, run]}}, door: {{kind: ground-switch, at: dash, lamps: 10 W}}}}
parts:
  F1: {{use: fuse-blade, rating: 4 A, at: dash}}
  BZ: {{use: buzzer-12v, at: dash}}
  K1: {{use: relay-mini-spst-12v-diode, at: dash}}
  D1: {{use: diode-3a, at: dash}}
wires:
  - {{id: 1, from: accessory, to: F1.1, length: 300 mm}}
  - {{id: 2, from: F1.2, to: K1.86, length: 300 mm}}
  - {{id: 3, from: F1.2, to: K1.30, length: 300 mm}}
  - {{id: 4, from: K1.85, to: D1.anode, length: 300 mm}}
  - {{id: 5, from: D1.cathode, to: door, length: 300 mm}}
  - {{id: 6, from: K1.87, to: BZ.power, length: 300 mm}}
  - {{id: 7, from: BZ.ground, to: GND, length: 300 mm}}
{wire}"
        )
    };
    assert_eq!(messages("net/short-circuit", &spec("")), [""; 0]);
    let short = spec("  - {id: 8, from: battery, to: door, length: 300 mm}\n");
    assert_eq!(messages("net/short-circuit", &short).len(), 1);
}
