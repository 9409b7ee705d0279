//! What can be looked at.

use super::measure::Measure;
use model::{ElementId, PlaceId, ScreenId, WireId};

/// Something to look at in a setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Look {
    Screen(ScreenId),
    Works(usize),
    Fuse(ElementId),
    Cable(WireId),
    Wiggle(PlaceId),
    Meter(Measure),
}

/// Whether the answer depends on the positions of the inputs.
pub(crate) fn needs_state(look: Look) -> bool {
    !matches!(look, Look::Fuse(_) | Look::Cable(_) | Look::Wiggle(_) | Look::Meter(Measure::Ohms(..)))
}
