//! Rules about currents and voltages.

mod coil_unsuppressed;
mod coil_weak;
mod contact_life;
mod contact_overloaded;
mod diode_overloaded;
mod drop;
mod fuse_inrush;
mod fuse_loaded;
mod fuses_discriminate;
mod ground_drop;
mod key_off_drain;
mod other_system;
mod output_fed;
mod output_overloaded;
mod overvoltage;
mod pin_overloaded;
mod shield_loaded;
mod short_clears;
mod start_dip;
mod starved;
mod supply_budget;
mod video_ground_lift;
mod wire_ampacity;

use crate::Rule;

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    ground_drop::RULE,
    fuse_loaded::RULE,
    wire_ampacity::RULE,
    shield_loaded::RULE,
    drop::RULE,
    starved::RULE,
    start_dip::RULE,
    overvoltage::RULE,
    other_system::RULE,
    contact_overloaded::RULE,
    output_overloaded::RULE,
    coil_weak::RULE,
    coil_unsuppressed::RULE,
    output_fed::RULE,
    short_clears::RULE,
    fuses_discriminate::RULE,
    fuse_inrush::RULE,
    contact_life::RULE,
    video_ground_lift::RULE,
    key_off_drain::RULE,
    supply_budget::RULE,
    pin_overloaded::RULE,
    diode_overloaded::RULE,
];
