//! What comes back into a supply that is off finds ground through the vehicle's other loads on it: held to calculations
//! by hand.

use super::*;

/// K1's coil of 90 Ω from the battery to terminal 15, which has what `supply` adds.
fn coil(supply: &str) -> String {
    include_str!("dead.yaml").replace(", others: 1 A", supply)
}

/// The same battery, fuses and terminal 15 with other parts and wires.
fn spec(supply: &str, parts: &str, wires: &str) -> String {
    let spec = coil(supply);
    let (before, after) = spec.split_once("  K1:").unwrap();
    let (_, own) = after.split_once("wires:\n").unwrap();
    let own: Vec<&str> = own.lines().take(2).collect();
    format!("{before}{parts}\nwires:\n{}\n{wires}\n", own.join("\n"))
}

fn figure(finding: &Finding, name: &str) -> String {
    let figures = &finding.evidence.figures;
    figures.iter().find(|figure| figure.name == name).map_or_else(String::new, |figure| figure.value.clone())
}

/// 12.6 V over 90 Ω of coil and 12 V ÷ 1 A = 12 Ω of loads: 12.6 ÷ 102 = 123.5 mA; the loads have 1.48 V of that and
/// the coil 11.1 V; wires, fuses and the battery add 0.1 Ω. It pulls in at 7.2 V.
#[test]
fn a_coil_finds_its_ground_in_a_dead_terminal_15() {
    let spec = coil(", others: 1 A");
    let coil = found("logic/sneak-coil", &spec);
    assert_eq!(coil[0].message, "`K1` pulls in at rest: 123 mA flows through the vehicle's other loads on `ignition`");
    assert_eq!(figure(&coil[0], "voltage at the coil"), "11.1 V");
    assert_eq!(coil[0].evidence.path.last().unwrap().through.as_deref(), Some("other loads on ignition"));
    // At 14.6 V and a coil a tenth below 90 Ω: 14.6 ÷ 93 = 157 mA.
    assert_eq!(figure(&coil[0], "worst case, at rest (highest supply, cold copper)"), "12.7 V, 157 mA");
    let supply = found("logic/sneak-supply", &spec);
    assert_eq!(supply[0].message, "`ignition` is off at rest but gets 1.48 V from the harness, limit 1 V");
    assert_eq!(figure(&supply[0], "current into it"), "123 mA");
    assert_eq!(figure(&supply[0], "highest current in any state"), "157 mA");
}

/// The usual 2 A are 6 Ω. At 14.6 V, and with a coil a tenth below 90 Ω, the supply has 14.6 V × 6 ÷ 87 = 1.007 V.
#[test]
fn two_amperes_are_usual() {
    let reported = messages("logic/sneak-supply", &coil(""));
    assert_eq!(reported, ["`ignition` is off at rest but gets 1.01 V from the harness, limit 1 V"]);
}

/// 4 A are 3 Ω: 12.6 ÷ 93 = 135 mA, and at most 14.6 V × 3 ÷ 84 = 0.52 V, so the current reveals it.
#[test]
fn what_the_loads_pull_down_is_reported_by_its_current() {
    let spec = coil(", others: 4 A");
    assert_eq!(
        messages("logic/sneak-supply", &spec),
        ["`ignition` is off at rest but draws 135 mA from the harness, limit 1 mA"]
    );
    let reported = found("logic/sneak-supply", &spec);
    assert_eq!(figure(&reported[0], "voltage there without the vehicle's loads"), "12.6 V");
    assert_eq!(messages("logic/sneak-coil", &spec).len(), 1);
}

/// With nothing else on the supply the coil has no way back, and the supply stands at the battery's voltage.
#[test]
fn without_other_loads_the_voltage_tells_it() {
    let spec = coil(", others: 0 A");
    assert_eq!(
        messages("logic/sneak-supply", &spec),
        ["`ignition` is off at rest but gets 12.6 V from the harness, limit 1 V"]
    );
    assert_eq!(messages("logic/sneak-coil", &spec), [""; 0]);
}

/// 120 mA of a camera lift the ground side by at most 0.72 V: that it works anyway is what is wrong.
#[test]
fn a_camera_works_through_a_dead_terminal_15() {
    let parts = "  C1: {use: camera-cvbs-12v, draws: 120 mA, at: dash}";
    let wires = "  - {id: 2, from: F1.2, to: C1.power}\n  - {id: 3, from: C1.ground, to: F2.1}";
    let reported = messages("logic/sneak-load", &spec("", parts, wires));
    assert!(
        reported.len() == 1 && reported[0].starts_with("`C1` gets 11.9 V and 120 mA at rest through"),
        "{reported:?}"
    );
}

/// 12.6 V over 1 kΩ: 12.5 mA and 75 mV. Over 100 kΩ it would be 0.13 mA, which is below `sneak-current`.
#[test]
fn a_resistor_onto_a_dead_supply_is_reported_down_to_the_least_current() {
    let spec = |ohms: &str| {
        let parts = format!("  R1: {{use: resistor, resistance: {ohms}, at: dash}}");
        spec("", &parts, "  - {id: 2, from: F1.2, to: R1.1}\n  - {id: 3, from: R1.2, to: F2.1}")
    };
    assert_eq!(
        messages("logic/sneak-supply", &spec("1 kΩ")),
        ["`ignition` is off at rest but draws 12.5 mA from the harness, limit 1 mA"]
    );
    assert_eq!(messages("logic/sneak-supply", &spec("100 kΩ")), [""; 0]);
}

/// What the vehicle takes from a live supply is none of the harness's: nothing in it changes with the loads there.
#[test]
fn while_it_is_live_other_loads_take_nothing() {
    let of = |others: &str| {
        let parts = "  H1: {use: heater-lens-12v, at: dash}\n  BZ: {use: buzzer-12v, at: dash}";
        let wires = "  - {id: 2, from: F2.1, to: H1.power}\n  - {id: 3, from: H1.ground, to: GND}
  - {id: 4, from: F1.2, to: BZ.power}\n  - {id: 5, from: BZ.ground, to: GND}";
        let (model, report) = specimens::report(&spec(others, parts, wires)).unwrap();
        let solved = Solved::new(&model);
        let mut all = Vec::new();
        solved.exploration.visit(&solved.assembly.circuit, &mut |solution| {
            let battery = model::ElementId(0);
            all.push((solution.state.positions.0.clone(), solved.assembly.amps(solution, battery).to_string()));
        });
        (all, report.findings.into_iter().map(|finding| finding.message).collect::<Vec<String>>())
    };
    assert_eq!(of(", others: 0 A"), of(", others: 40 A"));
}

/// What goes into the dead supply comes out of the battery, once, whatever it goes through.
#[test]
fn what_drains_into_a_dead_supply_is_reported_once() {
    let drain = found("load/key-off-drain", &coil(", others: 1 A"));
    assert_eq!(figure(&drain[0], "`K1` and the vehicle's other loads on `ignition` in series draw"), "123 mA");
}

/// 12 V ÷ 3 A = 4 Ω of loads, joined to the battery: 14.6 ÷ 4 = 3.65 A, less what wires take. What goes into the supply
/// is not said to be taken from it.
#[test]
fn what_goes_back_into_a_supply_is_not_taken_from_it() {
    let spec = spec(", others: 3 A, limit: 2 A", "", "  - {id: 2, from: F1.2, to: F2.1, gauge: 2.5 mm²}");
    let reported = found("load/output-overloaded", &spec);
    assert!(
        reported.len() == 1 && reported[0].message.contains(" A flows back into `ignition` at rest, limit 2 A"),
        "{reported:?}"
    );
}

/// A supply that is fed from a dead supply is dead too, and its loads lie parallel to the other's: 6 Ω and 6 Ω
/// make 3 Ω, so 12.6 ÷ 93 = 135 mA.
#[test]
fn a_supply_fed_from_a_dead_one_is_dead() {
    let spec = coil("")
        .replace("\ngrounds:", "\n  aux: {terminal: \"75\", at: dash, from: ignition}\ngrounds:")
        .replace("to: ignition", "to: aux");
    assert_eq!(
        messages("logic/sneak-supply", &spec),
        ["`aux` is off at rest but draws 135 mA from the harness, limit 1 mA"]
    );
    assert!(messages("logic/sneak-coil", &spec)[0].starts_with("`K1` pulls in at rest: 135 mA"));
}

/// Only what can be off has loads that lead to ground.
#[test]
fn other_loads_of_a_supply_that_is_never_off_are_refused() {
    let battery = coil("").replace("volts: [", "others: 1 A, volts: [");
    let always = coil("").replace("\ngrounds:", "\n  aux: {terminal: \"30\", at: dash, others: 1 A}\ngrounds:");
    for (spec, name) in [(battery, "battery"), (always, "aux")] {
        let reported = specimens::report(&spec).unwrap_err();
        assert!(
            reported.contains(&format!("`{name}` is never off, so its `others` never lead to ground")),
            "{reported}"
        );
    }
}
