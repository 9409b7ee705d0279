//! How fast states are solved, beside ngspice on the same circuits in the same run: `cargo bench --bench solve`.

use loomwright::quantity::Volts;
use loomwright::solve::{Circuit, Corner, Solver, State};
use std::time::{Duration, Instant};

mod ngspice;
mod vehicle;

/// Least time over several goes, the one that other work on the machine disturbed least.
fn least(goes: usize, mut once: impl FnMut() -> Duration) -> Duration {
    (0..goes).map(|_| once()).min().unwrap_or_default()
}

/// All node voltages of every combination of positions, each started from a neighbour; setting up counts.
fn every_state(circuit: &Circuit) -> (Duration, f64) {
    let inputs = circuit.inputs.len();
    let start = Instant::now();
    let mut solver = Solver::new(circuit, Corner::NOMINAL);
    let mut state = State::at_rest(circuit);
    let mut volts = vec![Volts::new(0.0); circuit.nodes.len()];
    let mut check = 0.0;
    for n in 0u64..1 << inputs {
        if n > 0 {
            let turned = n.trailing_zeros() as usize;
            state.positions.0[turned] ^= 1;
        }
        match solver.settle_volts(&state, &mut volts) {
            Ok(settled) => state.memory.clone_from(&settled.memory),
            Err(outcome) => panic!("{outcome:?}"),
        }
        check += volts.iter().map(|v| v.value()).sum::<f64>();
    }
    (start.elapsed(), check)
}

fn micros(time: Duration, states: u64) -> f64 {
    time.as_secs_f64() * 1e6 / states as f64
}

fn main() {
    println!("Every state, all node voltages, one thread, µs per state");
    println!(
        "{:>6} {:>6} {:>6} {:>10} {:>12} {:>12} {:>8}",
        "inputs", "group", "nodes", "ours", "sweep", "alter+op", "ratio"
    );
    for (inputs, group) in [(4, 4), (8, 8), (8, 2), (12, 12), (12, 3)] {
        let circuit = vehicle::vehicle(inputs, group);
        let states = 1u64 << inputs;
        let ours = least(5, || every_state(&circuit).0);
        let sweep = ngspice::sweep(&circuit);
        let ratio = sweep.map_or(f64::NAN, |sweep| sweep.as_secs_f64() / ours.as_secs_f64());
        println!(
            "{inputs:>6} {group:>6} {:>6} {:>10.3} {:>12.1} {:>12} {ratio:>8.1}",
            circuit.nodes.len(),
            micros(ours, states),
            sweep.map_or(f64::NAN, |t| micros(t, states)),
            "",
        );
    }
}
