//! Rules about time: blinking and late pictures, and the promises of drives.

mod blinks;
mod bounce;
mod drive_broken;
mod engine_start;
mod engine_start_lost;
mod fed_by_flash;
mod frozen;
mod hazards;
mod held_over;
mod late;
mod late_start;
mod rear_default;
mod rear_late;
mod rear_lingers;
mod relay_race;
mod relay_wear;
mod states_left_out;
mod works_blinks;
mod works_late;

use crate::Rule;

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    blinks::RULE,
    late::RULE,
    late_start::RULE,
    held_over::RULE,
    works_late::RULE,
    works_blinks::RULE,
    fed_by_flash::RULE,
    drive_broken::RULE,
    hazards::RULE,
    relay_race::RULE,
    bounce::RULE,
    engine_start::RULE,
    engine_start_lost::RULE,
    rear_late::RULE,
    rear_lingers::RULE,
    rear_default::RULE,
    relay_wear::RULE,
    frozen::RULE,
    states_left_out::RULE,
];
