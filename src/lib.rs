//! Loomwright designs the wiring harness that ties a vehicle's cameras, accessories and trigger signals to its screens.
//!
//! Each stage is a module that knows only those before it: [`spec`] (text to typed spec), [`model`] (resolved against
//! the [`catalogue`]), then the graph, the solved circuit, findings, drawings and documents.

#![deny(clippy::disallowed_methods, clippy::disallowed_macros, clippy::disallowed_types, clippy::iter_over_hash_type)]

pub mod book;
pub mod catalogue;
pub mod check;
pub mod cli;
pub mod diagnostic;
pub mod draw;
pub mod files;
pub mod form;
pub mod graph;
pub mod model;
pub mod quantity;
pub mod replay;
pub mod size;
pub mod solve;
pub mod spec;
pub mod states;

// Circuits that benches and tests share name the crate as they do from outside.
#[cfg(test)]
extern crate self as loomwright;
