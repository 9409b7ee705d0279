//! Variants solved in place against the changed circuit solved from scratch.

use super::random::{settled, starts};
use super::wiring::{NEVER_FALL, build, wiring};
use circuit::*;
use engine::{Solver, Solvers};
use proptest::prelude::*;
use quantity::{Ohms, Volts, Watts};

/// The kind of change, the branch or the two nodes that it concerns, and a size.
type Draft = (u8, u8, u8, f64);

fn change(circuit: &Circuit, branches: usize, (kind, one, other, size): Draft) -> Change {
    let branch = BranchId(u32::from(one) % branches as u32);
    let [from, to] = [one, other].map(|n| NodeId(u32::from(n) % circuit.nodes.len() as u32));
    let ohms = Ohms::new(0.001 * 1e5_f64.powf(size));
    match kind {
        0 | 1 => Change::Open(branch),
        2 => Change::Closed(branch),
        3 => Change::InSeries(branch, ohms),
        4 => Change::Between(from, to, ohms),
        // The battery, which is always there.
        _ => Change::Supply(BranchId(0), Volts::new(20.0 * size)),
    }
}

/// With loads of constant power, which fall with their voltage.
fn with_power(circuit: &mut Circuit, loads: &[(u8, f64)]) {
    for (node, size) in loads {
        let from = NodeId(u32::from(*node) % circuit.nodes.len() as u32);
        let law = Law::Power { watts: Watts::new(0.5 + 20.0 * size), least: Volts::new(6.0) };
        circuit.branch("load", from, NEGATIVE, law);
    }
}

fn same(one: &Solution, other: &Solution) -> Result<(), TestCaseError> {
    prop_assert_eq!(&one.state, &other.state);
    // The changed circuit may have nodes and branches of its own behind the others. Where nothing but the leak holds an
    // island, the currents of its own sources leave some microvolts open.
    for (a, b) in one.each_volts().iter().zip(other.each_volts()) {
        let (a, b) = (a.value(), b.value());
        prop_assert!((a - b).abs() < 1e-3, "{} V, {} V", a, b);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(7),
        ..ProptestConfig::default()
    })]

    /// One solver takes one variant after the other, each settled from every combination of positions, and each gives
    /// what the changed circuit gives from scratch; at the end it gives again what the circuit gives unchanged.
    #[test]
    fn a_variant_in_place_is_the_changed_circuit(
        wiring in wiring(NEVER_FALL),
        loads in prop::collection::vec((0u8..8, 0.0..1.0), 0..3),
        drafts in prop::collection::vec(prop::collection::vec((0u8..6, 0u8..32, 0u8..8, 0.0..1.0), 0..4), 1..5),
    ) {
        let mut circuit = build(&wiring, |i| i);
        with_power(&mut circuit, &loads);
        let branches = circuit.branches.len();
        if drafts.iter().flatten().any(|draft| draft.0 == 3) {
            // A resistance in series brings a node, whose leak would move an island that nothing else holds.
            for node in 1..circuit.nodes.len() as u32 {
                circuit.resistor("holds", NodeId(node), NEGATIVE, Ohms::new(1e4));
            }
        }
        let mut solver = Solver::new(&circuit, Corner::NOMINAL);
        let variants = drafts.into_iter().map(|drafts| drafts.into_iter().map(|d| change(&circuit, branches, d)).collect());
        for variant in variants.chain([Variant::NONE]) {
            let variant: Variant = variant;
            if !variant.is_in_place(&circuit) {
                continue;
            }
            solver.set_variant(&variant);
            let changed = circuit.with(&variant);
            for start in starts(&circuit) {
                let here = settled(solver.settle(&start));
                let there = settled(Solver::new(&changed, Corner::NOMINAL).settle(&start));
                match (here, there) {
                    (Some(here), Some(there)) => same(&here, &there)?,
                    (here, there) => prop_assert_eq!(here.is_some(), there.is_some()),
                }
            }
        }
    }
}

/// The ground of a lamp, in columns that nothing else changes, opened and closed again: to the last bit as before.
#[test]
fn what_is_taken_off_leaves_nothing_behind() {
    let mut circuit = Circuit::new();
    let (plus, feed, foot, chassis) =
        (circuit.node("+"), circuit.node("feed"), circuit.node("foot"), circuit.node("chassis"));
    let volts = [11.8, 12.6, 14.6].map(Volts::new);
    circuit.branch("battery", NEGATIVE, plus, Law::Source { volts, ohms: Ohms::new(0.01) });
    let wire = circuit.resistor("wire", plus, feed, Ohms::new(0.02));
    circuit.branch("lamp", feed, foot, Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(21.0) });
    let ground = circuit.resistor("ground", foot, chassis, Ohms::new(0.01));
    circuit.resistor("strap", chassis, NEGATIVE, Ohms::new(0.001));
    let rest = State::at_rest(&circuit);
    let mut solver = Solver::new(&circuit, Corner::NOMINAL);
    let before = solver.settle(&rest).settled().unwrap();
    for change in [
        Change::Open(ground),
        Change::InSeries(wire, Ohms::new(2.0)),
        Change::Between(feed, NEGATIVE, Ohms::new(0.01)),
        Change::Between(plus, chassis, Ohms::new(0.01)),
    ] {
        solver.set_variant(&change.into());
        let with = solver.settle(&rest).settled().unwrap();
        let scratch = Solver::new(&circuit.with(&change.into()), Corner::NOMINAL).settle(&rest).settled().unwrap();
        for node in [plus, feed, foot, chassis] {
            let (with, scratch) = (with.volts(node).value(), scratch.volts(node).value());
            assert!((with - scratch).abs() < 1e-9 * (1.0 + scratch.abs()), "{change:?}: {with} V, {scratch} V");
        }
        solver.set_variant(&Variant::NONE);
        assert_eq!(solver.settle(&rest).settled().unwrap(), before, "{change:?}");
    }
}

/// A load of constant power that nothing but a resistance between two nodes feeds: without the resistance, its current
/// would give millions of volts.
#[test]
fn a_load_may_be_fed_by_the_variant_alone() {
    let mut circuit = Circuit::new();
    let (plus, far, end) = (circuit.node("+"), circuit.node("far"), circuit.node("end"));
    circuit.branch("battery", NEGATIVE, plus, Law::Source { volts: [Volts::new(12.0); 3], ohms: Ohms::new(0.1) });
    let diode = Law::Diode { knee: Volts::new(0.6), ohms: Ohms::new(0.02), zener: None };
    circuit.branch("diode", far, end, diode.clone());
    circuit.branch("diode", NEGATIVE, end, diode);
    let law = Law::Power { watts: Watts::new(0.5), least: Volts::new(6.0) };
    circuit.branch("load", far, NEGATIVE, law);
    let mut solver = Solver::new(&circuit, Corner::NOMINAL);
    for ohms in [1e-3, 0.1, 10.0] {
        solver.set_variant(&Change::Between(plus, far, Ohms::new(ohms)).into());
        let solution = solver.settle(&State::at_rest(&circuit)).settled().unwrap();
        // v² − 12 v + R·P = 0, with the battery's resistance and the one between.
        let volts = 6.0 + (36.0 - (0.1 + ohms) * 0.5_f64).sqrt();
        assert!((solution.volts(far).value() - volts).abs() < 1e-6, "{ohms} Ω: {}", solution.volts(far).value());
    }
}

/// A diode that feeds a lamp, fitted the other way round, blocks; so does none of its neighbours.
#[test]
fn a_reversed_diode_blocks() {
    let mut circuit = Circuit::new();
    let [plus, first, second] = ["+", "first", "second"].map(|name| circuit.node(name));
    circuit.branch("battery", NEGATIVE, plus, Law::Source { volts: [Volts::new(12.6); 3], ohms: Ohms::new(0.01) });
    let law = Law::Diode { knee: Volts::new(0.7), ohms: Ohms::new(0.05), zener: None };
    let diode = circuit.branch("diode", plus, first, law.clone());
    circuit.branch("other diode", plus, second, law);
    let loads = [first, second].map(|node| circuit.resistor("load", node, NEGATIVE, Ohms::new(12.0)));
    let amps = |variant: &Variant| {
        let solution =
            Solvers::new(circuit.clone()).settle_variant(Corner::NOMINAL, &State::at_rest(&circuit), variant);
        let solution = solution.settled().unwrap();
        loads.map(|load| solution.amps(load).value())
    };
    // (12.6 V − 0.7 V) / 12.06 Ω, by hand; the source's own resistance takes less than 0.2 %.
    let [one, other] = amps(&Variant::NONE);
    assert!((one - 0.987).abs() < 0.003 && (other - 0.987).abs() < 0.003, "{one} A, {other} A");
    let [one, other] = amps(&Change::Reversed(diode).into());
    assert!(one.abs() < 1e-6 && (other - 0.987).abs() < 0.003, "{one} A, {other} A");
}
