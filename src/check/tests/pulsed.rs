//! Pulsed feeds, where the rule's own two specs are not enough.

use super::*;

/// A screen whose `AUX` is wired to the brake lamps although `home` is promised, and a module on dimmed tail lamps.
fn spec(module: &str, side: &str) -> String {
    format!(
        "harness: 1
job: {{title: A module on dimmed lamps, nominal: 12 V}}
places: [dash]
supplies:
  battery: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}
  accessory: {{terminal: \"75\", at: dash, follows: key, others: 0 A}}
grounds: {{GND: {{at: dash}}, G2: {{at: dash}}}}
inputs:
  key: {{}}
  brake: {{kind: lamp-feed, at: dash, limit: 1 A, lamps: 42 W}}
  tail: {{kind: pulsed-feed, at: dash, limit: 3 A, lamps: 10 W, duty: {side}}}
cameras: {{REAR: {{use: camera-cvbs-12v, at: dash}}, SIDE: {{use: camera-cvbs-12v, at: dash}}}}
parts:
  F1: {{use: fuse-blade, rating: 3 A, at: dash}}
  F2: {{use: fuse-blade, rating: 3 A, at: dash}}
  HU1: {{use: screen-2in-12v, at: dash}}
  M1: {{use: {module}, at: dash}}
  LM: {{use: led-marker-12v, at: dash}}
screens: {{dash: {{part: HU1}}}}
views: {{dash: [{{when: not key, show: black}}, {{otherwise: home}}]}}
splices: {{S1: {{at: dash}}, S2: {{at: dash}}}}
wires:
  - {{id: 1, from: accessory, to: F1.1}}
  - {{id: 2, from: F1.2, to: S1}}
  - {{id: 3, from: S1, to: HU1.power}}
  - {{id: 4, from: S1, to: REAR.power}}
  - {{id: 5, from: S1, to: SIDE.power}}
  - {{id: 6, from: S1, to: M1.power}}
  - {{id: 7, from: HU1.ground, to: GND}}
  - {{id: 8, from: REAR.ground, to: GND}}
  - {{id: 9, from: SIDE.ground, to: G2}}
  - {{id: 10, from: M1.ground, to: G2}}
  - {{id: 11, from: REAR.video, to: HU1.cam1, make: coax}}
  - {{id: 12, from: SIDE.video, to: HU1.cam2, make: coax}}
  - {{id: 13, from: brake, to: HU1.AUX}}
  - {{id: 14, from: tail, to: F2.1}}
  - {{id: 15, from: F2.2, to: M1.in}}
  - {{id: 16, from: M1.out, to: LM.power}}
  - {{id: 17, from: LM.ground, to: GND}}
"
    )
}

/// A delay that pulses keep restarting never ends, so the states it is in are at rest, and what they show counts.
#[test]
fn a_delay_on_pulses_hides_nothing() {
    let states = |spec: &str| -> Vec<String> {
        let reported = found("logic/view-differs", spec);
        reported.into_iter().map(|finding| finding.message).collect()
    };
    let reported = states(&spec("delay-module-12v", "20..60 %"));
    assert_eq!(reported, ["screen dash shows SIDE instead of home in state key, brake, and in 1 more state"]);
    assert_eq!(found("logic/pulsed", &spec("delay-module-12v", "20..60 %")).len(), 1);
}

/// Only a hold follows the trigger: it bridges the off-time.
#[test]
fn a_hold_on_pulses_is_no_fault() {
    assert_eq!(found("logic/pulsed", &spec("hold-module-12v", "20..60 %")).len(), 0);
}

/// The mean by hand: at nominal supply 80 % of some 12.5 V, 10 V, pulls in a coil that needs 7.2 V; at lowest supply
/// 61 % of 11.6 V, 7.1 V, does not pull in a hot coil at the end of its tolerance, which needs 9.17 V.
#[test]
fn a_coil_that_pulses_move_with_the_supply_is_reported_by_its_mean() {
    let spec = spec("relay-mini-spst-12v-diode", "61..99 %")
        .replace("  - {id: 6, from: S1, to: M1.power}\n", "  - {id: 6, from: S1, to: M1.30}\n")
        .replace("M1.ground", "M1.85")
        .replace("M1.in", "M1.86")
        .replace("M1.out", "M1.87");
    let reported = found("logic/depends-on-supply", &spec);
    let figure = |n: usize| reported[0].evidence.figures[n].clone();
    assert!(
        figure(0).name.starts_with("mean voltage at its coil, lowest supply") && figure(0).value.starts_with("7.1")
    );
    assert!(figure(1).name.starts_with("mean voltage at its coil, nominal") && figure(1).value.starts_with("10"));
    let reported = found("logic/pulsed", &spec);
    assert!(reported[0].message.contains("is pulsed, on for 61 to 99 % of the time"), "{}", reported[0].message);
}

/// The relay that holds itself through its own contact is reported, whatever else its held line drives.
#[test]
fn what_holds_itself_is_reported_beside_an_impulse_relay() {
    let spec = "harness: 1
job: {title: A relay that holds itself and an impulse relay, nominal: 12 V}
places: [dash]
supplies: {battery: {terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}
grounds: {GND: {at: dash}}
inputs: {button: {kind: push, part: SW}}
parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  SW: {use: push-spst, at: dash}
  K1: {use: relay-mini-spst-12v-diode, at: dash}
  K2: {use: relay-latching-toggle-12v, at: dash}
splices: {S1: {at: dash}, S2: {at: dash}, S3: {at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: S1}
  - {id: 3, from: S1, to: SW.common}
  - {id: 4, from: SW.on, to: S2}
  - {id: 5, from: S1, to: K1.30}
  - {id: 6, from: K1.87, to: S2}
  - {id: 7, from: S2, to: K1.86}
  - {id: 8, from: K1.85, to: S3}
  - {id: 9, from: S3, to: GND}
";
    assert_eq!(found("logic/depends-on-history", spec).len(), 1);
    let more = spec.to_owned() + "  - {id: 10, from: S2, to: K2.86}\n  - {id: 11, from: K2.85, to: S3}\n";
    let reported = found("logic/depends-on-history", &more);
    assert_eq!(reported.len(), 1, "{reported:?}");
    assert!(reported[0].about.contains("K1"));
}
