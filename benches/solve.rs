//! How fast states are solved, beside ngspice on the same circuits in the same run: `cargo bench --bench solve`.

use circuit::{Circuit, Corner, NodeId};
use explore::{Exploration, explore, explore_all};
use std::ops::ControlFlow;
use std::time::{Duration, Instant};

mod ngspice;
mod vehicle;

/// Minimum time of a run over several goes. Each go is timed in stretches, and of each stretch the shortest counts, so
/// that what else the machine does in between falls out.
fn least(goes: usize, mut run: impl FnMut(&mut dyn FnMut())) -> Duration {
    let mut best: Vec<Duration> = vec![];
    for go in 0..goes {
        let (mut at, mut before) = (0, Instant::now());
        let mut note = |best: &mut Vec<Duration>| {
            let took = before.elapsed();
            match best.get_mut(at) {
                Some(one) if go > 0 => *one = took.min(*one),
                _ => best.push(took),
            }
            at += 1;
            before = Instant::now();
        };
        run(&mut || note(&mut best));
        note(&mut best);
    }
    best.iter().sum()
}

/// States in a stretch.
const STRETCH: u64 = 64;

/// Every voltage and every current of every reachable state, as `check` finds them: each state settled, starting from the
/// state before it. Setting up the solver and the order of the states counts; to keep the solutions, as `check` does if
/// they are few, is not in it.
fn every_state(circuit: &Circuit, exploration: &Exploration, mark: &mut dyn FnMut()) -> f64 {
    let (last, mut check, mut states) = (NodeId(circuit.nodes.len() as u32 - 1), 0.0, 0u64);
    exploration.visit_in_any_order(circuit, &mut |solution| {
        if states.is_multiple_of(STRETCH) {
            mark();
        }
        states += 1;
        check += solution.volts(last).value();
    });
    assert_eq!(states, 1 << circuit.inputs.len());
    check
}

fn micros(time: Duration, states: u64) -> f64 {
    time.as_secs_f64() * 1e6 / states as f64
}

fn beside_ngspice() {
    println!("Every state of circuits in one piece, one thread, µs per state; ngspice's start-up does not count");
    println!("solve: all voltages and currents of each state; search: finding the states by every change out of each");
    println!(
        "inputs  nodes   solve  search   ngspice: sweep  alter+op   sweep/solve  sweep/(search+solve)  alter/solve"
    );
    for (inputs, nodes) in [(4, 57), (8, 120), (12, 204)] {
        let circuit = vehicle::vehicle(inputs, inputs, nodes);
        let states = 1u64 << inputs;
        let exploration = explore(&circuit, Corner::NOMINAL);
        let solve = least(15, |mark| _ = std::hint::black_box(every_state(&circuit, &exploration, mark)));
        let search = least(5, |_| _ = std::hint::black_box(explore(&circuit, Corner::NOMINAL)));
        let (solve, search) = (micros(solve, states), micros(search, states));
        let per_state = |took: Option<Duration>| took.map_or(f64::NAN, |took| micros(took, states));
        let (sweep, alter) = (per_state(ngspice::sweep(&circuit)), per_state(ngspice::alter(&circuit)));
        println!(
            "{inputs:>6} {:>6} {solve:>7.2} {search:>7.1} {sweep:>16.1} {alter:>9.1} {:>13.0} {:>21.1} {:>12.0}",
            circuit.nodes.len(),
            sweep / solve,
            sweep / (search + solve),
            alter / solve,
        );
    }
}

/// Processor time of all threads so far, by Linux' `/proc`, in the hundredths of a second that it counts in.
fn processor() -> Duration {
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // User and system time are the 12th and 13th figures after the name, which stands in brackets.
    let figures = text.rsplit(')').next().unwrap_or_default().split(' ');
    let ticks: u64 = figures.skip(12).take(2).filter_map(|figure| figure.parse::<u64>().ok()).sum();
    Duration::from_millis(10 * ticks)
}

/// Wall and processor time of the quickest of three goes.
fn explored(circuit: &Circuit) -> ([Duration; 2], Vec<Exploration>) {
    let (mut all, mut best) = (vec![], [Duration::MAX; 2]);
    for _ in 0..3 {
        let (start, before) = (Instant::now(), processor());
        all = explore_all(circuit, &Corner::ALL, &|_| ControlFlow::Continue(())).unwrap_or_default();
        best = [best[0].min(start.elapsed()), best[1].min(processor() - before)];
    }
    (best, all)
}

/// Every reachable state, every change out of it, at three supply voltages, cold and hot.
fn growth() {
    println!();
    println!("Every reachable state and every change out of it, at six corners, two threads");
    println!("inputs  largest part   nodes  parts          states      wall  processor");
    let one_part = [4, 6, 8, 10, 12].map(|n| (n, n));
    let in_parts = [(16, 8), (24, 8), (32, 8), (40, 8), (24, 4), (40, 4)];
    for (inputs, group) in one_part.into_iter().chain(in_parts) {
        let circuit = vehicle::vehicle(inputs, group, 0);
        let (took, all) = explored(&circuit);
        println!(
            "{inputs:>6} {group:>14} {:>6} {:>6} {:>15} {:>6.0} ms {:>7} ms",
            circuit.nodes.len(),
            all[0].zones(),
            all[0].count(),
            took[0].as_secs_f64() * 1e3,
            took[1].as_millis(),
        );
    }
}

/// Most memory that the program has had, by Linux' `/proc`.
fn memory() {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    if let Some(line) = status.lines().find(|line| line.starts_with("VmHWM")) {
        println!("\nMost memory: {}", line.trim_start_matches("VmHWM:").trim());
    }
}

fn main() {
    beside_ngspice();
    growth();
    memory();
}
