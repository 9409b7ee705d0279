//! Supplies joined to each other and to ground, held to calculations by hand.

use super::*;

fn figure<'f>(finding: &'f Finding, name: &str) -> &'f str {
    &finding.evidence.figures.iter().find(|figure| figure.name == name).expect(name).value
}

fn head(title: &str) -> String {
    format!(
        "harness: 1\njob: {{title: {title}, nominal: 12 V}}\nplaces: [eng, tail]\n\
         runs: [{{between: [eng, tail], length: 6 m}}]\ngrounds: {{G1: {{at: eng}}, G2: {{at: tail}}}}\n"
    )
}

const BATTERY: &str = "battery: {terminal: \"30\", at: eng, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 15 mΩ}";
const HOUSE: &str = "house: {terminal: \"30\", at: tail, volts: [11.8 V, 12.6 V, 14.6 V], resistance: 10 mΩ}";

/// Six metres between two batteries burn from either end; a short link between two side by side is within the 450 mm.
#[test]
fn a_cable_between_two_batteries_needs_fuses() {
    let spec = |wire: &str| {
        head("Two batteries")
            + &format!("supplies:\n  {BATTERY}\n  {HOUSE}\nwires:\n  - {{id: 20, from: house, {wire}}}\n")
    };
    let reported = found("safety/feed-without-fuse", &spec("to: battery, gauge: 6 mm²"));
    assert_eq!(reported.len(), 1);
    assert_eq!(reported[0].message, "6 m of wire without a fuse from `battery` to `house`, limit 450 mm");
    assert_eq!(reported[0].hint, "put a fuse close to `battery` and one close to `house`");
    assert_eq!(messages("safety/feed-without-fuse", &spec("to: battery, gauge: 6 mm², length: 400 mm")), [""; 0]);
    // To ground it is a short as well.
    let grounded = spec("to: G1, gauge: 6 mm²");
    let reported = messages("safety/feed-without-fuse", &grounded);
    assert_eq!(reported, ["6 m of wire without a fuse from `house` to `G1`, limit 450 mm"]);
    assert_eq!(found("net/short-circuit", &grounded).len(), 1);
}

/// However short, a wire from the battery past the vehicle's fuse feeds the loads of that supply; and if it has a fuse
/// of its own, what that supply feeds is protected by this one.
#[test]
fn a_supply_that_another_is_led_to_is_fed_by_it() {
    let spec = |way: &str, more: &str| {
        head("Accessory from the battery")
            + &format!(
                "supplies:\n  {BATTERY}\n  accessory: {{terminal: \"75\", at: eng, follows: key, fuse: 5 A}}\n\
                 inputs: {{key: {{}}}}\nparts:\n  F1: {{use: fuse-blade, rating: 30 A, at: eng}}\n  \
                 BZ: {{use: buzzer-12v, at: eng}}\nwires:\n{way}{more}  \
                 - {{id: 3, from: BZ.ground, to: G1}}\n"
            )
    };
    let load = "  - {id: 2, from: accessory, to: BZ.power, gauge: 0.5 mm², length: 200 mm}\n";
    let straight = spec("  - {id: 20, from: accessory, to: battery, gauge: 1 mm², length: 100 mm}\n", load);
    let reported = messages("safety/feed-without-fuse", &straight);
    assert!(reported.contains(&"wire 20 connects `battery` to `accessory` without a fuse".to_string()), "{reported:?}");
    let fused = "  - {id: 20, from: battery, to: F1.1, gauge: 4 mm², length: 100 mm}\n  \
                 - {id: 21, from: F1.2, to: accessory, gauge: 4 mm², length: 100 mm}\n";
    let reported = messages("safety/fuse-above-wire", &spec(fused, load));
    assert!(reported.len() == 1 && reported[0].contains("wire 2") && reported[0].contains("30 A"), "{reported:?}");
    assert_eq!(messages("safety/fuse-above-wire", &spec("", load)), [""; 0]);
}

/// Two batteries of the same figures, 14.6 V charged against 11.8 V empty: 2.8 V over 15 mΩ and 10 mΩ inside them, two
/// fuses of 20 A with 5 mΩ each (0.1 V at their rating) and 1 mΩ at each of their four tabs, 12 m of 6 mm² at 3.3 mΩ/m (IEC
/// 60228, class 5) and 5 mΩ of a contact: 2.8 V / 83.6 mΩ = 33.5 A. It falls in minutes, so the share for continuous current
/// does not apply.
#[test]
fn one_battery_may_be_full_while_the_other_is_empty() {
    let spec = |rating: &str| {
        head("Split charge")
            + &format!(
                "supplies:\n  {BATTERY}\n  {HOUSE}\ninputs: {{go: {{kind: lamp-feed, at: eng, limit: 1 A}}}}\nparts:
  F5: {{use: fuse-blade-maxi, at: eng, rating: {rating}}}
  F6: {{use: fuse-blade-maxi, at: tail, rating: {rating}}}
  K1: {{use: relay-mini-spst-12v, at: eng}}
wires:
  - {{id: 20, from: battery, to: F5.1, gauge: 6 mm², length: 200 mm}}
  - {{id: 21, from: F5.2, to: K1.30, gauge: 6 mm², length: 200 mm}}
  - {{id: 22, from: K1.87, to: F6.2, gauge: 6 mm², length: 11.4 m}}
  - {{id: 23, from: F6.1, to: house, gauge: 6 mm², length: 200 mm}}
  - {{id: 24, from: go, to: K1.86}}
  - {{id: 25, from: K1.85, to: G1}}
"
            )
    };
    assert_eq!(found("load/fuse-loaded", &spec("20 A")), []);
    let reported = found("load/fuse-inrush", &spec("20 A"));
    assert_eq!(reported.len(), 2, "{reported:?}");
    let amps = figure(&reported[0], "current with one battery full and the other empty");
    let amps: f64 = amps.split(' ').next().unwrap().parse().unwrap();
    assert!((amps / 33.5 - 1.0).abs() < 0.01, "{amps}");
    assert!(
        reported[0]
            .message
            .starts_with("`F5` (20 A) may open while one battery charges the other in state go: up to 33")
    );
    // A little more goes this way: the coil takes its current at the empty one.
    assert_eq!(reported[0].evidence.corner.as_deref(), Some("house at 14.6 V, battery at 11.8 V, cold copper"));
    assert_eq!(reported[0].evidence.path[0].pin, "house");
    // A fuse of 40 A holds it. Neither drives the other at equal voltages, so that they stand side by side is no fight.
    let (_, report) = specimens::report(&spec("40 A")).unwrap();
    let rules: Vec<&str> = report.findings.iter().map(|finding| finding.rule).collect();
    assert!(!rules.contains(&"load/fuse-inrush") && !rules.contains(&"net/supplies-fight"), "{rules:?}");
}

/// A diode lets one charge the other and never the other way.
#[test]
fn a_diode_between_two_batteries_goes_one_way() {
    let spec = |wires: &str| {
        head("Charged through a diode")
            + &format!(
                "supplies:\n  {BATTERY}\n  {HOUSE}\nparts:\n  F5: {{use: fuse-blade, at: eng, rating: 3 A}}\n  \
                 D1: {{use: diode-schottky-3a, at: eng}}\nwires:\n{wires}"
            )
    };
    let there = "  - {id: 1, from: battery, to: F5.1}\n  - {id: 2, from: F5.2, to: D1.anode}\n  \
                 - {id: 3, from: D1.cathode, to: house, gauge: 1 mm²}\n";
    let back = "  - {id: 1, from: battery, to: F5.1}\n  - {id: 2, from: F5.2, to: D1.cathode}\n  \
                - {id: 3, from: D1.anode, to: house, gauge: 1 mm²}\n";
    let corner = |wires: &str| {
        let reported = found("load/fuse-inrush", &spec(wires));
        reported.first().and_then(|finding| finding.evidence.corner.clone())
    };
    assert_eq!(corner(there).as_deref(), Some("battery at 14.6 V, house at 11.8 V, cold copper"));
    assert_eq!(corner(back).as_deref(), Some("house at 14.6 V, battery at 11.8 V, cold copper"));
}

/// Supplies in a loop are reported once, at the first of them, whatever else is on the loop.
#[test]
fn supplies_that_feed_each_other_are_refused() {
    let spec = head("A ring")
        + &format!(
            "supplies:\n  {BATTERY}\n  c: {{terminal: \"15\", at: eng, from: b}}\n  a: {{terminal: \"15\", at: eng, from: b}}\n  \
             b: {{terminal: \"15\", at: eng, from: a}}\n  d: {{terminal: \"15\", at: eng, from: battery}}\nwires: []\n"
        );
    let reported = specimens::report(&spec).map(|_| ()).unwrap_err();
    let ring = "error: supplies feed each other in a circle, and nothing else feeds them: `a` is fed from `b`, `b` is fed from `a`\n";
    assert!(reported.starts_with(ring) && reported.contains(":9:3") && reported.contains("1 problem"), "{reported}");
}

/// A short at rest is shown at rest, however much more flows with the key on.
#[test]
fn a_short_is_shown_where_the_fewest_inputs_are_moved() {
    let spec = head("Shorted at rest")
        + &format!(
            "supplies:\n  {BATTERY}\ninputs: {{on: {{kind: toggle, part: SW1}}}}
parts:
  F1: {{use: fuse-blade, rating: 10 A, at: eng}}
  SW1: {{use: toggle-spst, at: eng}}
  H: {{use: heater-lens-12v, at: eng}}
wires:
  - {{id: 20, from: battery, to: G1, gauge: 1 mm², length: 1.5 m}}
  - {{id: 21, from: battery, to: F1.1, length: 200 mm}}
  - {{id: 22, from: F1.2, to: SW1.common}}
  - {{id: 23, from: SW1.on, to: H.power}}
  - {{id: 24, from: H.ground, to: G1}}
"
        );
    let reported = found("net/short-circuit", &spec);
    assert!(
        reported.len() == 1 && reported[0].message.starts_with("`battery` is shorted to ground at rest: "),
        "{reported:?}"
    );
    assert_eq!(reported[0].evidence.state.as_deref(), Some("at rest"));
}

/// Type C blade fuses (ISO 8820-3, from memory): of 10 A behind 3 A the 3 A opens first, of 10 A behind 30 A never.
#[test]
fn the_vehicles_own_fuse_stands_before_the_first_of_the_harness() {
    let spec = |fuse: &str| {
        head("Behind the vehicle's fuse")
            + &format!(
                "supplies:\n  {BATTERY}\n  acc: {{terminal: \"75\", at: eng, fuse: {fuse}}}\nparts:
  F1: {{use: fuse-blade, rating: 10 A, at: eng}}
  BZ: {{use: buzzer-12v, at: eng}}
wires:
  - {{id: 1, from: acc, to: F1.1, gauge: 2.5 mm², length: 200 mm}}
  - {{id: 2, from: F1.2, to: BZ.power, gauge: 2.5 mm²}}
  - {{id: 3, from: BZ.ground, to: G1}}
"
            )
    };
    let reported = found("load/fuses-discriminate", &spec("3 A"));
    assert_eq!((reported.len(), reported[0].severity), (1, Severity::Warning));
    let wanted = "the vehicle's fuse of `acc` (3 A) opens before `F1` (10 A), which then protects nothing";
    assert_eq!(reported[0].message, wanted);
    assert_eq!(found("load/fuses-discriminate", &spec("30 A")), []);
}

/// 12 V and 24 V joined by nothing at all: how much flows, no figure of the spec says.
#[test]
fn a_current_that_nothing_limits_has_no_figure() {
    let stiff =
        |name: &str, volts: &str| format!("  {name}: {{terminal: \"30\", at: eng, volts: {volts}, resistance: 0 Ω}}\n");
    let spec = head("Joined by nothing")
        + &format!(
            "supplies:\n{}{}wires:\n  - {{id: 1, from: a, to: b, length: 0 mm}}\n",
            stiff("a", "12 V"),
            stiff("b", "24 V")
        );
    let reported = messages("net/supplies-fight", &spec);
    assert_eq!(reported, ["`b` drives more than 100000 A into `a` at rest"]);
}

/// A second battery of another age is charged through a relay, as shops do it; joined by a wire alone, it is not.
#[test]
fn a_battery_charged_through_a_relay_is_no_fight() {
    let spec = |to: &str, from: &str| {
        head("Second battery")
            + &format!(
                "supplies:\n  {BATTERY}\n  {}\n  run: {{terminal: \"15\", at: eng, follows: key, fuse: 10 A}}\n\
                 inputs: {{key: {{positions: [off, run]}}}}\nparts:\n  K1: {{use: relay-mini-spst-12v-diode, at: eng}}\n\
                 wires:\n  - {{id: 1, from: battery, to: {to}}}\n  - {{id: 2, from: {from}, to: house}}\n  \
                 - {{id: 3, from: run, to: K1.86}}\n  - {{id: 4, from: K1.85, to: G1}}\n",
                HOUSE.replace("[11.8 V, 12.6 V, 14.6 V]", "[11.6 V, 12.3 V, 14.2 V]")
            )
    };
    assert_eq!(found("net/supplies-fight", &spec("K1.30", "K1.87")), []);
    let joined = spec("K1.30", "K1.30");
    assert_ne!(found("net/supplies-fight", &joined), [], "nothing parts them");
    let other_system = spec("K1.30", "K1.87").replace("[11.6 V, 12.3 V, 14.2 V]", "[23 V, 25 V, 28 V]");
    assert_ne!(found("net/supplies-fight", &other_system), [], "24 V into 12 V");
}
