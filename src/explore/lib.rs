//! The exploration: every state that a circuit can reach from rest, one change at a time.
//!
//! ```
//! use circuit::{Circuit, Corner, Law, Logic, NEGATIVE, ActorRule, Senses};
//! use explore::{Move, explore};
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
//! let exploration = explore(&circuit, Corner::NOMINAL);
//! assert_eq!(exploration.count(), 2);
//! exploration.visit(&circuit, &mut |solution| {
//!     assert!(solution.volts(coil).value() < 12.6);
//!     let way = exploration.way_to(&solution.state).unwrap();
//!     assert_eq!(way, if solution.on(k1) { vec![Move::Input(switch, 1)] } else { vec![] });
//! });
//! ```

mod exploration;
mod limits;
mod question;
mod reach;
#[cfg(test)]
mod tests;
mod visit;
mod without;
mod zones;

pub use exploration::{Excluded, Exploration, History, explore, explore_all, unwatched};
pub use limits::Together;
pub use question::About;
pub use reach::{Interrupted, Move, Progress, Watch};
pub use without::{Look, Without};
