//! The vehicle's own fuses: what is between its battery and the wires that the harness takes current from.

use super::{ElementKind, Model, PinId};
use quantity::Amps;

/// The rating that is assumed for the wire of an input without `fuse`: the largest fuse that is usual for a lamp, accessory
/// or ignition circuit of a light vehicle (common practice, no source).
pub const ASSUMED_FUSE: Amps = Amps::new(30.0);

/// A fuse of the vehicle before a supply's pin or a tapped wire.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VehicleFuse {
    /// The pin whose supply or input it belongs to.
    pub of: PinId,
    /// Its rating.
    pub rating: Amps,
    /// Whether the spec gives it; else it is [`ASSUMED_FUSE`].
    pub is_known: bool,
}

impl<G> Model<G> {
    /// The vehicle's fuse before a pin: the smallest of its own and of those of the supplies that feed it. A wire of the
    /// vehicle that is live when on has one in any case; a supply only where the spec says so.
    pub fn vehicle_fuse(&self, pin: PinId) -> Option<VehicleFuse> {
        let mut smallest: Option<VehicleFuse> = None;
        let (mut at, mut is_tap) = (Some(pin), false);
        // Bounded, in case supplies feed each other in a ring.
        for _ in 0..self.elements.len() {
            let found = at.and_then(|pin| Some((pin, self.fuse_and_feeder(pin)?)));
            let Some((pin, (fuse, from, tap))) = found else { break };
            is_tap |= tap;
            if let Some(rating) = fuse.filter(|fuse| smallest.is_none_or(|smallest| *fuse < smallest.rating)) {
                smallest = Some(VehicleFuse { of: pin, rating, is_known: true });
            }
            at = from;
        }
        let assumed = VehicleFuse { of: pin, rating: ASSUMED_FUSE, is_known: false };
        smallest.or(is_tap.then_some(assumed))
    }

    /// The fuse that the spec gives for the supply or the live wire of the vehicle at a pin, what feeds it, and whether it is
    /// a tapped wire.
    fn fuse_and_feeder(&self, pin: PinId) -> Option<(Option<Amps>, Option<PinId>, bool)> {
        let part = self.pin(pin).part;
        self.part(part).elements.iter().find_map(|id| match &self.element(*id).kind {
            ElementKind::Battery { plus, figures, .. } if *plus == pin => Some((figures.fuse, None, false)),
            ElementKind::Derived { from, pin: own, figures, .. } if *own == pin => {
                Some((figures.fuse, Some(*from), false))
            }
            ElementKind::Feed(feed) if feed.pin == pin => feed.from.map(|from| (feed.fuse, Some(from), true)),
            _ => None,
        })
    }
}
