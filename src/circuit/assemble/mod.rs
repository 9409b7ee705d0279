//! From the harness to its circuit.

mod elements;
mod shields;

use super::circuit::{ActorRule, Circuit, CircuitInput, Law, Senses};
use super::ids::{ActorId, BranchId, InputId, NodeId, position};
use super::logic::Logic;
use catalogue::part_form::{Acts, LoadKind, TimerKind};
use model::{
    Domain, ElementId, ElementKind, Model, PartId, PinId, SignalId, SignalKind, StateCondition, WireId, conductor,
    end_contacts,
};
use quantity::{Celsius, Volts};

/// A load whose kind gives no lowest voltage counts as working from this share of its nominal voltage, 9 V of 12 V
/// (common practice, no source).
pub const USUAL_LEAST_SHARE: f64 = 0.75;

/// A converter that has started keeps working down to this share of its lowest voltage (typical).
pub const CONVERTER_KEEPS_SHARE: f64 = 0.95;

/// A circuit, and the nodes and branches that belong to each pin, wire and element of the harness.
#[derive(Debug, Clone)]
pub struct Assembly {
    /// The circuit.
    pub circuit: Circuit,
    pins: Vec<Option<NodeId>>,
    wires: Vec<Option<BranchId>>,
    joints: Vec<Option<BranchId>>,
    elements: Vec<Vec<BranchId>>,
    signals: Vec<Logic>,
    actors: Vec<Option<ActorId>>,
    coils: Vec<Option<ActorId>>,
    shields: Vec<Option<BranchId>>,
    shield_contacts: Vec<BranchId>,
    shield_spots: Vec<(NodeId, PinId)>,
}

/// Builds the circuit of a harness: power, ground and trigger pins, what is inside parts between them, wires, mated
/// contacts, shields. Pictures, sound and data have no circuit, except where they meet a feed, a trigger or a ground.
pub fn assemble(model: &Model) -> Assembly {
    let mut builder = Builder { model, out: Assembly::empty(model) };
    builder.inputs();
    builder.pins();
    builder.actors();
    builder.wires();
    for id in 0..model.elements.len() {
        builder.element(ElementId(id));
    }
    builder.shields();
    builder.out
}

impl Assembly {
    fn empty(model: &Model) -> Self {
        let mut circuit = Circuit::new();
        circuit.hot = model.limits.hot;
        Assembly {
            circuit,
            pins: vec![None; model.pins.len()],
            wires: vec![None; model.wires.len()],
            joints: vec![None; model.joints.len()],
            elements: vec![vec![]; model.elements.len()],
            signals: vec![Logic::Never; model.signals.len()],
            actors: vec![None; model.signals.len()],
            coils: vec![None; model.elements.len()],
            shields: vec![None; model.wires.len()],
            shield_contacts: vec![],
            shield_spots: vec![],
        }
    }

    /// The node of a pin; `None` for pictures, sound and data.
    pub fn pin(&self, pin: PinId) -> Option<NodeId> {
        self.pins[pin.0]
    }

    /// The branch of a wire, counted from its first end to its second; `None` for pictures, sound and data.
    pub fn wire(&self, wire: WireId) -> Option<BranchId> {
        self.wires[wire.0]
    }

    /// The branch of a coaxial cable's shield, counted as its wire; `None` for other wires.
    pub fn shield(&self, wire: WireId) -> Option<BranchId> {
        self.shields[wire.0]
    }

    /// The branches where the shields of two cables meet in a connector.
    pub fn shield_contacts(&self) -> &[BranchId] {
        &self.shield_contacts
    }

    /// The nodes of shields that are no pin, each with a pin whose cable's shield it is.
    pub fn shield_spots(&self) -> &[(NodeId, PinId)] {
        &self.shield_spots
    }

    /// The branch of a mated contact, by its place in [`Model::joints`].
    pub fn joint(&self, joint: usize) -> Option<BranchId> {
        self.joints[joint]
    }

    /// The branches of an element, the main one first: a coil before the part across it, a supply before its other
    /// loads, a feed before its leakage and the vehicle's lamps, a converter's output before its input, the made side
    /// of a contact before its rest side.
    pub fn element(&self, element: ElementId) -> &[BranchId] {
        &self.elements[element.0]
    }

    /// When a signal is on.
    pub fn signal(&self, signal: SignalId) -> &Logic {
        &self.signals[signal.0]
    }

    /// The actor of a signal; `None` if the signal follows from others.
    pub fn actor(&self, signal: SignalId) -> Option<ActorId> {
        self.actors[signal.0]
    }

    /// The actor that is on while a coil has its pull-in voltage.
    pub fn coil(&self, element: ElementId) -> Option<ActorId> {
        self.coils[element.0]
    }

    /// The input of the circuit. Inputs have the order of the model.
    pub fn input(&self, input: model::InputId) -> InputId {
        InputId(input.0 as u32)
    }

    /// A condition of the harness in the circuit's terms.
    pub fn logic(&self, condition: &StateCondition) -> Logic {
        let all = |terms: &[StateCondition]| terms.iter().map(|term| self.logic(term)).collect();
        match condition {
            StateCondition::Always(true) => Logic::Always,
            StateCondition::Always(false) => Logic::Never,
            StateCondition::InputIs(input, at) => Logic::At(self.input(*input), position(*at)),
            StateCondition::Signal(signal) => self.signals[signal.0].clone(),
            StateCondition::Not(inner) => self.logic(inner).negated(),
            StateCondition::All(terms) => Logic::All(all(terms)),
            StateCondition::Any(terms) => Logic::Any(all(terms)),
        }
    }
}

struct Builder<'m> {
    model: &'m Model,
    out: Assembly,
}

impl Builder<'_> {
    fn inputs(&mut self) {
        for input in &self.model.inputs {
            self.out.circuit.inputs.push(CircuitInput {
                name: input.name.to_string(),
                positions: input.positions.iter().map(ToString::to_string).collect(),
                momentary: input.momentary,
                needs: input.needs.as_ref().map_or(Logic::Always, |needs| self.out.logic(needs)),
                excludes: input.excludes.iter().map(|other| self.out.input(*other)).collect(),
            });
        }
    }

    fn pins(&mut self) {
        let mut mixed = vec![false; self.model.pins.len()];
        model::mixed_nets(self.model).into_iter().flatten().for_each(|pin| mixed[pin.0] = true);
        for id in self.model.pin_ids() {
            let carries_power = matches!(self.model.pin(id).domain, Domain::Power | Domain::Ground | Domain::Trigger);
            if carries_power || mixed[id.0] {
                self.out.pins[id.0] = Some(self.out.circuit.node(self.model.pin_name(id)));
            }
        }
    }

    /// The node of a pin of an element; a pin of pictures, sound or data gets its node here.
    fn node(&mut self, pin: PinId) -> NodeId {
        let circuit = &mut self.out.circuit;
        *self.out.pins[pin.0].get_or_insert_with(|| circuit.node(self.model.pin_name(pin)))
    }

    fn threshold(&mut self, name: String, feed: PinId, ground: PinId, voltages: [Volts; 2], senses: Senses) -> ActorId {
        let (plus, minus) = (self.node(feed), self.node(ground));
        let [on, off] = voltages;
        self.out.circuit.actor(name, ActorRule::Threshold { plus, minus, on, off, senses })
    }

    /// Gives every signal its actor, then timers and relays their rules, which may name any signal.
    fn actors(&mut self) {
        let starters: Vec<SignalId> = self.converters();
        for (i, signal) in self.model.signals.iter().enumerate() {
            let id = SignalId(i);
            match &signal.kind {
                SignalKind::Sense { pin, ground, on_above, off_below } => {
                    let actor =
                        self.threshold(signal.name.clone(), *pin, *ground, [*on_above, *off_below], Senses::Each);
                    self.is(id, actor);
                }
                SignalKind::Working { feed, ground, least } => {
                    let least = if least.value() > 0.0 { *least } else { self.model.job.nominal * USUAL_LEAST_SHARE };
                    let keeps = if starters.contains(&id) { least * CONVERTER_KEEPS_SHARE } else { least };
                    let senses =
                        if starters.contains(&id) || self.starts_anew(id) { Senses::Least } else { Senses::Mean };
                    let actor = self.threshold(signal.name.clone(), *feed, *ground, [least, keeps], senses);
                    self.is(id, actor);
                }
                SignalKind::Timer { .. } => {
                    let actor = self.out.circuit.actor(signal.name.clone(), ActorRule::Hold { start: Logic::Never });
                    self.is(id, actor);
                }
                SignalKind::Relay { coils, latching } => self.relay(id, coils, *latching),
            }
        }
        for (i, signal) in self.model.signals.iter().enumerate() {
            if let (SignalKind::Timer { kind, from, reset, .. }, Some(actor)) = (&signal.kind, self.out.actors[i]) {
                let start = self.out.logic(from);
                let rule = match kind {
                    TimerKind::Hold => ActorRule::Hold { start },
                    TimerKind::Delay => ActorRule::Delay { start },
                    TimerKind::Pulse => ActorRule::Pulse { start },
                    TimerKind::Toggle => ActorRule::Toggle { start },
                    TimerKind::Latch => {
                        let reset = reset.as_ref().map_or(Logic::Never, |reset| self.out.logic(reset));
                        ActorRule::Latch { set: start, reset }
                    }
                };
                let powered = self.powered(signal.part);
                let actor = &mut self.out.circuit.actors[actor.index()];
                (actor.rule, actor.powered) = (rule, powered);
            }
        }
    }

    fn is(&mut self, signal: SignalId, actor: ActorId) {
        self.out.actors[signal.0] = Some(actor);
        self.out.signals[signal.0] = Logic::On(actor);
    }

    /// Signals that say whether a converter works.
    fn converters(&self) -> Vec<SignalId> {
        let working = self.model.elements.iter().filter_map(|element| match &element.kind {
            ElementKind::Converter { working, .. } => Some(*working),
            _ => None,
        });
        working.collect()
    }

    /// Whether a signal says that electronics have their voltage, which restart with each pulse.
    fn starts_anew(&self, id: SignalId) -> bool {
        self.model.elements.iter().any(|element| match &element.kind {
            ElementKind::Load(load) => {
                load.working == id && matches!(load.kind, LoadKind::Electronic | LoadKind::ConstantPower)
            }
            _ => false,
        })
    }

    /// A module remembers while its load has its lowest voltage; one without a load needs no supply.
    fn powered(&self, part: PartId) -> Logic {
        let elements = self.model.part(part).elements.iter();
        let working = elements.filter_map(|id| match &self.model.element(*id).kind {
            ElementKind::Load(load) => Some(load.working),
            _ => None,
        });
        working.into_iter().next().map_or(Logic::Always, |signal| self.out.signals[signal.0].clone())
    }

    fn relay(&mut self, id: SignalId, coils: &[ElementId], latching: bool) {
        let name = &self.model.signals[id.0].name;
        let (mut holds, mut sets, mut resets, mut toggles) = (vec![], vec![], vec![], vec![]);
        for (n, element) in coils.iter().enumerate() {
            let ElementKind::Coil(coil) = &self.model.element(*element).kind else { continue };
            let name = match (latching, coils.len()) {
                (false, 1) => name.clone(),
                _ => format!("{name} coil {}", n + 1),
            };
            let actor = self.threshold(name, coil.feed, coil.ground, [coil.pull_in, coil.drop_out], Senses::Coil);
            self.out.circuit.actors[actor.index()].tolerance = coil.tolerance;
            self.out.coils[element.0] = Some(actor);
            let list = match coil.acts {
                Acts::Holds => &mut holds,
                Acts::Sets => &mut sets,
                Acts::Resets => &mut resets,
                Acts::Toggles => &mut toggles,
            };
            list.push(Logic::On(actor));
        }
        let any = |mut terms: Vec<Logic>| match terms.len() {
            0 => Logic::Never,
            1 => terms.remove(0),
            _ => Logic::Any(terms),
        };
        if !latching {
            if let [Logic::On(actor)] = holds[..] {
                self.out.actors[id.0] = Some(actor);
            }
            self.out.signals[id.0] = any(holds);
            return;
        }
        let rule = match toggles.is_empty() {
            true => ActorRule::Latch { set: any(sets), reset: any(resets) },
            false => ActorRule::Toggle { start: any(toggles) },
        };
        let actor = self.out.circuit.actor(name.clone(), rule);
        self.is(id, actor);
    }

    fn wires(&mut self) {
        for (i, wire) in self.model.wires.iter().enumerate() {
            if let [Some(from), Some(to)] = wire.ends.map(|end| self.out.pins[end.0]) {
                let length = wire.length.unwrap_or(self.model.limits.local_length);
                let copper = conductor::resistance(wire.gauge, length, Celsius::new(20.0));
                let law = Law::Conductor { ohms: copper + end_contacts(self.model, wire), copper: true };
                self.out.wires[i] = Some(self.out.circuit.branch(format!("wire {}", wire.id), from, to, law));
            }
        }
        for (i, joint) in self.model.joints.iter().enumerate() {
            if let [Some(from), Some(to)] = joint.pins.map(|end| self.out.pins[end.0]) {
                let name = format!("{} in {}", self.model.pin_name(joint.pins[0]), self.model.pin_name(joint.pins[1]));
                self.out.joints[i] = Some(self.out.circuit.resistor(name, from, to, joint.resistance));
            }
        }
    }
}
