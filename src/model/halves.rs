//! Which half of a mated pair has the pins, and which the sockets.

use crate::{Domain, Family, Model, PartId, PartKind, PinId};
use std::collections::BTreeSet;

/// Which half of a mated pair a connector is. The live side has sockets, so that no live pin is exposed when the pair
/// is apart (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Half {
    /// Receptacle half, with socket terminals.
    Sockets,
    /// Plug half, with pin terminals.
    Pins,
}

impl Half {
    /// The half in words.
    pub fn words(self) -> &'static str {
        match self {
            Half::Sockets => "receptacle half, for socket terminals",
            Half::Pins => "plug half, for pin terminals",
        }
    }

    /// Its terminals.
    pub fn terminals(self) -> &'static str {
        match self {
            Half::Sockets => "socket",
            Half::Pins => "pin",
        }
    }
}

/// Which half a connector is; `None` if it is not mated with another connector, or if its kind already says it.
pub fn half<G>(model: &Model<G>, id: PartId) -> Option<Half> {
    let part = model.part(id);
    let other = model.joints.iter().find_map(|joint| {
        let [a, b] = joint.pins.map(|pin| model.pin(pin).part);
        let other = if a == id { b } else { a };
        let connectors = [a, b].contains(&id) && model.part(other).kind == PartKind::Connector;
        connectors.then_some(other)
    })?;
    if part.kind != PartKind::Connector || part.form.family != Family::Connector {
        return None;
    }
    let live = |own: PartId, mate: PartId| reaches_supply(model, own, mate);
    let sockets = match (live(id, other), live(other, id)) {
        (true, false) => true,
        (false, true) => false,
        // Both or neither: the one named first.
        _ => id < other,
    };
    Some(if sockets { Half::Sockets } else { Half::Pins })
}

/// Whether a connector's wires lead to a supply or a tap without going through its mate.
fn reaches_supply<G>(model: &Model<G>, own: PartId, mate: PartId) -> bool {
    let carries = |pin: PinId| matches!(model.pin(pin).domain, Domain::Power | Domain::Trigger);
    let mut seen: BTreeSet<PinId> = model.part(own).pins.iter().copied().filter(|pin| carries(*pin)).collect();
    let mut ahead: Vec<PinId> = seen.iter().copied().collect();
    while let Some(pin) = ahead.pop() {
        let part = model.part(model.pin(pin).part);
        if matches!(part.kind, PartKind::Supply | PartKind::Feed) {
            return true;
        }
        let wires = model.wires_on(pin).map(|id| other_end(model.wire(id).ends, pin));
        let joints = model.joints.iter().filter(|joint| joint.pins.contains(&pin)).map(|j| other_end(j.pins, pin));
        let mut next: Vec<PinId> = wires.chain(joints).filter(|to| model.pin(*to).part != mate).collect();
        if part.kind == PartKind::Device {
            next.extend(&part.pins);
        }
        next.retain(|to| carries(*to) && seen.insert(*to));
        ahead.extend(next);
    }
    false
}

fn other_end([a, b]: [PinId; 2], one: PinId) -> PinId {
    if a == one { b } else { a }
}
