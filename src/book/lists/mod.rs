//! The lists as typed rows: pins, wires, splices, parts to order, labels, states, findings; and as CSV.

pub mod amount;
pub mod connections;
pub mod csv;
pub mod findings;
pub mod fuses;
pub mod labels;
pub mod live_states;
pub mod parts;
pub mod pins;
pub mod prices;
pub mod proposals;
pub mod purpose;
pub mod settings;
pub mod signal_names;
pub mod splices;
pub mod states;
pub mod strip;
pub mod terminals;
pub mod wires;
