//! The circuit engine: every state solved as a direct-current circuit, and every reachable state found.
//!
//! In comes a [`Circuit`]: nodes, branches with their [`Law`]s, inputs that someone moves, actors that the circuit moves
//! itself. Out go [`Solution`]s, every voltage and every current of a settled state at one [`Corner`], and an
//! [`Exploration`], every state that can be reached from rest. Nothing here knows parts, wires or YAML but `assemble`.
//!
//! ```
//! use quantity::{Ohms, Volts};
//! use solve::{Circuit, Corner, Law, Logic, Move, NEGATIVE, Rule, Sees, Solver, State, explore};
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
//! let k1 = circuit.actor("K1", Rule::Threshold { plus: coil, minus: NEGATIVE, on, off, sees: Sees::Coil });
//!
//! // One state at one corner.
//! let mut state = State::at_rest(&circuit);
//! state.positions = state.positions.with(switch, 1);
//! let solution = Solver::new(&circuit, Corner::NOMINAL).settle(&state).settled().unwrap();
//! assert!(solution.on(k1));
//! assert_eq!(solution.volts(coil).to_string(), "12.6 V");
//!
//! // Every state that can be reached from rest, with the way there.
//! let exploration = explore(&circuit, Corner::NOMINAL);
//! assert_eq!(exploration.count(), 2);
//! assert_eq!(exploration.way_to(&solution.state).unwrap(), [Move::Input(switch, 1)]);
//! exploration.visit(&circuit, &mut |solution| assert!(solution.volts(coil).value() < 12.6));
//! ```
//!
//! What must hold: no two nodes need be joined, no source need be stiff, no resistance need be above nought. Bad circuits
//! solve too, and what is wrong with them is told by their voltages and currents, never by a failure to solve.

mod assemble;
mod circuit;
pub mod corner;
mod dense;
mod explore;
mod factor;
mod faults;
mod known;
mod laws;
mod leftover;
mod limits;
mod logic;
pub mod netlist;
mod path;
mod phases;
mod pieces;
mod plan;
mod question;
mod reach;
mod reading;
mod result;
mod round;
mod settle;
mod solvers;
mod state;
mod step;
mod surroundings;
#[cfg(test)]
mod tests;
mod variant;
mod visit;
mod without;
mod zones;

pub use assemble::{Assembly, CONVERTER_KEEPS_SHARE, USUAL_LEAST_SHARE, assemble};
pub use circuit::{
    Actor, ActorId, Branch, BranchId, Circuit, Input, InputId, LEAK, LEAST_OHMS, Law, NEGATIVE, NodeId, Position, Rule,
    Sees, position,
};
pub use corner::{Copper, Corner, Lamps, Pulse, Supply};
pub use explore::{Excluded, Exploration, History, explore, explore_all, unwatched};
pub use faults::{Contradiction, Short};
pub use leftover::{Event, Leftover};
pub use limits::Together;
pub use logic::Logic;
pub use path::{CurrentPath, PathStep, Spot, Tracer, Via};
pub use question::About;
pub use reach::{Interrupted, Move, Progress, Watch};
pub use reading::Reading;
pub use settle::Solver;
pub use solvers::Solvers;
pub use state::{Chatter, Held, Memory, Outcome, Positions, Solution, State, Unsolved};
pub use variant::{Change, Variant};
pub use without::{Look, Without};

// Circuits that benches and tests share name the room as they do from outside.
#[cfg(test)]
extern crate self as solve;
