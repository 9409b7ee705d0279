//! Outputs that are joined: two amplifier channels, two converters, a feed on a converter's output.

use super::connectivity::Connectivity;
use super::walk::Towards;
use graph::Nets;
use model::{Domain, ElementId, ElementKind, Model, PartKind, PinId, PinRole, Side, WireId};

/// What an output meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Joined {
    /// Another output of sound.
    Sound(PinId),
    /// Another output of sound, through a loudspeaker between them.
    Across(PinId),
    /// Another converter's output.
    Converter(PinId),
    /// A feed.
    Feed(PinId),
}

impl Joined {
    /// The pin that it meets.
    pub fn pin(self) -> PinId {
        match self {
            Joined::Sound(pin) | Joined::Across(pin) | Joined::Converter(pin) | Joined::Feed(pin) => pin,
        }
    }
}

/// Two outputs that are joined.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JoinedOutputs {
    /// The output, the first in the spec.
    pub output: PinId,
    /// What it meets.
    pub joined: Joined,
    /// The wire on the second output, or on the first if that has none.
    pub wire: Option<WireId>,
    /// For an amplifier whose inputs and outputs are swapped: its input that meets a loudspeaker or no source.
    pub swapped_input: Option<PinId>,
    /// Where one of two outputs of sound belongs: the wire, its end that is wrong, and the free input beside that end.
    pub belongs: Option<(WireId, PinId, PinId)>,
}

/// Every pair of outputs that are joined, in the order of the spec.
pub(super) fn joined_outputs(connectivity: &Connectivity, nets: &Nets) -> Vec<JoinedOutputs> {
    let search = Search { connectivity, nets };
    [search.sound(), search.across(), search.converters()].concat()
}

struct Search<'f> {
    connectivity: &'f Connectivity<'f>,
    nets: &'f Nets,
}

impl Search<'_> {
    fn model(&self) -> &Model {
        self.connectivity.model()
    }

    fn gives_sound(&self, pin: PinId) -> bool {
        let pin = self.model().pin(pin);
        pin.domain == Domain::Audio
            && pin.role == PinRole::Output
            && self.model().part(pin.part).kind == PartKind::Device
    }

    fn found(&self, output: PinId, joined: Joined) -> JoinedOutputs {
        let wires = |pin| self.connectivity.wires_on(pin).first().copied();
        let wire = wires(joined.pin()).or_else(|| wires(output));
        JoinedOutputs { output, joined, wire, swapped_input: None, belongs: None }
    }

    fn sound(&self) -> Vec<JoinedOutputs> {
        let mut found: Vec<JoinedOutputs> = Vec::new();
        for net in self.nets.iter() {
            let outputs: Vec<PinId> = net.iter().copied().filter(|pin| self.gives_sound(*pin)).collect();
            for pair in outputs.windows(2) {
                let mut joined = self.found(pair[0], Joined::Sound(pair[1]));
                joined.belongs = self.belongs(net, [pair[0], pair[1]]);
                let swapped = pair.iter().find_map(|output| Some((*output, self.swapped_input(*output)?)));
                joined.swapped_input = swapped.map(|(_, input)| input);
                // One finding for an amplifier whose sides are exchanged.
                let part = |one: &JoinedOutputs| one.swapped_input.map(|input| self.model().pin(input).part);
                if joined.swapped_input.is_none() || !found.iter().any(|other| part(other) == part(&joined)) {
                    found.push(joined);
                }
            }
        }
        found
    }

    /// The wire from one of two outputs to a part with a free input of sound, and that input. The later wire first.
    fn belongs(&self, net: &[PinId], outputs: [PinId; 2]) -> Option<(WireId, PinId, PinId)> {
        let mut wires: Vec<WireId> = net.iter().flat_map(|pin| self.connectivity.wires_on(*pin)).copied().collect();
        wires.sort();
        wires.dedup();
        for wire in wires.into_iter().rev() {
            let [one, other] = self.model().wire(wire).ends;
            let far = [(one, other), (other, one)].into_iter().filter(|(near, _)| outputs.contains(near));
            let found = far.filter_map(|(_, far)| Some((wire, far, self.free_beside(far)?))).next();
            if found.is_some() {
                return found;
            }
        }
        None
    }

    /// A free input of sound on the part of a pin; not of the side that is taken.
    fn free_beside(&self, taken: PinId) -> Option<PinId> {
        let model = self.model();
        let taken = model.pin(taken);
        let is_other = |side: Option<Side>| taken.role != PinRole::Input || side != taken.side || side.is_none();
        let is_free = |pin: &PinId| {
            let this = model.pin(*pin);
            let is_input = this.domain == Domain::Audio && this.role == PinRole::Input;
            is_input && is_other(this.side) && !self.connectivity.is_joined(*pin)
        };
        model.part(taken.part).pins.iter().copied().find(is_free)
    }

    /// The input of the path that ends at an output, if that input is wired but no sound comes to it.
    fn swapped_input(&self, output: PinId) -> Option<PinId> {
        let model = self.model();
        let elements = model.part(model.pin(output).part).elements.iter();
        let inputs = elements.filter_map(|id| match model.element(*id).kind {
            ElementKind::Passes { from, to, .. } if to == output => Some(from),
            _ => None,
        });
        let is_swapped = |input: &PinId| self.connectivity.is_joined(*input) && !has_sound(self.connectivity, *input);
        inputs.into_iter().find(is_swapped)
    }

    /// Loudspeakers between two channels.
    fn across(&self) -> Vec<JoinedOutputs> {
        let model = self.model();
        let channel = |pin: PinId| {
            let ends = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Passes { to, .. } if to == pin);
            self.gives_sound(pin) && model.part(model.pin(pin).part).elements.iter().any(ends)
        };
        let mut found = Vec::new();
        for element in &model.elements {
            let ElementKind::Resistor { between, .. } = element.kind else { continue };
            if between.iter().all(|pin| model.pin(*pin).domain == Domain::Audio) {
                // On a return that goes to ground, the ground is what the output meets.
                let grounded = |pin: PinId| self.connectivity.has_ground(self.nets.with(pin));
                if between.iter().any(|pin| grounded(*pin)) {
                    continue;
                }
                let [plus, minus] = between.map(|pin| self.nets.with(pin).iter().copied().find(|pin| channel(*pin)));
                // A channel whose − never goes to ground says itself where its loudspeaker belongs.
                let has_minus = |pin: PinId| model.pins.iter().any(|other| other.minus_of == Some(pin));
                let pair = plus.zip(minus).filter(|(plus, minus)| plus != minus);
                let pair = pair.filter(|(plus, minus)| !has_minus(*plus) || !has_minus(*minus));
                found.extend(pair.map(|(plus, minus)| self.found(plus, Joined::Across(minus))));
            }
        }
        found
    }

    fn converters(&self) -> Vec<JoinedOutputs> {
        let model = self.model();
        let mut found = Vec::new();
        for (i, element) in model.elements.iter().enumerate() {
            let ElementKind::Converter { input, output, .. } = element.kind else { continue };
            let own = ElementId(i);
            let reached = self.connectivity.reached_by(output, Towards::Supply, &|other, _| {
                other != own && !matches!(model.element(other).kind, ElementKind::Converter { .. })
            });
            let other = |id: &ElementKind| match id {
                ElementKind::Converter { output: other, .. } => {
                    (*other > output && reached.contains(other)).then_some(*other)
                }
                _ => None,
            };
            if let Some(other) = model.elements.iter().find_map(|element| other(&element.kind)) {
                found.push(self.found(output, Joined::Converter(other)));
                continue;
            }
            // A charger fills a battery that does not feed it.
            let before = self.connectivity.reached_beside(input, Towards::Supply, Some(own));
            let source = |pin: &PinId| self.battery_of(*pin);
            let feeding: Vec<PinId> = before.iter().filter_map(source).collect();
            let feed =
                reached.iter().copied().find(|pin| source(pin).is_some_and(|battery| feeding.contains(&battery)));
            if let Some(feed) = feed {
                let wire = self.brings(output, input);
                found.push(JoinedOutputs { wire, ..self.found(output, Joined::Feed(feed)) });
            }
        }
        found
    }

    /// The wire that brings a feed to a converter's output: the one on another pin of its net that a supply leads to, or
    /// the first on the output if its own input is on that net.
    fn brings(&self, output: PinId, input: PinId) -> Option<WireId> {
        let net = self.nets.with(output);
        let on_output = || self.connectivity.wires_on(output).first().copied();
        if net.contains(&input) {
            return on_output();
        }
        let model = self.model();
        let is_fed = |pin: &PinId| {
            let far = model.part(model.pin(*pin).part).pins.iter().filter(|far| !net.contains(far));
            let behind = |far: &PinId| {
                let may = |_, pins: [PinId; 2]| !pins.iter().any(|end| net.contains(end));
                self.connectivity.reached_by(*far, Towards::Supply, &may)
            };
            let mut behind = far.flat_map(behind).chain([*pin]);
            behind.any(|pin| self.battery_of(pin).is_some())
        };
        let of_others = net.iter().filter(|pin| model.pin(**pin).part != model.pin(output).part);
        let wire = |pin: &PinId| self.connectivity.wires_on(*pin).first().copied();
        of_others.filter(|pin| is_fed(pin)).find_map(wire).or_else(on_output)
    }

    /// The battery behind a supply or a live wire of the vehicle.
    fn battery_of(&self, pin: PinId) -> Option<PinId> {
        let model = self.model();
        let mut at = pin;
        for _ in 0..model.parts.len() {
            let elements = model.part(model.pin(at).part).elements.iter().map(|id| &model.element(*id).kind);
            let next = elements.into_iter().find_map(|kind| match kind {
                ElementKind::Battery { plus, .. } if *plus == at => Some((at, true)),
                ElementKind::Derived { from, pin, .. } if *pin == at => Some((*from, false)),
                ElementKind::Feed(feed) if feed.pin == at => Some((feed.from?, false)),
                _ => None,
            });
            match next? {
                (battery, true) => return Some(battery),
                (from, false) => at = from,
            }
        }
        None
    }
}

/// Whether sound comes to a pin: from an output on its net, or over contacts.
pub fn has_sound(connectivity: &Connectivity, pin: PinId) -> bool {
    let model = connectivity.model();
    let gives = |pin: &PinId| {
        let pin = model.pin(*pin);
        pin.domain == Domain::Audio && pin.role == PinRole::Output
    };
    // Not through a loudspeaker, whose return it may share with others.
    let may = |id: ElementId, _| !matches!(model.element(id).kind, ElementKind::Resistor { .. });
    connectivity.reached_by(pin, Towards::Supply, &may).iter().any(gives)
}
