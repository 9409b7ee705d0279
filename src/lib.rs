//! Loomwright designs the wiring harness that ties a vehicle's cameras, accessories and trigger signals to its screens.

pub mod draw;
pub mod quantity;
