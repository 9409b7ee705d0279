//! Which of two mated pins is the pin, and which the socket.

use model::{Half, Model, PartId, PartKind, half};

/// Whether the first of two parts that mate has the pins. Where only one side is a connector of its own, it has the
/// sockets: the part's own lead ends in pins (common practice, no source).
pub fn has_pins(model: &Model, first: PartId, second: PartId) -> bool {
    match (half(model, first), half(model, second)) {
        (Some(own), _) => own == Half::Pins,
        (None, Some(other)) => other == Half::Sockets,
        (None, None) => model.part(first).kind != PartKind::Connector,
    }
}
