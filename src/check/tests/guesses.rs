//! Guesses that do harm: an exchange after which the symptom is gone and the vehicle is worse, and a connection to ground or to a
//! supply that bypasses a switch or makes a short.

use super::roots::{HEAD, errors};
use super::*;

/// A work light that a relay switches: `fuse` is the rating of its fuse, `coil` are the wires of the coil.
fn work_light(fuse: &str, coil: &str) -> Report {
    let spec = format!(
        "{HEAD}inputs:
  key: {{positions: [off, run]}}
  reverse: {{kind: lamp-feed, at: dash, lamps: 21 W, fuse: 10 A}}
  go: {{kind: toggle, part: SW1}}
parts:
  F1: {{use: fuse-blade, rating: {fuse}, at: dash}}
  F2: {{use: fuse-blade, rating: 3 A, at: dash}}
  SW1: {{use: toggle-spst, at: dash}}
  K1: {{use: relay-mini-spst-12v, at: dash}}
  WL: {{use: led-worklight, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: K1.30}}
  - {{id: 3, from: K1.87, to: WL.power}}
  - {{id: 4, from: WL.ground, to: GND}}
  - {{id: 5, from: battery, to: F2.1}}
{coil}"
    );
    specimens::report(&spec).unwrap().1
}

/// A fuse that is too small is the root by its own figure, whatever switches the relay: to exchange coil and contact would
/// leave the coil on permanently.
#[test]
fn a_fuse_that_is_too_small_is_no_exchange() {
    let coils = [
        "  - {id: 6, from: reverse, to: K1.86}\n  - {id: 7, from: K1.85, to: GND}\n",
        "  - {id: 6, from: F2.2, to: SW1.common}\n  - {id: 7, from: SW1.on, to: K1.86}\n  - {id: 8, from: K1.85, to: GND}\n",
    ];
    for coil in coils {
        let report = work_light("2 A", coil);
        let rules: Vec<&str> = errors(&report).iter().map(|finding| finding.rule).collect();
        assert_eq!(rules, ["load/fuse-loaded"], "{coil}");
        assert!(!report.findings.iter().any(|finding| finding.rule == "net/swapped"), "{coil}");
    }
}

/// A switch without its ground is named; a ground on the relay behind it would bypass it.
#[test]
fn a_ground_goes_to_the_open_switch_and_not_past_it() {
    let report = work_light("5 A", "  - {id: 6, from: F2.2, to: K1.86}\n  - {id: 7, from: K1.85, to: SW1.on}\n");
    let root = report.findings.iter().find(|finding| finding.rule == "net/ground-missing").unwrap();
    assert_eq!(root.hint, "connect `SW1.common` to a ground point");
}

/// A switch on ground that should be on a supply: a supply beside it would be shorted as soon as the switch closes.
#[test]
fn no_supply_is_connected_to_what_a_switch_grounds() {
    let report = work_light(
        "5 A",
        "  - {id: 6, from: SW1.on, to: K1.86}\n  - {id: 7, from: SW1.common, to: GND}\n  - {id: 8, from: K1.85, to: GND}\n",
    );
    let root = report.findings.iter().find(|finding| finding.rule == "net/part-unpowered").unwrap();
    assert!(root.hint.starts_with("compare with the plan what feeds `K1.86`"), "{}", root.hint);
}
