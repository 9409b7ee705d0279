//! What is joined to what: the wires on each pin, the pins that meet it without a wire, and where a wire leads.

use crate::lists::signal_names::SignalNames;
use model::{Joint, Model, PartKind, PinId, WireId, passes_shield};
use spec::WireMake;
use std::collections::BTreeSet;

/// Most ends that are named beyond a splice; a longer list helps nobody.
const MOST_NAMED: usize = 12;

/// The wires and mated pins of every pin, looked up once.
#[derive(Debug, Clone)]
pub struct Connections<'m> {
    model: &'m Model,
    signals: SignalNames<'m>,
    wires: Vec<Vec<WireId>>,
    mated: Vec<Vec<PinId>>,
}

/// The cavity in which a part's pin is reached with a meter: that of the connector that plugs onto it.
pub fn probe(model: &Model, pin: PinId) -> Option<PinId> {
    let connector = |pin: PinId| model.part(model.pin(pin).part).kind == PartKind::Connector;
    let met = |joint: &Joint| match joint.pins {
        [a, b] if a == pin => Some(b),
        [a, b] if b == pin => Some(a),
        _ => None,
    };
    model.joints.iter().filter(|_| !connector(pin)).filter_map(met).find(|other| connector(*other))
}

/// Where a meter's tip goes for a pin: `K1.86`, `REAR.power (at X4.1)`.
pub fn tip(model: &Model, pin: PinId) -> String {
    match probe(model, pin) {
        Some(cavity) => format!("{} (at {})", model.pin_name(pin), model.pin_name(cavity)),
        None => model.pin_name(pin),
    }
}

/// Where the shield of a coaxial cable ends whose core is on a pin: with the ground cavity of the same connector
/// (common practice, no source), or at a part the shell of its plug.
pub fn screen_at(model: &Model, pin: PinId) -> String {
    let part = model.part(model.pin(pin).part);
    match (part.kind, model.shield_cavity(pin)) {
        (PartKind::Connector, Some(ground)) => model.pin_name(ground),
        (PartKind::Connector, None) if passes_shield(model, pin) => format!("shell of {}", part.name),
        (PartKind::Connector, None) => "not connected".to_string(),
        _ => format!("shell at {}", model.pin_name(pin)),
    }
}

/// The coaxial cables whose shields a cavity carries, besides the wires that end in it.
pub fn screens_in(model: &Model, cavity: PinId) -> Vec<WireId> {
    let part = model.part(model.pin(cavity).part);
    if part.kind != PartKind::Connector {
        return Vec::new();
    }
    let here = |pin: &&PinId| model.shield_cavity(**pin) == Some(cavity);
    let coax = |id: &WireId| model.wire(*id).make == WireMake::Coax;
    part.pins.iter().filter(here).flat_map(|pin| model.wires_on(*pin)).filter(coax).collect()
}

/// How to connect those shields. No seal fits over two wires, so a shield is spliced to the wire that ends in the
/// cavity.
pub fn screens_words(model: &Model, cavity: PinId) -> Option<String> {
    let screens = screens_in(model, cavity);
    let ids: Vec<&str> = screens.iter().map(|id| model.wire(*id).id.as_str()).collect();
    let wires: Vec<&str> = model.wires_on(cavity).map(|id| model.wire(id).id.as_str()).collect();
    match (ids.is_empty(), wires.is_empty()) {
        (true, _) => None,
        (false, true) => Some(format!("shield of coax {}", ids.join(", "))),
        (false, false) => Some(format!(
            "and the shield of coax {}: join it to wire {} in a splice, and run one wire into the cavity",
            ids.join(", "),
            wires.join(", ")
        )),
    }
}

/// Where a wire leads from one of its ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leads {
    /// Its other end.
    pub far: PinId,
    /// The ends beyond it, through splices and mated cavities; empty if the far end is the last.
    pub beyond: Vec<PinId>,
    /// Whether there are more of them than are named.
    pub more: bool,
}

impl Leads {
    /// The ends beyond, as people write them.
    pub fn beyond_names(&self, model: &Model) -> Vec<String> {
        let more = self.more.then(|| "and more".to_string());
        self.beyond.iter().map(|pin| model.pin_name(*pin)).chain(more).collect()
    }
}

impl<'m> Connections<'m> {
    /// Looks up every pin of a harness.
    pub fn new(model: &'m Model) -> Connections<'m> {
        let mut wires = vec![Vec::new(); model.pins.len()];
        let mut mated = vec![Vec::new(); model.pins.len()];
        for id in model.wire_ids() {
            model.wire(id).ends.iter().for_each(|end| wires[end.0].push(id));
        }
        for joint in &model.joints {
            let [a, b] = joint.pins;
            mated[a.0].push(b);
            mated[b.0].push(a);
        }
        Connections { model, signals: SignalNames::new(model), wires, mated }
    }

    /// What a wire carries, in words.
    pub fn carries(&self, wire: WireId) -> String {
        self.signals.of(wire)
    }

    /// The wires on a pin, in the order of the spec.
    pub fn wires_on(&self, pin: PinId) -> &[WireId] {
        &self.wires[pin.0]
    }

    /// The pins that meet a pin without a wire: the mated cavity, or a part's own pin.
    pub fn mated(&self, pin: PinId) -> &[PinId] {
        &self.mated[pin.0]
    }

    /// The other end of a wire.
    pub fn far(&self, wire: WireId, from: PinId) -> PinId {
        let [a, b] = self.model.wire(wire).ends;
        if a == from { b } else { a }
    }

    /// Where a wire leads from one of its ends.
    pub fn leads(&self, wire: WireId, from: PinId) -> Leads {
        let far = self.far(wire, from);
        let mut beyond = Vec::new();
        let mut seen = BTreeSet::from([from, far]);
        let mut ahead = vec![far];
        while let Some(pin) = ahead.pop() {
            let next: Vec<PinId> = self.next(pin).into_iter().filter(|p| seen.insert(*p)).collect();
            if next.is_empty() && pin != far {
                if beyond.len() == MOST_NAMED {
                    return Leads { far, beyond, more: true };
                }
                beyond.push(pin);
            }
            ahead.extend(next.into_iter().rev());
        }
        Leads { far, beyond, more: false }
    }

    /// The pins one step on from a pin that only joins: from a splice over its wires, from a cavity over its mate and
    /// its wires. A part, a supply, a tap or a ground is an end.
    fn next(&self, pin: PinId) -> Vec<PinId> {
        match self.model.part(self.model.pin(pin).part).kind {
            PartKind::Splice | PartKind::Connector => {
                let over_wires = self.wires[pin.0].iter().map(|wire| self.far(*wire, pin));
                self.mated[pin.0].iter().copied().chain(over_wires).collect()
            }
            _ => Vec::new(),
        }
    }
}
