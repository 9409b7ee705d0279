//! The engine: a circuit, a corner and a state in; every voltage and current of the settled state out.
//!
//! ```
//! use circuit::{Circuit, Corner, Law, Logic, NEGATIVE, ActorRule, Senses, State};
//! use engine::Solver;
//! use quantity::{Ohms, Volts};
//!
//! // A battery, a switch, a relay coil.
//! let mut circuit = Circuit::new();
//! let (plus, coil) = (circuit.node("battery +"), circuit.node("K1.86"));
//! let volts = [11.8, 12.6, 14.6].map(Volts::new);
//! circuit.branch("battery", NEGATIVE, plus, Law::Source { volts, ohms: Ohms::new(0.015) });
//! let switch = circuit.input("reverse", &["off", "on"]);
//! let closed = Law::Conductor { ohms: Ohms::new(0.01), copper: false };
//! circuit.switched("reverse switch", plus, coil, closed, Logic::At(switch, 1));
//! circuit.branch("K1 coil", coil, NEGATIVE, Law::Conductor { ohms: Ohms::new(90.0), copper: true });
//! let (on, off) = (Volts::new(7.2), Volts::new(1.2));
//! let k1 = circuit.actor("K1", ActorRule::Threshold { plus: coil, minus: NEGATIVE, on, off, senses: Senses::Coil });
//!
//! let mut state = State::at_rest(&circuit);
//! state.positions = state.positions.with(switch, 1);
//! let solution = Solver::new(&circuit, Corner::NOMINAL).settle(&state).settled().unwrap();
//! assert!(solution.on(k1));
//! assert_eq!(solution.volts(coil).to_string(), "12.6 V");
//! ```
//!
//! What must hold: no two nodes need be connected, no source need have a low resistance, no resistance need be above
//! zero. A badly wired circuit has a solution too: its voltages and currents show what is wrong with it.

mod circuit_ref;
mod curved;
mod dense;
mod factor;
mod linear;
mod network;
mod outcome;
mod pass;
mod plan;
mod power;
mod pulses;
mod settler;
mod solver;
mod solvers;
mod switched;
#[cfg(test)]
mod tests;
mod threshold;

pub use circuit_ref::CircuitRef;
pub use dense::solve as solve_dense;
pub use network::{Network, NoSolution};
pub use outcome::settle;
pub use plan::{EliminationPlan, Lists};
pub use settler::{Ending, Observer, Settler, Unobserved};
pub use solver::Solver;
pub use solvers::Solvers;
pub use threshold::Threshold;

// Test helpers that other rooms share name the room as they do from outside.
#[cfg(test)]
extern crate self as engine;
