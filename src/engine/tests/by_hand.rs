//! Helpers for circuits that are solved by hand and by the engine.

use circuit::*;
use engine::Solver;
use quantity::{Ohms, Volts};

pub(super) fn ohms(value: f64) -> Ohms {
    Ohms::new(value)
}

pub(super) fn closed() -> Law {
    Law::Conductor { ohms: ohms(0.01), copper: false }
}

/// A circuit with a battery of 10, 12 and 14 V behind 0.1 Ω, and its positive node.
pub(super) fn battery() -> (Circuit, NodeId) {
    let mut circuit = Circuit::new();
    let plus = circuit.node("battery +");
    let volts = [10.0, 12.0, 14.0].map(Volts::new);
    circuit.branch("battery", NEGATIVE, plus, Law::Source { volts, ohms: ohms(0.1) });
    (circuit, plus)
}

pub(super) fn settle(circuit: &Circuit, positions: &[Position]) -> Outcome {
    let mut state = State::at_rest(circuit);
    state.positions.0.copy_from_slice(positions);
    Solver::new(circuit, Corner::NOMINAL).settle(&state)
}

pub(super) fn settled(circuit: &Circuit, positions: &[Position]) -> Solution {
    settle(circuit, positions).settled().unwrap()
}

pub(super) fn close(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-6 * b.abs().max(1e-3), "{a} is not {b}");
}
