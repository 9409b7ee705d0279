//! Rules about what shows when.

mod chatter;
mod depends_on_history;
mod input_unused;
mod race;
mod screen_input_empty;
mod trigger_undecided;
mod two_sources;
mod view_differs;

use crate::check::Rule;

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    view_differs::RULE,
    two_sources::RULE,
    trigger_undecided::RULE,
    chatter::RULE,
    race::RULE,
    depends_on_history::RULE,
    screen_input_empty::RULE,
    input_unused::RULE,
];
