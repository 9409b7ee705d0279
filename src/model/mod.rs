//! The resolved harness: parts, pins, wires, places, every name looked up and every default filled in.
//!
//! What a [`Model`] may not contain: unit text, dangling names, defaults still open. A wire whose end names no pin of
//! its part is kept apart in [`Model::loose`]; no later stage has to look for it. Everything refers to everything by
//! index, in the order of the spec, so that all output follows the spec's order.

pub mod bundle;
pub mod conductor;
mod loose;
pub mod parts;
mod resolve;

pub use loose::LooseWire;
pub use parts::*;
pub use resolve::{Unreadable, resolve};

use crate::form::{Colour, Name, Place, Sources};
use crate::quantity::{AmpHours, Amps, Celsius, Gauge, Metres, PerMinute, Seconds, Share, Span, Volts, Watts};
use crate::spec::{Covering, InputKind, SupplyStep, Surroundings, WireMake};

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
);

/// The whole harness.
#[derive(Debug, Clone)]
pub struct Model {
    /// What job it is.
    pub job: Job,
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
    pub wires: Vec<Wire>,
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
    /// Scripts for the timeline.
    pub drives: Vec<Drive>,
    /// Findings taken on purpose.
    pub accepted: Vec<Accepted>,
    /// The texts that it was read from, for messages.
    pub sources: Sources,
}

/// What job it is.
#[derive(Debug, Clone)]
pub struct Job {
    /// Title.
    pub title: String,
    /// Revision; `-` where none is given.
    pub revision: String,
    /// Nominal voltage.
    pub nominal: Volts,
    /// A note for the first page.
    pub note: Option<String>,
    /// Where the job stands in the spec.
    pub place: Place,
}

/// Limits, all filled in. See [`crate::spec::LimitsForm`] for what each means.
#[derive(Debug, Clone)]
pub struct Limits {
    /// Greatest drop to a load and back, as a share of nominal.
    pub drop: Share,
    /// Greatest share of a fuse's rating for long.
    pub fuse_load: Share,
    /// Copper temperature of the hot corner.
    pub hot: Celsius,
    /// Unwanted voltage that counts.
    pub sneak_voltage: Volts,
    /// Unwanted current that counts.
    pub sneak_current: Amps,
    /// Greatest key-off current.
    pub key_off: Amps,
    /// Ground lift that disturbs a picture.
    pub video_lift: Volts,
    /// Added to each cut length.
    pub cut_allowance: Share,
    /// Added to each end.
    pub end_allowance: Metres,
    /// Smallest conductor.
    pub thinnest: Gauge,
    /// Length of a wire within one place.
    pub local_length: Metres,
}

/// A stretch of harness.
#[derive(Debug, Clone)]
pub struct Run {
    /// Its ends.
    pub ends: [PlaceId; 2],
    /// Its length.
    pub length: Metres,
    /// How far off the length may be.
    pub tolerance: Metres,
    /// What it runs in.
    pub surroundings: Surroundings,
    /// What covers it.
    pub covering: Covering,
    /// Distance between clips.
    pub clips: Option<Metres>,
    /// Where it stands in the spec.
    pub place: Place,
}

/// A wire with two good ends.
#[derive(Debug, Clone)]
pub struct Wire {
    /// Number or name.
    pub id: Name,
    /// From and to.
    pub ends: [PinId; 2],
    /// Conductor size: given, or the smallest the shop builds with until sizing chooses.
    pub gauge: Gauge,
    /// Whether the spec gives the size.
    pub gauge_given: bool,
    /// Insulation colour.
    pub colour: Option<Colour>,
    /// Length between its ends; `None` where neither the spec nor the runs tell.
    pub length: Option<Metres>,
    /// The runs it goes through, from its first end to its second.
    pub path: Vec<RunId>,
    /// How it is made.
    pub make: WireMake,
    /// What it carries: the spec's words, else what its pins are.
    pub signal: String,
    /// The kind of signal.
    pub domain: Domain,
    /// In the vehicle before.
    pub existing: bool,
    /// Note for the bench.
    pub note: Option<String>,
    /// Where the wire stands in the spec (its id).
    pub place: Place,
    /// Where its two ends stand.
    pub end_places: [Place; 2],
    /// Where its gauge stands.
    pub gauge_place: Option<Place>,
    /// Where its colour stands.
    pub colour_place: Option<Place>,
}

/// Two pins that meet without a wire: mated cavities, or a cavity on a part's own pin.
#[derive(Debug, Clone)]
pub struct Joint {
    /// The pins.
    pub pins: [PinId; 2],
    /// Contact resistance.
    pub resistance: crate::quantity::Ohms,
}

/// Something that the driver or the vehicle does.
#[derive(Debug, Clone)]
pub struct Input {
    /// Its name.
    pub name: Name,
    /// Words for people; its name where the spec gives none.
    pub title: String,
    /// Its kind; `None` where it has positions but no wire.
    pub kind: Option<InputKind>,
    /// Its positions, the one at rest first; at least two.
    pub positions: Vec<Name>,
    /// The switch that it moves.
    pub switch: Option<PartId>,
    /// The pin where its wire is taken.
    pub pin: Option<PinId>,
    /// Greatest current to be taken.
    pub limit: Option<Amps>,
    /// Allowed flash rates, of a flasher feed.
    pub flash: Option<Span<PerMinute>>,
    /// Allowed on-time shares: of a flash, or of pulse-width driving.
    pub duty: Option<Span<Share>>,
    /// Vehicle's own lamps on the feed.
    pub lamps: Option<Watts>,
    /// What must hold for it to leave its rest position.
    pub needs: Option<Logic>,
    /// Inputs that can't be away from rest at the same time.
    pub excludes: Vec<InputId>,
    /// Springs back by itself.
    pub momentary: bool,
    /// Where it stands in the spec.
    pub place: Place,
}

/// A screen and what it should show.
#[derive(Debug, Clone)]
pub struct Screen {
    /// Its name.
    pub name: Name,
    /// The part.
    pub part: PartId,
    /// By its trigger pins, first match wins: the video pin that it shows.
    pub shows: Vec<Show>,
    /// What it shows when no trigger is on.
    pub otherwise: crate::catalogue::form::Idle,
    /// Time to change its input.
    pub switch_over: Seconds,
    /// Behaviour without a picture.
    pub on_loss: crate::catalogue::form::OnLoss,
    /// Whether the driver sees it while driving.
    pub driver_sees: bool,
    /// The intent, first match wins; may be empty.
    pub views: Vec<View>,
    /// Where it stands in the spec.
    pub place: Place,
}

/// One line of a screen's own rule.
#[derive(Debug, Clone)]
pub struct Show {
    /// Its trigger pins.
    pub when: Logic,
    /// As written.
    pub text: String,
    /// The video pin.
    pub input: PinId,
}

/// One line of the intent.
#[derive(Debug, Clone)]
pub struct View {
    /// When it counts.
    pub when: Logic,
    /// The condition as written; `otherwise` for the last.
    pub text: String,
    /// What should be shown.
    pub show: Shown,
    /// How soon.
    pub within: Option<Seconds>,
    /// Must not blink.
    pub steady: bool,
    /// Where it stands in the spec.
    pub place: Place,
}

/// What a screen shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Shown {
    /// The picture of a camera or another source.
    Source(PartId),
    /// The screen's home page.
    Home,
    /// No picture.
    Black,
    /// Whatever it likes.
    Any,
}

/// A script for the timeline.
#[derive(Debug, Clone)]
pub struct Drive {
    /// Its name.
    pub name: Name,
    /// Its steps, by time.
    pub steps: Vec<Step>,
    /// Where it stands in the spec.
    pub place: Place,
}

/// One step of a drive.
#[derive(Debug, Clone)]
pub struct Step {
    /// When, from the start.
    pub at: Seconds,
    /// Inputs and what they are put to.
    pub changes: Vec<(InputId, usize)>,
    /// Flash rate and on-time share from here on; what is not given is the middle of what is allowed.
    pub flash: Option<(Option<PerMinute>, Option<Share>)>,
    /// What the supplies are at from here on.
    pub supply: Option<SupplyStep>,
    /// Screens and what they are expected to show, with the place where that is written.
    pub expect: Vec<(ScreenId, Shown, Place)>,
    /// Where it stands in the spec.
    pub place: Place,
}

/// A finding taken on purpose.
#[derive(Debug, Clone)]
pub struct Accepted {
    /// The rule's name.
    pub rule: String,
    /// What it is about.
    pub on: String,
    /// Why.
    pub because: String,
    /// Where it stands in the spec.
    pub place: Place,
}

/// A resolved condition.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Logic {
    /// Always or never.
    Always(bool),
    /// An input is in a position.
    InputIs(InputId, usize),
    /// A signal is on.
    Signal(SignalId),
    /// Not.
    Not(Box<Logic>),
    /// All of them.
    All(Vec<Logic>),
    /// Any of them.
    Any(Vec<Logic>),
}

impl Logic {
    /// Its value, given positions of inputs and the signals that are on.
    pub fn holds(&self, position: &impl Fn(InputId) -> usize, on: &impl Fn(SignalId) -> bool) -> bool {
        match self {
            Logic::Always(value) => *value,
            Logic::InputIs(input, at) => position(*input) == *at,
            Logic::Signal(signal) => on(*signal),
            Logic::Not(inner) => !inner.holds(position, on),
            Logic::All(terms) => terms.iter().all(|t| t.holds(position, on)),
            Logic::Any(terms) => terms.iter().any(|t| t.holds(position, on)),
        }
    }

    /// Calls `f` with every leaf.
    pub fn leaves(&self, f: &mut impl FnMut(&Logic)) {
        match self {
            Logic::Not(inner) => inner.leaves(f),
            Logic::All(terms) | Logic::Any(terms) => terms.iter().for_each(|t| t.leaves(f)),
            leaf => f(leaf),
        }
    }
}

/// The supply's own figures that are not part of its circuit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SupplyFigures {
    /// Greatest current to be taken.
    pub limit: Option<Amps>,
    /// Capacity of the battery.
    pub capacity: Option<AmpHours>,
    /// What the alternator adds.
    pub alternator: Option<Amps>,
}

impl Model {
    /// A part by id.
    pub fn part(&self, id: PartId) -> &Part {
        &self.parts[id.0]
    }
    /// A pin by id.
    pub fn pin(&self, id: PinId) -> &Pin {
        &self.pins[id.0]
    }
    /// A wire by id.
    pub fn wire(&self, id: WireId) -> &Wire {
        &self.wires[id.0]
    }
    /// An element by id.
    pub fn element(&self, id: ElementId) -> &Element {
        &self.elements[id.0]
    }
    /// A pin as people write it: `K1.87`, or the bare name of a supply, feed, splice or ground.
    pub fn pin_name(&self, id: PinId) -> String {
        let pin = self.pin(id);
        let part = self.part(pin.part);
        if part.kind.one_pin() { part.name.to_string() } else { format!("{}.{}", part.name, pin.name) }
    }
    /// Every part's id.
    pub fn part_ids(&self) -> impl Iterator<Item = PartId> + use<> {
        (0..self.parts.len()).map(PartId)
    }
    /// Every pin's id.
    pub fn pin_ids(&self) -> impl Iterator<Item = PinId> + use<> {
        (0..self.pins.len()).map(PinId)
    }
    /// Every wire's id.
    pub fn wire_ids(&self) -> impl Iterator<Item = WireId> + use<> {
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
    /// A name of a place, `—` where none is known.
    pub fn place_name(&self, place: Option<PlaceId>) -> &str {
        place.map_or("—", |p| self.places[p.0].as_str())
    }
}
