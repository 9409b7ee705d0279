//! Random small circuits: laws that hold however they are wired.

use super::wiring::{NEVER_FALL, build, law, wiring};
use circuit::*;
use engine::Solver;
use proptest::prelude::*;
use quantity::{Amps, Ohms, Share, Volts, Watts};

/// Every combination of positions, allowed or not, with all actors off.
pub(super) fn starts(circuit: &Circuit) -> Vec<State> {
    let mut states = vec![State::at_rest(circuit)];
    for (i, input) in circuit.inputs.iter().enumerate() {
        let id = InputId(i as u32);
        let at = |state: &State, to| State { positions: state.positions.clone().with(id, to), ..state.clone() };
        states = states.iter().flat_map(|state| input.each_position().map(|to| at(state, to))).collect();
    }
    states
}

pub(super) fn settled(outcome: Outcome) -> Option<Solution> {
    match outcome {
        Outcome::Settled(solution) => Some(*solution),
        Outcome::Chatter(chatter) => chatter.round.into_iter().next(),
        Outcome::Unsolved(unsolved) => panic!("{unsolved:?}"),
    }
}

/// Kirchhoff's current law with the currents by the laws themselves, which a network of such laws obeys in one way
/// only.
fn obeys_kirchhoff(circuit: &Circuit, solution: &Solution) {
    let mut sums: Vec<f64> = solution.each_volts().iter().map(|volts| volts.value() / LEAK.value()).collect();
    // A piece may be overstepped by a nanovolt, at 50 S.
    let mut sizes = vec![0.1; sums.len()];
    let across = |branch: &Branch| (solution.volts(branch.from) - solution.volts(branch.to)).value();
    for branch in circuit.branches.iter().filter(|branch| solution.state.holds(&branch.when)) {
        let (from, to) = (branch.from.index(), branch.to.index());
        // What a converter's other side gives.
        let watts = match branch.law {
            Law::Drawn { output, .. } => {
                let output = &circuit.branches[output.index()];
                (-across(output) * curve(output, circuit, solution.corner).amps(across(output), 0.0)).max(0.0)
            }
            _ => 0.0,
        };
        let amps = curve(branch, circuit, solution.corner).amps(across(branch), watts);
        sums[from] += amps;
        sums[to] -= amps;
        // A branch of little resistance turns a rounding of its voltage into a current.
        let size = amps.abs()
            + 1e-9 * (solution.volts(branch.from).value().abs() + solution.volts(branch.to).value().abs()) / 0.005;
        sizes[from] += size;
        sizes[to] += size;
    }
    for node in 1..sums.len() {
        assert!(sums[node].abs() <= 1e-6 * sizes[node], "{}: {} A too much", circuit.nodes[node], sums[node]);
    }
}

/// Where nothing but the leak holds an island, the currents of its own sources leave some microvolts open; a millivolt
/// is far below anything that counts.
fn same_volts(one: &Solution, other: &Solution) -> Result<(), TestCaseError> {
    for (a, b) in one.each_volts().iter().zip(other.each_volts()) {
        let (a, b) = (a.value(), b.value());
        prop_assert!((a - b).abs() < 1e-3, "{} V, {} V", a, b);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 300,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(7),
        ..ProptestConfig::default()
    })]

    #[test]
    fn kirchhoff_holds_in_every_state(wiring in wiring(NEVER_FALL)) {
        let circuit = build(&wiring, |i| i);
        for corner in Corner::ALL {
            // One solver for all states, so that each starts from the last.
            let mut solver = Solver::new(&circuit, corner);
            for start in starts(&circuit) {
                obeys_kirchhoff(&circuit, &settled(solver.settle(&start)).unwrap());
            }
        }
    }

    #[test]
    fn order_of_parts_does_not_matter(wiring in wiring(NEVER_FALL)) {
        let n = wiring.branches.len() + 1;
        let (circuit, turned) = (build(&wiring, |i| i), build(&wiring, |i| n - 1 - i));
        for start in starts(&circuit) {
            let [one, other] = [&circuit, &turned].map(|c| settled(Solver::new(c, Corner::NOMINAL).settle(&start)).unwrap());
            prop_assert_eq!(&one.state, &other.state);
            same_volts(&one, &other)?;
        }
    }

    #[test]
    fn an_unconnected_part_changes_nothing(wiring in wiring(NEVER_FALL)) {
        let circuit = build(&wiring, |i| i);
        let mut more = circuit.clone();
        let (a, b) = (more.node("far"), more.node("away"));
        more.resistor("spare", a, b, Ohms::new(90.0));
        more.branch("spare diode", a, b, law(6, 0.5));
        more.branch("spare battery", b, a, law(4, 0.5));
        for start in starts(&circuit) {
            let [one, other] = [&circuit, &more].map(|c| settled(Solver::new(c, Corner::NOMINAL).settle(&start)).unwrap());
            prop_assert_eq!(&one.state, &other.state);
            same_volts(&one, &other)?;
        }
    }
}

/// Constant-power loads bring negative entries; Kirchhoff's laws hold with them too.
#[test]
fn kirchhoff_holds_with_constant_power() {
    let mut circuit = Circuit::new();
    let battery = circuit.node("battery");
    circuit.branch("battery", NEGATIVE, battery, law(4, 0.5));
    let mut before = battery;
    for i in 0..6 {
        let node = circuit.node(format!("n{i}"));
        let input = circuit.input(format!("i{i}"), &["off", "on"]);
        circuit.resistor("wire", before, node, Ohms::new(0.2));
        let law = Law::Power { watts: Watts::new(8.0 + f64::from(i)), least: Volts::new(6.0) };
        circuit.switched("amplifier", node, NEGATIVE, law, Logic::At(input, 1));
        before = node;
    }
    let mut solver = Solver::new(&circuit, Corner::NOMINAL);
    for start in starts(&circuit) {
        let solution = solver.settle(&start).settled().unwrap();
        obeys_kirchhoff(&circuit, &solution);
        let cold = Solver::new(&circuit, Corner::NOMINAL).settle(&start).settled().unwrap();
        for (a, b) in solution.each_volts().iter().zip(cold.each_volts()) {
            let (a, b) = (a.value(), b.value());
            assert!((a - b).abs() < 1e-9, "{a} V from the neighbour, {b} V from rest");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 200,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(7),
        ..ProptestConfig::default()
    })]

    /// Loads of constant power over a common ground that little or another load holds: they starve in many states, and
    /// swing between their lines on the way there.
    #[test]
    fn loads_over_a_lost_ground_obey_kirchhoff(
        loads in prop::collection::vec((1.0..30.0, 5.0..18.0, any::<bool>()), 1..5),
        back in 0.0..1.0,
        kind in 0u8..4,
    ) {
        let mut circuit = Circuit::new();
        let (battery, common) = (circuit.node("battery"), circuit.node("common"));
        circuit.branch("battery", NEGATIVE, battery, law(4, 0.5));
        for (i, (watts, least, over_diode)) in loads.iter().enumerate() {
            let [feed, ground] = ["feed", "ground"].map(|name| circuit.node(format!("{name} {i}")));
            let input = circuit.input(format!("i{i}"), &["off", "on"]);
            circuit.switched("feed", battery, feed, law(1, 0.2), Logic::At(input, 1));
            let power = Law::Power { watts: Watts::new(*watts), least: Volts::new(*least) };
            circuit.branch("load", feed, ground, power);
            circuit.branch("ground", ground, common, law(if *over_diode { 5 } else { 1 }, 0.2));
        }
        // A resistance of 5 mΩ to 1 kΩ or of 100 kΩ, a load, or the output of a converter that takes its power here.
        let (output, node) = (BranchId(circuit.branches.len() as u32), circuit.node("output"));
        match kind {
            0 => _ = circuit.branch("back", common, NEGATIVE, law(1, back)),
            1 => _ = circuit.resistor("back", common, NEGATIVE, Ohms::new(1e5)),
            2 => _ = circuit.branch("back", common, NEGATIVE, law(12, back)),
            _ => {
                circuit.branch("output", NEGATIVE, node, law(14, back));
                let (efficiency, idle, least) = (Share::new(0.85), Amps::new(0.01), Volts::new(7.0));
                circuit.branch("back", common, NEGATIVE, Law::Drawn { output, efficiency, idle, least });
                circuit.resistor("taker", node, NEGATIVE, Ohms::new(10.0));
            }
        }
        let mut solver = Solver::new(&circuit, Corner::NOMINAL);
        for start in starts(&circuit) {
            let warm = solver.settle(&start).settled().unwrap();
            obeys_kirchhoff(&circuit, &warm);
            same_volts(&warm, &Solver::new(&circuit, Corner::NOMINAL).settle(&start).settled().unwrap())?;
        }
    }
}
