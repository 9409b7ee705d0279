//! What the loss of a ground does, where the rule's own two specs are not enough.

use super::*;

const LOST: &str = "safety/ground-lost";

/// Two lamps on one ground wire, on feeds with lamps of the vehicle.
const LAMPS: &str = "
harness: 1
job: {title: Two lamps on one ground wire, nominal: 12 V}
places: [tail]
supplies: {battery: {terminal: \"30\", at: tail, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}
grounds: {GND: {at: tail}}
inputs: {stop: {kind: lamp-feed, at: tail, lamps: 21 W}, turn: {kind: lamp-feed, at: tail, lamps: 21 W}}
parts: {L1: {use: lamp-21w, at: tail}, L2: {use: lamp-21w, at: tail}}
splices: {S: {at: tail}}
wires:
  - {id: 1, from: stop, to: L1.power, gauge: 1 mm²}
  - {id: 3, from: turn, to: L2.power, gauge: 1 mm²}
  - {id: 7, from: L1.ground, to: S, gauge: 1 mm²}
  - {id: 8, from: L2.ground, to: S, gauge: 1 mm²}
  - {id: 10, from: S, to: GND, gauge: 1 mm²}
";

/// Three equal filaments in series share 12.4 V: L2, L1 and the vehicle's own lamp on the other wire. That a filament takes
/// milliamps backwards at millivolts with its ground whole makes no difference.
#[test]
fn lamps_light_each_other_through_their_lost_ground() {
    let told = found(LOST, LAMPS);
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].message, "with ground point `GND` lost, `L1` is fed backwards in state turn, and 1 more");
    let at = |pin: &str| told[0].evidence.path.iter().find(|point| point.pin == pin).unwrap().volts.value();
    let each = at("L2.power") / 3.0;
    assert!((at("L1.power") - each).abs() < 0.05 && (at("L1.ground") - 2.0 * each).abs() < 0.1, "{:?}", told[0]);
    let own = LAMPS.replace("{id: 8, from: L2.ground, to: S,", "{id: 8, from: L2.ground, to: G2,");
    let own = own.replace("grounds: {GND: {at: tail}}", "grounds: {GND: {at: tail}, G2: {at: tail}}");
    assert!(found(LOST, &own).is_empty());
}

/// A converter that hangs in the air is off, whatever leakage does to its voltages.
#[test]
fn what_only_leaks_does_not_chatter() {
    let spec = "
harness: 1
job: {title: A converter and its load on one ground, nominal: 12 V}
places: [dash]
supplies: {battery: {terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}
grounds: {GND: {at: dash}}
parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  C1: {use: converter-12-12, at: dash}
  M: {use: heater-lens-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 1 mm²}
  - {id: 2, from: F1.2, to: C1.in, gauge: 0.75 mm²}
  - {id: 4, from: C1.ground, to: GND, gauge: 0.75 mm²}
  - {id: 5, from: C1.out, to: M.power, gauge: 0.75 mm²}
  - {id: 6, from: M.ground, to: GND, gauge: 0.75 mm²}
";
    assert!(found(LOST, spec).is_empty(), "{:?}", found(LOST, spec));
}

/// A relay that drops out for want of its ground switches its rest contact as it always does; one that drops out and shares
/// its ground with what is always fed is another matter.
#[test]
fn what_a_rest_contact_makes_is_no_way_back() {
    let spec = "
harness: 1
job: {title: A relay with a load on each side, nominal: 12 V}
places: [dash]
supplies: {battery: {terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}
grounds: {GND: {at: dash}}
inputs: {reverse: {kind: lamp-feed, at: dash, lamps: 21 W}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  K1: {use: relay-mini-spdt-12v, at: dash}
  K2: {use: relay-mini-spst-12v, at: dash}
  L1: {use: lamp-5w, at: dash}
splices: {S-G: {at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: K1.30}
  - {id: 3, from: reverse, to: K1.86}
  - {id: 4, from: K1.85, to: S-G}
  - {id: 5, from: S-G, to: GND}
  - {id: 6, from: K1.87a, to: K2.86}
  - {id: 7, from: K2.85, to: GND}
  - {id: 8, from: F1.2, to: L1.power}
  - {id: 9, from: L1.ground, to: GND}
";
    let told = found(LOST, spec);
    assert!(told.iter().all(|finding| finding.about != "wire 5"), "{told:?}");
    let shared = spec.replace("from: L1.ground, to: GND", "from: L1.ground, to: S-G");
    let told = found(LOST, &shared);
    assert!(told.iter().any(|f| f.about == "wire 5" && f.message.contains("`K1` pulls in")), "{told:?}");
}
