//! Picture cables: what a meter shows at their ends.

use super::fault::{Harm, PictureHarm};
use model::WireId;

/// What a meter shows at the ends of an unplugged picture cable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CableSeen {
    /// The core goes through and is clear of the shield.
    Whole,
    /// The core is open.
    Open,
    /// The core touches the shield.
    Shorted,
}

impl CableSeen {
    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            CableSeen::Whole => "whole",
            CableSeen::Open => "open",
            CableSeen::Shorted => "shorted",
        }
    }
}

/// The state of a picture's cable.
pub(crate) fn cable(harm: &Harm, wire: WireId) -> CableSeen {
    if harm.pictures.contains(&PictureHarm::CoreOpen(wire)) {
        CableSeen::Open
    } else if harm.pictures.contains(&PictureHarm::CoreShorted(wire)) {
        CableSeen::Shorted
    } else {
        CableSeen::Whole
    }
}
