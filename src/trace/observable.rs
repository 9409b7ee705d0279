//! What can be observed, by eye, by ear or with a meter.

use super::fault::Mending;
use super::measure::Measure;
use model::{ElementId, Model, PartId, PartKind, PinId, PlaceId, ScreenId, WireId};

/// Something to observe in a setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Observable {
    Screen(ScreenId),
    Works(usize),
    Fuse(ElementId),
    /// A screen's input, with the plug of a picture that is right in it.
    Input(PinId),
    /// The wires in the cavities of a connector.
    Plug(PartId),
    /// A new fuse in place of a blown one.
    NewFuse(ElementId),
    /// The current from the batteries with everything at rest.
    Drain,
    Cable(WireId),
    Wiggle(PlaceId),
    /// What was wrong, after a repair.
    Mended(Mending),
    Meter(Measure),
}

/// Whether the answer depends on the positions of the inputs.
pub(crate) fn needs_state(look: Observable) -> bool {
    !matches!(look, Observable::Meter(measure) if measure.is_without_power())
        && !matches!(
            look,
            Observable::Fuse(_)
                | Observable::NewFuse(_)
                | Observable::Drain
                | Observable::Plug(_)
                | Observable::Input(_)
                | Observable::Cable(_)
                | Observable::Wiggle(_)
                | Observable::Mended(_)
        )
}

/// The splices that a wire ends in: it can't be taken off there.
pub(crate) fn splices(model: &Model, wire: WireId) -> impl Iterator<Item = PartId> + '_ {
    let parts = model.wire(wire).ends.map(|pin| model.pin(pin).part);
    parts.into_iter().filter(|part| model.part(*part).kind == PartKind::Splice)
}
