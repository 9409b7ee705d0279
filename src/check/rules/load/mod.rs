//! Rules about currents and voltages.

mod coil_unsuppressed;
mod coil_weak;
mod contact_overloaded;
mod drop;
mod fuse_loaded;
mod output_overloaded;
mod starved;
mod wire_ampacity;

use crate::check::Rule;

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    fuse_loaded::RULE,
    wire_ampacity::RULE,
    drop::RULE,
    starved::RULE,
    contact_overloaded::RULE,
    output_overloaded::RULE,
    coil_weak::RULE,
    coil_unsuppressed::RULE,
];
