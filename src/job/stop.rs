//! Why a stage has no result.

use explore::Interrupted;
use std::fmt;

/// Why a stage has no result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stop {
    /// The job's watch ended it.
    Interrupted,
    /// In words for people: what is wrong, why, what to do.
    Because(String),
}

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Stop::Interrupted => f.write_str("interrupted"),
            Stop::Because(why) => f.write_str(why),
        }
    }
}

impl std::error::Error for Stop {}

impl From<Interrupted> for Stop {
    fn from(_: Interrupted) -> Stop {
        Stop::Interrupted
    }
}
