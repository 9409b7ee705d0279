//! Rules about the spec itself.

mod accept_rule_unknown;
mod accept_unused;
mod meaning_missing;
mod nominal_differs;
mod not_proved;

use crate::Rule;

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    accept_rule_unknown::RULE,
    accept_unused::RULE,
    meaning_missing::RULE,
    nominal_differs::RULE,
    not_proved::RULE,
];
