//! One report per cause: a finding that follows from another is folded under it. In come the findings of all rules; out
//! go the same findings, each consequence with a link to its root.
//!
//! A rule that knows a root says how it is repaired ([`Repair`](super::Repair)). The repaired harness is checked like any other: what is
//! no longer found there follows from the root. So a cause is proved, not guessed. Repairs add up: what vanishes with the
//! second root's repair on top of the first follows from the second.

mod advice;
mod alike;
mod as_meant;
mod cavities;
mod crossed;
mod diodes;
mod elsewhere;
mod fold;
mod link;
mod missing;
mod regions;
mod rewired;
mod search;
mod sources;
mod suspects;
mod touched;
mod trials;
mod unchecked;

pub use fold::{AfterRepair, fold, found, in_order};
pub use trials::Trials;
pub use unchecked::unchecked;
