//! Rules about what the screens show, and about sneak paths.

mod both_windings;
mod chatter;
mod depends_on_history;
mod depends_on_supply;
mod diode_missing;
mod input_stuck;
mod input_unused;
mod lamp_glows;
mod latch_forgets;
mod left_behind;
mod pulsed;
mod race;
mod screen_input_empty;
mod sneak_coil;
mod sneak_ground;
mod sneak_input;
mod sneak_load;
mod sneak_supply;
mod standard_pin;
mod trigger_undecided;
mod two_sources;
mod view_differs;
mod view_unreached;
mod works_differs;
mod works_unreached;

use crate::Rule;
pub(super) use works_differs::works_words;

pub use diode_missing::{diode_missing, diode_missing_at};

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    view_differs::RULE,
    view_unreached::RULE,
    works_differs::RULE,
    works_unreached::RULE,
    standard_pin::RULE,
    two_sources::RULE,
    trigger_undecided::RULE,
    pulsed::RULE,
    both_windings::RULE,
    chatter::RULE,
    race::RULE,
    depends_on_history::RULE,
    depends_on_supply::RULE,
    screen_input_empty::RULE,
    input_unused::RULE,
    input_stuck::RULE,
    diode_missing::RULE,
    sneak_input::RULE,
    sneak_ground::RULE,
    sneak_supply::RULE,
    sneak_coil::RULE,
    sneak_load::RULE,
    lamp_glows::RULE,
    latch_forgets::RULE,
    left_behind::RULE,
];
