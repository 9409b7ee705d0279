//! Rules about what shows when.

mod input_unused;
mod screen_input_empty;
mod trigger_undecided;
mod two_sources;
mod view_differs;

use crate::check::Rule;

/// The rules of this family.
pub const RULES: &[Rule] =
    &[view_differs::RULE, two_sources::RULE, trigger_undecided::RULE, screen_input_empty::RULE, input_unused::RULE];
