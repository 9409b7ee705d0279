//! Rules about building the harness.

mod cavity_twice;
mod colour_twice;
mod length_below_route;
mod pin_taken;
mod plug_elsewhere;
mod splice_overfilled;
mod terminal_size;
mod wire_length;

use crate::Rule;

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    wire_length::RULE,
    length_below_route::RULE,
    cavity_twice::RULE,
    pin_taken::RULE,
    plug_elsewhere::RULE,
    colour_twice::RULE,
    splice_overfilled::RULE,
    terminal_size::RULE,
];
