//! Figures, limits and hints of findings on currents and voltages, held to calculations by hand.

use super::*;

/// Lamps that share a ground wire lift each other by millivolts, and take milliamps at that: nothing glows. Two coils
/// in a row between the battery and a wire with lamps are another matter, although its lamps hold it near zero.
#[test]
fn millivolts_of_a_shared_ground_feed_nothing() {
    let lamps = head("Two lamps on one ground wire")
        + "inputs: {stop: {kind: lamp-feed, at: dash, lamps: 21 W}, turn: {kind: lamp-feed, at: dash, lamps: 21 W}}
parts: {L1: {use: lamp-21w, at: dash}, L2: {use: lamp-21w, at: dash}}
splices: {S: {at: dash}}
wires:
  - {id: 1, from: stop, to: L1.power, gauge: 1 mm²}
  - {id: 3, from: turn, to: L2.power, gauge: 1 mm²}
  - {id: 7, from: L1.ground, to: S, gauge: 1 mm²}
  - {id: 8, from: L2.ground, to: S, gauge: 1 mm²}
  - {id: 10, from: S, to: GND, gauge: 1 mm², length: 2 m}
";
    assert_eq!(messages("logic/sneak-input", &lamps), [""; 0]);
    let coils = head("Two coils in a row")
        + "inputs: {a: {kind: lamp-feed, at: dash, limit: 1 A, lamps: 42 W}, door: {kind: ground-switch, at: dash}}
parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  K1: {use: relay-mini-spst-12v, at: dash}
  K2: {use: relay-mini-spst-12v, at: dash}
splices: {S1: {at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: K1.86}
  - {id: 3, from: K1.85, to: S1}
  - {id: 4, from: a, to: K2.86}
  - {id: 5, from: K2.85, to: S1}
  - {id: 6, from: S1, to: door}
";
    let reported = found("logic/sneak-input", &coils);
    assert_eq!(reported.len(), 1);
    // 12.6 V over two coils of 90 Ω: 70 mA; 1 % of 42 W at 12 V: 35 mA.
    assert!(reported[0].message.contains("draws 69."), "{}", reported[0].message);
    assert_eq!(reported[0].evidence.figures[0].limit.as_deref(), Some("35 mA"));
    // At 14.6 V, coils at 90 % of 90 Ω: 90 mA.
    let coil = found("logic/sneak-coil", &coils);
    let worst = coil[0].evidence.figures.iter().find(|figure| figure.name.starts_with("worst case")).unwrap();
    assert!(worst.name.contains("highest supply") && worst.value.contains("7.2"), "{worst:?}");
}

/// 7.2 V at 20 °C, copper at 60 °C (+15.7 %), a tenth of tolerance: 9.17 V.
#[test]
fn a_coil_is_weak_at_the_end_of_its_tolerance() {
    let spec = |least: &str| include_str!("coil.yaml").replace("8.8 V", least);
    let weak = messages("load/coil-weak", &spec("8.8 V"));
    assert!(weak.len() == 1 && weak[0].ends_with("needs 9.17 V"), "{weak:?}");
    assert_eq!(messages("load/coil-weak", &spec("9.3 V")), [""; 0]);
}

/// A heater draws the coil's feed down: the relay pulls in without it and not with it, which is no question of history.
#[test]
fn a_relay_that_depends_on_the_supply_is_reported_as_that() {
    let spec = |heater: &str| {
        head("A heater on the feed of a coil").replace("11.8 V", "9.6 V")
            + &format!(
                "inputs: {{on: {{kind: toggle, part: SW1}}, heat: {{kind: toggle, part: SW2}}}}
parts:
  F1: {{use: fuse-blade, rating: 10 A, at: dash}}
  SW1: {{use: toggle-spst, at: dash}}
  SW2: {{use: toggle-spst, at: dash}}
  R1: {{use: resistor, resistance: 0.2 Ω, at: dash}}
  K1: {{use: relay-mini-spst-12v-diode, at: dash}}
  H: {{use: heater-lens-12v, at: dash, draws: {heater}}}
  BZ: {{use: buzzer-12v, at: dash}}
splices: {{S2: {{at: dash, use: splice-ultrasonic}}}}
wires:
  - {{id: 1, from: battery, to: F1.1, gauge: 1.5 mm²}}
  - {{id: 2, from: F1.2, to: R1.1, gauge: 1.5 mm²}}
  - {{id: 3, from: R1.2, to: S2, gauge: 1.5 mm²}}
  - {{id: 4, from: S2, to: SW1.common, gauge: 1.5 mm²}}
  - {{id: 5, from: SW1.on, to: K1.86, gauge: 1 mm²}}
  - {{id: 6, from: K1.85, to: GND, gauge: 1 mm²}}
  - {{id: 7, from: S2, to: K1.30, gauge: 1 mm²}}
  - {{id: 8, from: K1.87, to: BZ.power, gauge: 1 mm²}}
  - {{id: 9, from: BZ.ground, to: GND, gauge: 1 mm²}}
  - {{id: 10, from: S2, to: SW2.common, gauge: 1 mm²}}
  - {{id: 11, from: SW2.on, to: H.power, gauge: 1 mm²}}
  - {{id: 12, from: H.ground, to: GND, gauge: 1 mm²}}
"
            )
    };
    let heavy = spec("60 W");
    let reported = messages("logic/depends-on-supply", &heavy);
    assert!(reported.len() == 1 && reported[0].contains("but not at the lowest, in state on, heat"), "{reported:?}");
    assert_eq!(messages("load/coil-weak", &heavy), [""; 0]);
    assert_eq!(messages("logic/depends-on-history", &heavy), [""; 0]);
    assert_eq!(messages("logic/depends-on-supply", &spec("15 W")), [""; 0]);
}

/// What is beside a short is no advice to fuse it higher.
#[test]
fn a_short_asks_for_no_larger_fuse() {
    let spec = head("A switch across the supply")
        + "inputs: {on: {kind: toggle, part: SW1}}
parts: {F1: {use: fuse-blade, rating: 5 A, at: dash}, SW1: {use: toggle-spst, at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 1.5 mm²}
  - {id: 2, from: F1.2, to: SW1.common, gauge: 1.5 mm²}
  - {id: 3, from: SW1.on, to: GND, gauge: 1.5 mm²}
";
    let (_, report) = specimens::report(&spec).unwrap();
    assert!(report.findings.iter().any(|finding| finding.rule == "net/short-circuit"));
    let hint = &found("load/fuse-loaded", &spec)[0].hint;
    assert!(hint.starts_with("this is a short-circuit current"), "{hint}");
    for finding in &report.findings {
        assert!(!finding.hint.contains("use a larger") && !finding.hint.contains("split"), "{finding:?}");
    }
}

/// Fuses beside each other protect a wire with the sum of their ratings; the wire of each alone with its own.
#[test]
fn fuses_beside_each_other_add_up() {
    let spec = head("Two fuses for one feed")
        + "inputs: {on: {kind: toggle, part: SW1}}
parts:
  F1: {use: fuse-blade, rating: 15 A, at: dash}
  F2: {use: fuse-blade, rating: 15 A, at: dash}
  SW1: {use: toggle-spst, at: dash}
  BZ: {use: buzzer-12v, at: dash}
splices: {S1: {at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 1 mm²}
  - {id: 2, from: battery, to: F2.1, gauge: 1 mm²}
  - {id: 3, from: F1.2, to: S1, gauge: 1 mm²}
  - {id: 4, from: F2.2, to: S1, gauge: 1 mm²}
  - {id: 5, from: S1, to: SW1.common, gauge: 1 mm²}
  - {id: 6, from: SW1.on, to: BZ.power, gauge: 2.5 mm²}
  - {id: 7, from: BZ.ground, to: GND, gauge: 1 mm²}
";
    let reported = found("safety/fuse-above-wire", &spec);
    assert_eq!(reported.iter().map(|finding| finding.about.as_str()).collect::<Vec<_>>(), ["F1"]);
    assert!(reported[0].message.starts_with("`F1` and `F2` together (30 A) are too large"), "{}", reported[0].message);
    let apart = spec.replace("from: F2.2, to: S1", "from: F2.2, to: SW1.on");
    assert_eq!(messages("safety/fuse-above-wire", &apart), [""; 0]);
    assert_eq!(messages("safety/fuses-parallel", &apart), [""; 0]);
}

/// Power and ground the wrong way about are one fault, not two.
#[test]
fn exchanged_wires_are_reported_once() {
    let spec = head("A buzzer the wrong way about")
        + "parts: {F1: {use: fuse-blade, rating: 3 A, at: dash}, BZ: {use: buzzer-12v, at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: BZ.ground}
  - {id: 3, from: BZ.power, to: GND}
";
    let reported = messages("net/part-unpowered", &spec);
    assert!(reported.len() == 1 && reported[0].starts_with("`power` and `ground` of `BZ` are swapped"), "{reported:?}");
    assert_eq!(messages("net/ground-missing", &spec), [""; 0]);
}

/// Two resistors of zero ohms in parallel are a loop; one of a few ohms is none.
#[test]
fn links_of_no_resistance_close_a_ring() {
    let spec = |ohms: &str| {
        head("Two links")
            + &format!(
                "parts:
  F1: {{use: fuse-blade, rating: 3 A, at: dash}}
  R1: {{use: resistor, resistance: 0 Ω, at: dash}}
  R2: {{use: resistor, resistance: {ohms}, at: dash}}
  BZ: {{use: buzzer-12v, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: R1.1}}
  - {{id: 3, from: F1.2, to: R2.1}}
  - {{id: 4, from: R1.2, to: BZ.power}}
  - {{id: 5, from: R2.2, to: BZ.power}}
  - {{id: 6, from: BZ.ground, to: GND}}
"
            )
    };
    assert_eq!(messages("net/ring", &spec("0 Ω")), ["`R2` closes a loop: `R2.1` and `R2.2` are connected without it"]);
    assert_eq!(messages("net/ring", &spec("3 Ω")), [""; 0]);
}

/// What one output drives is one coil: no relay would help it.
#[test]
fn an_output_that_drives_a_coil_is_reported_to_switch_otherwise() {
    let spec = |load: &str, [feed, ground]: [&str; 2]| {
        head("A weak output")
            + &format!(
                "inputs: {{out: {{kind: lamp-feed, at: dash, limit: 50 mA}}}}
parts: {{X1: {{use: {load}, at: dash}}}}
wires:
  - {{id: 1, from: out, to: X1.{feed}}}
  - {{id: 2, from: X1.{ground}, to: GND}}
"
            )
    };
    let coil = found("load/output-overloaded", &spec("relay-mini-spst-12v-diode", ["86", "85"]));
    assert!(coil[0].hint.contains("coil of higher resistance"), "{}", coil[0].hint);
    let lamp = found("load/output-overloaded", &spec("lamp-5w", ["power", "ground"]));
    assert!(lamp[0].hint.starts_with("let it drive a relay"), "{}", lamp[0].hint);
}

/// Two of three lamps are too much for the fuse already: beside the worst state stands one with two inputs moved.
#[test]
fn the_simplest_state_stands_beside_the_worst() {
    let each = |make: fn(usize) -> String| (1..=3).map(make).collect::<String>();
    let spec = head("Three lamps on one fuse")
        + "inputs:\n"
        + &each(|i| format!("  t{i}: {{kind: toggle, part: SW{i}}}\n"))
        + "parts:\n  F1: {use: fuse-blade, rating: 4 A, at: dash}\n"
        + &each(|i| format!("  SW{i}: {{use: toggle-spst, at: dash}}\n  L{i}: {{use: lamp-21w, at: dash}}\n"))
        + "splices: {S: {at: dash}}\nwires:\n  - {id: 1, from: battery, to: F1.1, gauge: 1 mm²}\n"
        + "  - {id: 2, from: F1.2, to: S, gauge: 1 mm²}\n"
        + &each(|i| {
            format!(
                "  - {{id: {i}a, from: S, to: SW{i}.common, gauge: 1 mm²}}\n  \
                   - {{id: {i}b, from: SW{i}.on, to: L{i}.power, gauge: 1 mm²}}\n  \
                   - {{id: {i}c, from: L{i}.ground, to: GND, gauge: 1 mm²}}\n"
            )
        });
    let reported = found("load/fuse-loaded", &spec);
    assert!(reported.len() == 1 && reported[0].message.contains("in state t1, t2, t3"), "{reported:?}");
    let figures = &reported[0].evidence.figures;
    let simplest = figures.iter().find(|figure| figure.name == "in the simplest state that shows it").unwrap();
    assert!(simplest.value.contains("in state t1, t2 (highest supply"), "{simplest:?}");
}

/// What the same current goes through is one taker.
#[test]
fn coils_in_a_row_drain_the_battery_once() {
    let spec = head("Two coils in a row")
        + "inputs: {door: {kind: toggle, part: SW1}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  SW1: {use: toggle-spst, at: dash}
  K1: {use: relay-mini-spst-12v, at: dash}
  K2: {use: relay-mini-spst-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: K1.86}
  - {id: 3, from: K1.85, to: K2.86}
  - {id: 4, from: K2.85, to: GND}
  - {id: 5, from: F1.2, to: SW1.common}
  - {id: 6, from: SW1.on, to: K2.86}
";
    let reported = found("load/key-off-drain", &spec);
    let names = reported[0].evidence.figures.iter().map(|figure| figure.name.as_str());
    assert_eq!(names.filter(|name| name.contains("draw")).collect::<Vec<_>>(), ["`K1` and `K2` in series draw"]);
}
