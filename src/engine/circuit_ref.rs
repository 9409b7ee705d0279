//! The circuit that a solver solves.

use circuit::Circuit;
use std::sync::Arc;

/// A circuit that is borrowed, or shared by those who keep solvers of it.
#[derive(Debug, Clone)]
pub enum CircuitRef<'c> {
    Borrowed(&'c Circuit),
    Shared(Arc<Circuit>),
}

impl std::ops::Deref for CircuitRef<'_> {
    type Target = Circuit;
    fn deref(&self) -> &Circuit {
        match self {
            CircuitRef::Borrowed(circuit) => circuit,
            CircuitRef::Shared(circuit) => circuit,
        }
    }
}

impl<'c> From<&'c Circuit> for CircuitRef<'c> {
    fn from(circuit: &'c Circuit) -> Self {
        CircuitRef::Borrowed(circuit)
    }
}
