//! Loads that never work, outputs whose current goes the other way, coils beside each other; inputs that can never move.

use super::*;

fn head(title: &str, ground: &str) -> String {
    format!(
        "harness: 1\njob: {{title: {title}, nominal: 12 V}}\nplaces: [dash]\n\
         supplies: {{battery: {{terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}}}}\n\
         grounds: {{GND: {{at: dash{ground}}}}}\n"
    )
}

/// A work light of 27 W takes 3 A at 9 V and below that like 3 Ω; behind 100 Ω it has 3/103 of 14.6 V, 425 mV.
#[test]
fn a_load_on_a_bad_ground_never_works() {
    let light = |ohms: &str| {
        head("A work light on a bad ground", "")
            + &format!(
                "parts:
  F1: {{use: fuse-blade, rating: 5 A, at: dash}}
  L1: {{use: led-worklight, at: dash}}
  R1: {{use: resistor, at: dash, resistance: {ohms}}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: L1.power}}
  - {{id: 3, from: L1.ground, to: R1.1}}
  - {{id: 4, from: R1.2, to: GND}}
"
            )
    };
    let reported = messages("load/starved", &light("100 Ω"));
    assert!(reported.len() == 1 && reported[0].starts_with("`L1` never works: it gets at most 42"), "{reported:?}");
    assert!(reported[0].ends_with(" mV in any state, needs 9 V"), "{reported:?}");
    // With 5 Ω it is fed, and starved.
    let reported = messages("load/starved", &light("5 Ω"));
    assert!(reported.len() == 1 && reported[0].starts_with("`L1` gets "), "{reported:?}");
    assert_eq!(messages("load/starved", &light("0.05 Ω")), [""; 0]);
}

/// A converter of 24 V on 12 V, and its loads: one finding, at the converter.
#[test]
fn a_converter_that_never_starts_is_reported_and_not_what_it_should_feed() {
    let spec = head("A converter", "")
        + "parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  CV: {use: converter-24-12-5a, at: dash}
  BZ: {use: buzzer-12v, at: dash}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: CV.in}
  - {id: 3, from: CV.ground, to: GND}
  - {id: 4, from: CV.out, to: BZ.power}
  - {id: 5, from: BZ.ground, to: GND}
";
    let reported = messages("load/starved", &spec);
    assert_eq!(reported, ["`CV` never works: it gets at most 14.6 V in any state, needs 18 V"]);
}

/// The make and the break contact of one relay in a row are never both closed; nobody moves a switch without an input; and
/// the loads of a relay that never pulls in are reported at the relay alone.
#[test]
fn what_never_gets_a_feed_is_reported_once() {
    let spec = |inputs: &str, parts: &str, wires: &str| {
        head("A buzzer", "")
            + &format!(
                "{inputs}parts:\n  F1: {{use: fuse-blade, rating: 3 A, at: dash}}\n  BZ: {{use: buzzer-12v, at: dash}}\n{parts}\
                 splices: {{S: {{at: dash}}}}\nwires:\n  - {{id: 1, from: battery, to: F1.1}}\n  \
                 - {{id: 2, from: F1.2, to: S}}\n  - {{id: 3, from: BZ.ground, to: GND}}\n{wires}"
            )
    };
    let never = ["`BZ` never works: it gets at most 0 V in any state, needs 6 V"];
    let switch = spec(
        "",
        "  SW1: {use: toggle-spst, at: dash}\n",
        "  - {id: 4, from: S, to: SW1.common}\n  - {id: 5, from: SW1.on, to: BZ.power}\n",
    );
    assert_eq!(messages("load/starved", &switch), never);
    let both = spec(
        "inputs: {on: {kind: toggle, part: SW1}}\n",
        "  SW1: {use: toggle-spst, at: dash}\n  K1: {use: relay-mini-spdt-12v-diode, at: dash}\n  \
         K2: {use: relay-mini-spdt-12v-diode, at: dash}\n",
        "  - {id: 4, from: S, to: SW1.common}\n  - {id: 5, from: SW1.on, to: K1.86}\n  - {id: 6, from: SW1.on, to: K2.86}\n  \
         - {id: 7, from: K1.85, to: GND}\n  - {id: 8, from: K2.85, to: GND}\n  - {id: 9, from: S, to: K1.30}\n  \
         - {id: 10, from: K1.87, to: K2.30}\n  - {id: 11, from: K2.87a, to: BZ.power}\n",
    );
    assert_eq!(messages("load/starved", &both), never);
    let weak = both
        .replace("F1.2, to: S}", "F1.2, to: R1.1}\n  - {id: 12, from: R1.2, to: S}")
        .replace("parts:\n", "parts:\n  R1: {use: resistor, at: dash, resistance: 200 Ω}\n");
    assert_eq!(messages("load/starved", &weak), [""; 0]);
    assert_eq!(found("load/coil-weak", &weak).len(), 2);
}

/// A wire that goes to ground when on takes the lamp's current in: 21 W at 14.5 V, some 1.9 A (12 V · 1.75 A · (14.5/12)^0.55 / 12 V).
#[test]
fn current_goes_into_a_low_side_output_by_nature() {
    let spec = |kind: &str| {
        head("A lamp to ground", "")
            + &format!(
                "inputs: {{mo: {{kind: {kind}, at: dash, limit: 250 mA}}}}\nparts:
  F1: {{use: fuse-blade, rating: 10 A, at: dash}}
  L1: {{use: lamp-21w, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: L1.power}}
  - {{id: 3, from: L1.ground, to: mo}}
"
            )
    };
    for kind in ["module-low", "ground-switch"] {
        let reported = found("load/output-overloaded", &spec(kind));
        assert_eq!(reported.len(), 1, "{kind}");
        assert!(
            reported[0].message.starts_with("1.9") && reported[0].message.contains(" A flows into `mo`"),
            "{}",
            reported[0].message
        );
        assert!(reported[0].hint.contains("pull a relay's coil to ground"), "{}", reported[0].hint);
    }
}

/// A feed from elsewhere on the output of a module that holds: its current goes into the output and not out of it.
#[test]
fn what_flows_into_an_output_is_not_taken_from_it() {
    let spec = head("A hold module fed from behind", "").replacen(
        "}}\ngrounds",
        "}, acc: {terminal: \"75\", at: dash, follows: key, limit: 15 A}}\ngrounds",
        1,
    ) + "inputs: {key: {}, reverse: {kind: lamp-feed, at: dash, needs: key}, t: {kind: toggle, part: SW1}}
parts:
  F1: {use: fuse-blade, rating: 3 A, at: dash}
  F5: {use: fuse-blade, rating: 5 A, at: dash}
  SW1: {use: toggle-spst, at: dash}
  HM: {use: hold-module-12v, at: dash}
  BZ: {use: buzzer-12v, at: dash}
splices: {S5: {at: dash}}
wires:
  - {id: 1, from: acc, to: F1.1}
  - {id: 2, from: F1.2, to: HM.power}
  - {id: 3, from: HM.ground, to: GND}
  - {id: 4, from: reverse, to: HM.in}
  - {id: 5, from: HM.out, to: S5}
  - {id: 6, from: S5, to: BZ.power}
  - {id: 7, from: BZ.ground, to: GND}
  - {id: 8, from: battery, to: F5.1}
  - {id: 9, from: F5.2, to: SW1.common}
  - {id: 10, from: SW1.on, to: S5}
";
    let reported = messages("load/output-overloaded", &spec);
    assert!(reported.len() == 1 && reported[0].contains("flows back into `HM.out`"), "{reported:?}");
}

/// Two coils on the same two points, a diode in one of the relays: it clamps both. With the grounds apart it doesn't.
#[test]
fn a_diode_across_one_coil_clamps_the_coil_beside_it() {
    let spec = |ground: &str| {
        head("Two relays on one output", "")
            + &format!(
                "inputs: {{mo: {{kind: module-output, at: dash, limit: 1 A}}, t: {{kind: toggle, part: SW1}}}}\nparts:
  F1: {{use: fuse-blade, rating: 3 A, at: dash}}
  SW1: {{use: toggle-spst, at: dash}}
  K1: {{use: relay-mini-spst-12v-diode, at: dash}}
  K2: {{use: relay-mini-spst-12v, at: dash}}
  BZ: {{use: buzzer-12v, at: dash}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: K1.30}}
  - {{id: 3, from: K1.87, to: K2.30}}
  - {{id: 4, from: K2.87, to: BZ.power}}
  - {{id: 5, from: BZ.ground, to: GND}}
  - {{id: 6, from: mo, to: K1.86}}
  - {{id: 7, from: mo, to: K2.86}}
  - {{id: 8, from: K1.85, to: GND}}
  - {{id: 9, from: K2.85, to: {ground}}}
  - {{id: 10, from: SW1.on, to: GND}}
"
            )
    };
    assert_eq!(messages("load/coil-unsuppressed", &spec("GND")), [""; 0]);
    assert_eq!(messages("load/coil-unsuppressed", &spec("SW1.common")).len(), 1);
}

/// `needs` that contradict themselves, and such as ask for an input that can't be.
#[test]
fn an_input_whose_needs_never_hold_is_reported() {
    let spec = |needs: &str| {
        head("A brake lamp", "")
            + &format!(
                "inputs:\n  key: {{}}\n  brake: {{kind: lamp-feed, at: dash, needs: {needs}}}\n  \
                 stop: {{kind: lamp-feed, at: dash, needs: brake}}\nparts:
  B1: {{use: buzzer-12v, at: dash}}
  B2: {{use: buzzer-12v, at: dash}}
wires:
  - {{id: 1, from: brake, to: B1.power}}
  - {{id: 2, from: stop, to: B2.power}}
  - {{id: 3, from: B1.ground, to: GND}}
  - {{id: 4, from: B2.ground, to: GND}}
"
            )
    };
    let reported = messages("logic/input-stuck", &spec("key and not key"));
    assert_eq!(
        reported,
        [
            "`brake` can never leave `off`: its `needs` never hold",
            "`stop` can never leave `off`: its `needs` never hold"
        ]
    );
    assert_eq!(messages("logic/input-stuck", &spec("key")), [""; 0]);
}

/// Six lamps of 21 W behind a fuse that the inrush of all opens and that of one doesn't.
#[test]
fn lamps_on_switches_of_their_own_do_not_rush_in_together() {
    let lamps = |own: bool| {
        let mut parts = String::from("  F1: {use: fuse-blade, rating: 15 A, at: dash}\n");
        let (mut inputs, mut wires) =
            (String::new(), String::from("  - {id: F, from: battery, to: F1.1, gauge: 4 mm²}\n"));
        for n in 0..6 {
            parts.push_str(&format!("  L{n}: {{use: lamp-21w, at: dash}}\n"));
            wires.push_str(&format!("  - {{id: N{n}, from: L{n}.ground, to: GND}}\n"));
            let switch = if own { n } else { 0 };
            if switch == n {
                parts.push_str(&format!("  SW{n}: {{use: toggle-spst, at: dash}}\n"));
                inputs.push_str(&format!("  light-{n}: {{kind: toggle, part: SW{n}}}\n"));
                wires.push_str(&format!("  - {{id: C{n}, from: F1.2, to: SW{n}.common}}\n"));
            }
            wires.push_str(&format!("  - {{id: P{n}, from: SW{switch}.on, to: L{n}.power}}\n"));
        }
        head("Lamps", "") + &format!("inputs:\n{inputs}parts:\n{parts}wires:\n{wires}")
    };
    assert_eq!(messages("load/fuse-inrush", &lamps(true)), [""; 0]);
    let together = messages("load/fuse-inrush", &lamps(false));
    assert!(together.len() == 1 && together[0].starts_with("`F1` (15 A) may open at switch-on"), "{together:?}");
}

/// Thicker wires don't help a lamp for 24 V on 12 V.
#[test]
fn a_part_of_another_system_is_named_as_such() {
    let lamp = head("A lamp for 24 V", "")
        + "parts: {F1: {use: fuse-blade, rating: 3 A, at: dash}, L1: {use: lamp-5w-24v, at: dash}}
wires:
  - {id: 1, from: battery, to: F1.1}
  - {id: 2, from: F1.2, to: L1.power}
  - {id: 3, from: L1.ground, to: GND}
";
    let reported = messages("load/starved", &lamp);
    assert!(reported.len() == 1 && reported[0].starts_with("`L1` is a 24 V part and gets 1"), "{reported:?}");
}

/// A resistor that holds an output down ends at the splice where the coil of another relay has its ground: the output does
/// not drive that coil. Across a coil of its own, it is too large to suppress it.
#[test]
fn a_resistor_that_holds_an_output_down_drives_no_coil_and_suppresses_none() {
    let spec = |feed: &str, ends: [&str; 2], resistance: &str| {
        head("Pull-down at a coil's ground", "")
            + &format!(
                "inputs: {{mo: {{kind: module-output, at: dash, limit: 1 A}}}}\nparts:
  F1: {{use: fuse-blade, rating: 3 A, at: dash}}
  K1: {{use: relay-mini-spst-12v, at: dash}}
  R1: {{use: resistor, at: dash, resistance: {resistance}}}
  BZ: {{use: buzzer-12v, at: dash}}
splices: {{SG: {{at: dash}}}}
wires:
  - {{id: 1, from: battery, to: F1.1}}
  - {{id: 2, from: F1.2, to: K1.30}}
  - {{id: 3, from: K1.87, to: BZ.power}}
  - {{id: 4, from: BZ.ground, to: GND}}
  - {{id: 5, from: {feed}, to: K1.86}}
  - {{id: 6, from: K1.85, to: SG}}
  - {{id: 7, from: SG, to: GND}}
  - {{id: 8, from: {}, to: R1.1}}
  - {{id: 9, from: R1.2, to: {}}}
",
                ends[0], ends[1]
            )
    };
    let found = |spec: &str| messages("load/coil-unsuppressed", spec).len();
    let down = ["mo", "SG"];
    assert_eq!(messages("load/coil-unsuppressed", &spec("F1.2", down, "15 kΩ")), [""; 0]);
    assert_eq!(messages("load/coil-unsuppressed", &spec("mo", down, "15 kΩ")).len(), 1);
    assert_eq!(messages("load/coil-unsuppressed", &spec("mo", down, "680 Ω")), [""; 0]);
    // The coil has 90 Ω: ten times that suppresses, more does not; an output drives through less than that, not through more.
    assert_eq!([found(&spec("mo", down, "890 Ω")), found(&spec("mo", down, "910 Ω"))], [0, 1]);
    let series = ["mo", "K1.86"];
    assert_eq!([found(&spec("F1.2", series, "89 Ω")), found(&spec("F1.2", series, "91 Ω"))], [1, 0]);
}
