//! Rules about connections.

mod coil_polarity;
mod ground_missing;
mod island;
mod isolator_reversed;
mod mixed_kinds;
mod outputs_joined;
mod part_unpowered;
mod picture_unshielded;
mod pin_unknown;
mod ring;
mod shield_open;
mod short_circuit;
mod sound_crossed;
mod sound_open;
mod sound_unshielded;
mod speaker_load;
mod supplies_fight;
mod swapped;
mod trigger_open;
mod unwired;
mod video_format;
mod video_level;
mod wire_to_nowhere;

use crate::Rule;

pub use ground_missing::open_end;
pub use swapped::{crossed, ends_exchanged, off_ground, on_wrong_feed, on_wrong_source, pictures_exchanged, swapped};

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    pin_unknown::RULE,
    wire_to_nowhere::RULE,
    unwired::RULE,
    part_unpowered::RULE,
    ground_missing::RULE,
    trigger_open::RULE,
    coil_polarity::RULE,
    mixed_kinds::RULE,
    outputs_joined::RULE,
    sound_open::RULE,
    sound_unshielded::RULE,
    sound_crossed::RULE,
    speaker_load::RULE,
    video_format::RULE,
    video_level::RULE,
    shield_open::RULE,
    picture_unshielded::RULE,
    supplies_fight::RULE,
    swapped::RULE,
    isolator_reversed::RULE,
    short_circuit::RULE,
    island::RULE,
    ring::RULE,
];
