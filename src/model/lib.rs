//! The resolved harness: parts, pins, wires, places, every name looked up and every default filled in.
//!
//! What a [`Model`] may not contain: unit text, dangling names, defaults still open. A wire whose end names no pin of
//! its part is kept apart in [`Model::loose`]; no later stage has to look for it. Everything refers to everything by
//! index, in the order of the spec, so that all output follows the spec's order.

pub mod bundle;
pub mod conductor;
mod contacts;
mod halves;
mod intent;
mod job;
mod loose;
mod mixed;
pub mod parts;
mod paths;
mod rating;
mod resolve;
mod shields;
pub mod tails;
mod vehicle_fuse;
mod wiring;

pub use contacts::end_contacts;
pub use halves::{Half, half};
pub use intent::*;
pub use job::*;
pub use loose::LooseWire;
pub use mixed::{found_again, is_signal, is_terminal, joined_pins, mixed_nets, without_wires};
pub use parts::*;
pub use paths::{ElementPath, Passage};
pub use rating::rate;
pub use resolve::{Unreadable, resolve};
pub use shields::*;
pub use vehicle_fuse::{ASSUMED_FUSE, VehicleFuse};
pub use wiring::*;

use form::{Name, Sources};
use quantity::{AmpHours, Amps, Exponent, Gauge};
use std::collections::BTreeSet;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),+ $(,)?) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub usize);
    )+};
}

ids!(
    /// Index into [`Model::places`].
    PlaceId,
    /// Index into [`Model::runs`].
    RunId,
    /// Index into [`Model::parts`].
    PartId,
    /// Index into [`Model::pins`].
    PinId,
    /// Index into [`Model::wires`].
    WireId,
    /// Index into [`Model::inputs`].
    InputId,
    /// Index into [`Model::signals`].
    SignalId,
    /// Index into [`Model::elements`].
    ElementId,
    /// Index into [`Model::screens`].
    ScreenId,
    /// Index into [`Model::works`].
    WorksId,
);

/// The whole harness.
///
/// `G` is the type of a wire's conductor size. It is [`Gauge`] in every room from `size` on, and `Option<Gauge>` in a
/// [`Draft`], where the sizes that the spec leaves open are still absent.
#[derive(Debug, Clone)]
pub struct Model<G = Gauge> {
    /// What job it is.
    pub job: JobDetails,
    /// Limits, all filled in.
    pub limits: Limits,
    /// Spots in the vehicle.
    pub places: Vec<Name>,
    /// Stretches of harness between them.
    pub runs: Vec<Run>,
    /// Every part; supplies, inputs' feeds, grounds, splices and connectors are parts too.
    pub parts: Vec<Part>,
    /// Every pin.
    pub pins: Vec<Pin>,
    /// Every wire with two good ends.
    pub wires: Vec<Wire<G>>,
    /// Wires with an end that names no pin of its part.
    pub loose: Vec<LooseWire>,
    /// Cavities that meet when connectors are mated.
    pub joints: Vec<Joint>,
    /// What is inside the parts.
    pub elements: Vec<Element>,
    /// The booleans of the circuit: relays, trigger inputs, timers, working loads.
    pub signals: Vec<Signal>,
    /// What the driver and the vehicle do.
    pub inputs: Vec<Input>,
    /// The screens.
    pub screens: Vec<Screen>,
    /// When parts should work.
    pub works: Vec<WorksPromise>,
    /// Scripts for the timeline.
    pub drives: Vec<Drive>,
    /// Kinds of part of the catalogue that are made to switch pictures.
    pub picture_switches: Vec<Name>,
    /// Findings accepted on purpose.
    pub accepted: Vec<Accepted>,
    /// The texts that it was read from, for messages.
    pub sources: Sources,
}

/// A resolved harness before sizing: a wire has a gauge where the spec gives one.
pub type Draft = Model<Option<Gauge>>;

/// The supply's own figures that are not part of its circuit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SupplyFigures {
    /// Highest current to be taken.
    pub limit: Option<Amps>,
    /// Rating of the vehicle's own fuse.
    pub fuse: Option<Amps>,
    /// Capacity of the battery, at the 20-hour rate.
    pub capacity: Option<AmpHours>,
    /// Peukert's exponent of the battery.
    pub peukert: Option<Exponent>,
    /// What the alternator adds.
    pub alternator: Option<Amps>,
}

impl<G> Model<G> {
    /// The same harness with a conductor size for every wire.
    pub fn with_gauges<H>(self, mut gauge: impl FnMut(&Wire<G>) -> H) -> Model<H> {
        let wires = self.wires.into_iter().map(|wire| {
            let gauge = gauge(&wire);
            wire.with_gauge(gauge)
        });
        Model {
            wires: wires.collect(),
            job: self.job,
            limits: self.limits,
            places: self.places,
            runs: self.runs,
            parts: self.parts,
            pins: self.pins,
            loose: self.loose,
            joints: self.joints,
            elements: self.elements,
            signals: self.signals,
            inputs: self.inputs,
            screens: self.screens,
            works: self.works,
            drives: self.drives,
            picture_switches: self.picture_switches,
            accepted: self.accepted,
            sources: self.sources,
        }
    }
    /// A part by id.
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.0]
    }
    /// A pin by id.
    pub fn pin(&self, id: PinId) -> &Pin {
        &self.pins[id.0]
    }
    /// A wire by id.
    pub fn wire(&self, id: WireId) -> &Wire<G> {
        &self.wires[id.0]
    }
    /// An element by id.
    pub fn element(&self, id: ElementId) -> &Element {
        &self.elements[id.0]
    }
    /// The coil that an element is, if it is one.
    pub fn coil(&self, id: ElementId) -> Option<&Coil> {
        match &self.element(id).kind {
            ElementKind::Coil(coil) => Some(coil),
            _ => None,
        }
    }
    /// Every coil.
    pub fn coils(&self) -> impl Iterator<Item = (ElementId, &Coil)> {
        (0..self.elements.len()).map(ElementId).filter_map(|id| Some((id, self.coil(id)?)))
    }
    /// A pin as people write it: `K1.87`, or the bare name of a supply, feed, splice or ground.
    pub fn pin_name(&self, id: PinId) -> String {
        let pin = self.pin(id);
        let part = self.part(pin.part);
        if part.kind.one_pin() { part.name.to_string() } else { format!("{}.{}", part.name, pin.name) }
    }
    /// A wire with its ends: `wire 12 (K1.86 – SA)`.
    pub fn wire_words(&self, id: WireId) -> String {
        let [from, to] = self.wire(id).ends.map(|pin| self.pin_name(pin));
        format!("wire {} ({from} – {to})", self.wire(id).id)
    }
    /// Every part's id.
    pub fn part_ids(&self) -> impl Iterator<Item = PartId> + use<G> {
        (0..self.parts.len()).map(PartId)
    }
    /// Every pin's id.
    pub fn pin_ids(&self) -> impl Iterator<Item = PinId> + use<G> {
        (0..self.pins.len()).map(PinId)
    }
    /// Every wire's id.
    pub fn wire_ids(&self) -> impl Iterator<Item = WireId> + use<G> {
        (0..self.wires.len()).map(WireId)
    }
    /// The wires on a pin, in the order of the spec.
    pub fn wires_on(&self, pin: PinId) -> impl Iterator<Item = WireId> + '_ {
        self.wire_ids().filter(move |&w| self.wire(w).ends.contains(&pin))
    }
    /// A part by name.
    pub fn part_named(&self, name: &str) -> Option<PartId> {
        self.parts.iter().position(|p| p.name.as_str() == name).map(PartId)
    }
    /// A pin of a part by name.
    pub fn pin_named(&self, part: PartId, name: &str) -> Option<PinId> {
        self.part(part).pins.iter().copied().find(|&p| self.pin(p).name.as_str() == name)
    }
    /// When a supply is live: while its own condition holds, and those of all the supplies that feed it.
    pub fn live(&self, supply: PinId) -> StateCondition {
        let fed_from = |at: PinId| {
            let elements = self.part(self.pin(at).part).elements.iter();
            elements.map(|id| &self.element(*id).kind).find_map(|kind| match kind {
                ElementKind::Derived { from, pin, when, .. } if *pin == at => Some((*from, when)),
                _ => None,
            })
        };
        let (mut terms, mut at) = (Vec::new(), supply);
        let mut seen = BTreeSet::new();
        while let Some((from, when)) = fed_from(at).filter(|_| seen.insert(at)) {
            terms.extend(Some(when).filter(|when| !matches!(when, StateCondition::Always(true))).cloned());
            at = from;
        }
        match terms.len() {
            0 => StateCondition::Always(true),
            1 => terms.remove(0),
            _ => StateCondition::All(terms),
        }
    }
    /// A name of a place, `—` where none is known.
    pub fn place_name(&self, place: Option<PlaceId>) -> &str {
        place.map_or("—", |p| self.places[p.0].as_str())
    }
}
