//! What goes on the end of a wire: terminal, splice or ring, which half of a mated pair it is for, and the wires that
//! share it.

use model::{Domain, ElementKind, Family, Model, PartId, PartKind, PinId, WireId};
use spec::WireMake;
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
pub fn half(model: &Model, id: PartId) -> Option<Half> {
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
fn reaches_supply(model: &Model, own: PartId, mate: PartId) -> bool {
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

/// What goes on a wire where it meets the vehicle, which has no part for it.
fn at_vehicle(model: &Model, id: PartId) -> Option<&'static str> {
    let part = model.part(id);
    let battery = |kind: &ElementKind| matches!(kind, ElementKind::Battery { .. });
    match part.kind {
        PartKind::Supply if part.elements.iter().any(|id| battery(&model.element(*id).kind)) => {
            Some("ring on the battery post")
        }
        PartKind::Supply | PartKind::Feed => Some("splice into the vehicle's wire"),
        _ => None,
    }
}

/// What goes on the wires at a part; `None` if nothing does. `supplied`: the part brings it along.
pub fn terminal(model: &Model, id: PartId) -> Option<(String, bool)> {
    if let Some(words) = at_vehicle(model, id) {
        return Some((words.to_string(), false));
    }
    let terminal = model.part(id).form.terminal.as_ref()?;
    let title = terminal.title.0.clone();
    let title = match half(model, id) {
        Some(half) => format!("{title}, {}", half.terminals()),
        None => title,
    };
    Some((title, terminal.supplied.0))
}

/// The other wires in the same terminal: every built wire on the pin, unless the pin is a stud, a ground point, a
/// splice or the vehicle's.
pub fn shares(model: &Model, id: WireId, pin: PinId) -> Vec<WireId> {
    let part = model.part(model.pin(pin).part);
    let terminal = part.form.terminal.as_ref();
    let one = matches!(part.kind, PartKind::Device | PartKind::Connector)
        && terminal.is_some_and(|terminal| !terminal.stacks.0 && !terminal.supplied.0);
    let crimped = |other: &WireId| *other != id && model.wire(*other).make != WireMake::Lead;
    if one { model.wires_on(pin).filter(crimped).collect() } else { Vec::new() }
}

/// `, with wire 3 in one terminal`; empty if a wire sits alone.
pub fn shares_words(model: &Model, id: WireId, pin: PinId) -> String {
    let others: Vec<&str> = shares(model, id, pin).into_iter().map(|id| model.wire(id).id.as_str()).collect();
    match others.len() {
        0 => String::new(),
        1 => format!(", with wire {} in one terminal", others[0]),
        _ => format!(", with wires {} in one terminal", others.join(", ")),
    }
}
