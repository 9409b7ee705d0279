//! The circuit of a harness: nodes, branches with their [`Law`]s, inputs that someone moves, actors that the circuit
//! moves itself.
//!
//! [`assemble()`] makes the [`Circuit`] of a model and keeps which pin, wire and element is which node and branch. A
//! [`Variant`] is the one way to change a circuit. [`State`] and [`Solution`] are what the engine takes and returns;
//! [`Tracer`] follows the currents of a solution, and [`netlist::netlist`] writes it for a circuit simulator. Nothing
//! here solves a circuit, and nothing but `assemble` knows parts and wires.

mod assemble;
mod circuit;
pub mod corner;
mod faults;
mod ids;
mod known;
mod laws;
mod logic;
pub mod netlist;
mod path;
mod reading;
mod state;
mod variant;

pub use assemble::{Assembly, CONVERTER_KEEPS_SHARE, USUAL_LEAST_SHARE, assemble};
pub use circuit::{Actor, ActorRule, Branch, Circuit, CircuitInput, LEAK, LEAST_OHMS, Law, Senses};
pub use corner::{Copper, Corner, Lamps, Pulse, Supply};
pub use faults::{Contradiction, Short};
pub use ids::{ActorId, BranchId, InputId, NEGATIVE, NodeId, Position, place_in, position};
pub use known::Known;
pub use laws::{Curve, LinePiece, curve, on_time_share, piece_at};
pub use logic::Logic;
pub use path::{CurrentPath, PathStep, Spot, Tracer, Via};
pub use reading::Reading;
pub use state::{Chatter, Held, Memory, Outcome, Phase, Positions, Solution, State, Unsolved};
pub use variant::{Change, Variant};
