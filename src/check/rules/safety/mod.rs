//! Rules about fire and harm.

mod feed_without_fuse;
mod fuse_above_wire;
mod fuse_never_opens;
mod fuse_oversized;
mod fuses_parallel;
mod ground_lost;

use crate::Rule;
pub(super) use fuse_never_opens::converter_limit;

/// The rules of this family.
#[rustfmt::skip] // A line for each rule.
pub const RULES: &[Rule] = &[
    feed_without_fuse::RULE,
    fuse_above_wire::RULE,
    fuse_oversized::RULE,
    fuses_parallel::RULE,
    fuse_never_opens::RULE,
    ground_lost::RULE,
];
