//! Every part of the catalogue as a circuit of its own, solved in every state.

use catalogue::Catalogue;
use circuit::{Assembly, Corner, Solution, assemble};
use diagnostic::{Style, problems};
use explore::explore;
use model::{ElementId, ElementKind, Model};
use quantity::Amps;
use std::sync::OnceLock;

#[path = "part_circuits/bench.rs"]
mod bench;
mod jobs;
use bench::spec;
use jobs::{job_of_text, model_of_text};

/// Read once for all tests.
fn catalogue() -> &'static Catalogue {
    static READ: OnceLock<Catalogue> = OnceLock::new();
    READ.get_or_init(|| {
        Catalogue::builtin().unwrap_or_else(|(sources, found)| panic!("{}", problems(&sources, &found, Style::PLAIN)))
    })
}

/// Every part resolves, and its circuit settles in every combination of its inputs.
#[test]
fn every_part_resolves_and_settles() {
    for (name, part) in catalogue().iter() {
        let model = model_of_text(&spec(name, part));
        let assembly = assemble(&model);
        let found = explore(&assembly.circuit, Corner::NOMINAL);
        assert!(found.unsolved.is_empty(), "{name}: {:?}", found.unsolved);
        assert!(found.chatter.is_empty(), "{name}: {:?}", found.chatter);
        assert!(found.history.iter().all(|h| h.undeclared.is_empty()), "{name}: {:?}", found.history);
        let positions: u128 = assembly.circuit.inputs.iter().map(|i| i.positions.len() as u128).product();
        assert!(found.count() >= positions, "{name}: {} of {positions} states", found.count());
    }
}

/// All states of a part on its bench, as: the inputs that are on, and what the closure reads.
fn states<T>(text: &str, mut read: impl FnMut(&Model, &Assembly, &Solution) -> T) -> Vec<(String, T)> {
    let model = model_of_text(text);
    let assembly = assemble(&model);
    let mut all = Vec::new();
    explore(&assembly.circuit, Corner::NOMINAL).visit(&assembly.circuit, &mut |solution| {
        let on = assembly
            .circuit
            .inputs
            .iter()
            .filter(|input| solution.position(assembly.circuit.input_named(&input.name).unwrap()) > 0);
        let names: Vec<&str> = on.map(|input| input.name.as_str()).collect();
        all.push((names.join(" "), read(&model, &assembly, solution)));
    });
    all
}

fn bench(name: &str) -> String {
    spec(name, catalogue().get(name).unwrap())
}

/// The current of the part's first element that fits.
fn amps(model: &Model, assembly: &Assembly, solution: &Solution, fits: impl Fn(&ElementKind) -> bool) -> Amps {
    let index = model.elements.iter().position(|element| fits(&element.kind)).unwrap();
    assembly.amps(solution, ElementId(index))
}

fn is_supply(kind: &ElementKind) -> bool {
    matches!(kind, ElementKind::Battery { .. })
}

/// 12.6 V across 90 Ω is 140 mA; the wires and the source take less than one per cent of it.
#[test]
fn a_mini_relay_draws_140_ma() {
    let seen = states(&bench("relay-mini-spdt-12v"), |m, a, s| {
        (amps(m, a, s, is_supply).abs(), a.holds(s, &model::StateCondition::Signal(model::SignalId(0))))
    });
    assert_eq!(seen.len(), 2);
    assert_eq!((seen[0].0.as_str(), seen[0].1.1), ("", false));
    let (current, pulled) = seen[1].1;
    assert!((current.value() - 0.14).abs() < 0.0014 && pulled, "{current}");
}

/// With the feed on 85, the diode across the coil conducts and the coil gets at most its knee.
#[test]
fn a_diode_relay_put_in_backwards_shorts_the_trigger() {
    let text = bench("relay-mini-spdt-12v-diode").replace("X.85, to: G", "X.85, to: to-86");
    let text = text.replace("X.86, to: to-86", "X.86, to: G");
    let seen = states(&text, |m, a, s| amps(m, a, s, is_supply).abs());
    assert!(seen[1].1.value() > 20.0, "{:?}", seen);
}

/// What an amplifier, a recorder and a dash cam take from a permanent supply with nothing telling them to run.
#[test]
fn parts_on_standby_draw_their_standby_current() {
    for (name, standby, input) in
        [("amplifier-2ch", 2.0, "to-remote"), ("recorder-12v", 3.0, "to-run"), ("dash-cam-12v", 5.0, "to-run")]
    {
        let seen = states(&bench(name), |m, a, s| amps(m, a, s, is_supply).abs().value() * 1000.0);
        assert!((seen[0].1 - standby).abs() < 0.02, "{name}: {} mA at rest", seen[0].1);
        let on = seen.iter().find(|s| s.0 == input).unwrap().1;
        assert!(on > 100.0 * standby / 2.0, "{name}: {on} mA running");
    }
}

/// A latching relay stays where its last pulse put it: at rest of both inputs it may be either way.
#[test]
fn a_latching_relay_stays() {
    for name in ["relay-latching-12v", "relay-latching-24v", "relay-latching-toggle-12v"] {
        let seen = states(&bench(name), |_, a, s| a.holds(s, &model::StateCondition::Signal(model::SignalId(0))));
        let at_rest: Vec<bool> = seen.iter().filter(|s| s.0.is_empty()).map(|s| s.1).collect();
        assert!(at_rest.contains(&false) && at_rest.contains(&true), "{name}: {seen:?}");
    }
}

/// The output of a ground-trigger module is live while its input is grounded; open, it leaks.
#[test]
fn a_ground_trigger_module_turns_its_trigger_over() {
    let text = bench("ground-trigger-module-12v").replace("kind: switched-feed", "kind: ground-switch");
    let text = text.replace(
        "wires: [",
        "wires: [{id: 9, from: X.out, to: L.power, gauge: 1 mm²}, \
        {id: 10, from: L.ground, to: G, gauge: 1 mm²}, ",
    );
    let text = text.replace("{X: {", "{L: {use: buzzer-12v, at: bench}, X: {");
    let buzzer = |kind: &ElementKind| matches!(kind, ElementKind::Load(load) if load.draws.to_string() == "30 mA");
    let seen = states(&text, |m, a, s| amps(m, a, s, buzzer).to_string());
    assert_eq!(seen, [("".to_string(), "10 µA".to_string()), ("to-in".to_string(), "30 mA".to_string())]);
}

/// A converter gives 13.2 V and takes the power that goes out, divided by its efficiency, and what it needs itself.
#[test]
fn a_converter_takes_what_it_gives() {
    let text = bench("converter-24-12-5a")
        .replace(
            "wires: [",
            "wires: [{id: 9, from: X.out, to: L.\"1\", gauge: 1 mm²}, \
        {id: 10, from: L.2, to: G, gauge: 1 mm²}, ",
        )
        .replace("L.\"1\"", "L.1");
    let text = text.replace("{X: {", "{L: {use: resistor, at: bench, resistance: 13.2 Ω}, X: {");
    let seen = states(&text, |m, a, s| {
        let into = amps(m, a, s, is_supply).abs();
        let out = amps(m, a, s, |kind| matches!(kind, ElementKind::Resistor { .. })).abs();
        (into.value(), out.value())
    });
    let (into, out) = seen[0].1;
    assert!((out - 1.0).abs() < 0.01, "{out}");
    // 13.2 W at 25.2 V and 88 % is 595 mA, and 20 mA idle.
    assert!((into - 0.615).abs() < 0.01, "{into}");
}

/// A high-side output that is fed from outside feeds its module's supply through its body diode: with the key off the
/// accessory feed is held a knee below the battery, and that is found.
#[test]
fn an_output_fed_from_outside_feeds_its_supply() {
    let text = "harness: 1\njob: {title: Fed from outside, nominal: 12 V}\nplaces: [dash]\n\
        supplies: {battery: {terminal: \"30\", at: dash, volts: 12.6 V}, \
        accessory: {terminal: \"75\", at: dash, follows: key, others: 0 A}}\n\
        grounds: {G: {at: dash}}\ninputs: {key: {positions: [off, run]}, spare: {kind: toggle, part: S}}\n\
        parts: {S: {use: toggle-spst, at: dash}, X: {use: hold-module-12v, at: dash}}\n\
        wires: [{id: 1, from: accessory, to: X.power, gauge: 1 mm²}, {id: 2, from: X.ground, to: G, gauge: 1 mm²}, \
        {id: 3, from: battery, to: S.common, gauge: 1 mm²}, {id: 4, from: S.on, to: X.out, gauge: 1 mm²}]\n";
    let seen = states(text, |m, a, s| {
        let feed = m.pin_named(m.part_named("X").unwrap(), "power").unwrap();
        a.volts(s, feed).value()
    });
    let of = |name: &str| seen.iter().find(|(on, _)| on == name).unwrap().1;
    assert!(of("").abs() < 1e-3 && of("key") > 12.5, "{seen:?}");
    // The knee is 0.7 V, and the module draws some milliamperes.
    assert!((of("spare") - 11.9).abs() < 0.02, "{seen:?}");
    let job = job_of_text(text);
    let report = job.report().unwrap();
    assert!(report.findings.iter().any(|finding| finding.rule == "logic/sneak-supply"), "{:?}", report.findings);
}

/// By hand, at 20 °C: the battery's 10 mΩ, three wires of 50 mm² and 1 m (IEC 60228: 0.386 mΩ), the fuse's 0.1 V at 300 A,
/// the motor's 12 V / 150 A, the ground's 3 mΩ, and the contacts of 0.1 mΩ on each side of the fuse, 0.15 mΩ on each side of the
/// motor and 0.1 mΩ at the stud. The battery's own clamp is part of its resistance.
#[test]
fn screws_and_rings_for_high_currents_lose_their_share() {
    let text = "harness: 1\njob: {title: Winch, nominal: 12 V}\nplaces: [bench]\n\
        supplies: {battery: {terminal: \"30\", at: bench, volts: 12.6 V, resistance: 10 mΩ}}\n\
        grounds: {G: {at: bench, use: ground-stud-m10, resistance: 3 mΩ}}\n\
        parts: {F: {use: fuse-strip-51, at: bench, rating: 300 A}, X: {use: winch-12v, at: bench}}\n\
        wires: [{id: 1, from: battery, to: F.1, gauge: 50 mm², length: 1 m}, \
        {id: 2, from: F.2, to: X.power, gauge: 50 mm², length: 1 m}, \
        {id: 3, from: X.ground, to: G, gauge: 50 mm², length: 1 m}]\n";
    let seen = states(text, |m, a, s| {
        let volts = |part: &str, pin: &str| a.volts(s, m.pin_named(m.part_named(part).unwrap(), pin).unwrap()).value();
        (amps(m, a, s, is_supply).abs().value(), volts("F", "2") - volts("X", "power"))
    });
    let contacts = 2.0 * 0.1e-3 + 2.0 * 0.15e-3 + 0.1e-3;
    let wires = 3.0 * 0.386e-3;
    let hand = 12.6 / (0.010 + wires + 0.1 / 300.0 + 12.0 / 150.0 + 0.003 + contacts);
    let (current, lost) = seen[0].1;
    assert!((current - hand).abs() < 1e-3, "{current} A is not {hand} A");
    assert!((lost - current * (0.386e-3 + 0.1e-3 + 0.15e-3)).abs() < 1e-6, "{lost} V on wire 2");
    // Ends for less than 100 A count nothing: a ring of 40 A on the same stud's ground.
    let thin = text.replace("use: ground-stud-m10", "use: ring-m6");
    let seen = states(&thin, |m, a, s| amps(m, a, s, is_supply).abs().value());
    assert!((seen[0].1 - 12.6 / (12.6 / hand - 0.1e-3)).abs() < 1e-3, "{}", seen[0].1);
}

/// A charger gives 14.4 V while its signal is on, and nothing without it; 14.4 V across 1.44 Ω is 10 A.
#[test]
fn a_charger_waits_for_its_signal() {
    let text = bench("charger-12-12-20a").replace(
        "wires: [",
        "wires: [{id: 9, from: X.out, to: L.1, gauge: 10 mm²}, {id: 10, from: L.2, to: G, gauge: 10 mm²}, ",
    );
    let text = text.replace("{X: {", "{L: {use: resistor, at: bench, resistance: 1.44 Ω}, X: {");
    // The charger has a resistance of its own, from its `run` pin to ground, which is no resistor.
    let seen =
        states(&text, |m, a, s| amps(m, a, s, |kind| matches!(kind, ElementKind::Resistor { .. })).abs().value());
    assert_eq!((seen[0].0.as_str(), seen[1].0.as_str()), ("", "to-run"));
    assert!(seen[0].1 < 1e-3 && (seen[1].1 - 10.0).abs() < 0.15, "{seen:?}");
}

/// A PNP output gives its supply, an NPN output goes to ground: 1 kΩ behind them takes 25 mA at 25.2 V.
#[test]
fn proximity_sensors_switch_their_side() {
    for (name, other) in [("proximity-pnp", "G"), ("proximity-npn", "battery")] {
        let text = bench(name).replace(
            "wires: [",
            &format!("wires: [{{id: 9, from: X.out, to: L.1, gauge: 1 mm²}}, {{id: 10, from: L.2, to: {other}, gauge: 1 mm²}}, "),
        );
        let text = text.replace("{X: {", "{L: {use: resistor, at: bench, resistance: 1 kΩ}, X: {");
        let resistor = |kind: &ElementKind| matches!(kind, ElementKind::Resistor { .. });
        let seen = states(&text, |m, a, s| amps(m, a, s, resistor).abs().value() * 1000.0);
        let on = |wanted: &str| seen.iter().find(|(on, _)| on == wanted).unwrap().1;
        assert!(on("") < 0.01 && (on("hand") - 25.07).abs() < 0.1, "{name}: {seen:?}");
    }
}
