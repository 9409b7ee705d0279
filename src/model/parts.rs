//! Parts, pins, and what is inside: the elements that current, pictures and signals go through.

use super::{ElementId, InputId, PartId, PinId, PlaceId, SignalId, StateCondition, SupplyFigures};
use catalogue::part_form::{Across, Acts, ContactRating, LoadKind, PartForm, TimerKind, VideoFormat};
pub use catalogue::part_form::{Domain, Family, Meaning, PinRole, Side};
use form::{Name, Place};
use quantity::{Amps, Ohms, Seconds, Share, Span, Volts, Watts};
use std::sync::Arc;

/// Resistance of a clean ground point, from its stud to the battery's negative (typical, no source).
pub const GROUND_RESISTANCE: Ohms = Ohms::new(0.003);

/// A part.
#[derive(Debug, Clone)]
pub struct Part {
    /// Its name in the spec.
    pub name: Name,
    /// Words for people: the entry's, else the kind's.
    pub title: String,
    /// What sort of thing it is to the harness.
    pub kind: PartKind,
    /// The name of its kind in the catalogue; the terminal number for a supply.
    pub use_name: String,
    /// All that the catalogue says of its kind.
    pub form: Arc<PartForm>,
    /// Where it is.
    pub at: Option<PlaceId>,
    /// Its pins, in the order of its kind.
    pub pins: Vec<PinId>,
    /// What is inside it.
    pub elements: Vec<ElementId>,
    /// Rating of a fuse or breaker; in a draft, the highest of its kind where the spec leaves it open.
    pub rating: Option<Amps>,
    /// Where the spec leaves the rating open: the place of its kind, behind which a chosen rating belongs.
    pub rating_open: Option<Place>,
    /// Formats that it sends, takes or passes.
    pub formats: Vec<VideoFormat>,
    /// Time from power to picture or function.
    pub start_up: Seconds,
    /// Already in the vehicle; not ordered.
    pub existing: bool,
    /// What to order, in the shop's own words.
    pub order: Option<String>,
    /// Note for the bench.
    pub note: Option<String>,
    /// The place of its name in the spec.
    pub place: Place,
}

/// What sort of thing a part is to the harness.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// Bought and mounted: relay, camera, fuse, screen and so on.
    Device,
    /// A supply of the vehicle.
    Supply,
    /// A wire of the vehicle that an input is taken from.
    Feed,
    /// A ground point.
    Ground,
    /// A splice.
    Splice,
    /// A connector half.
    Connector,
}

impl PartKind {
    /// Whether wires name it bare, without a pin.
    pub fn one_pin(self) -> bool {
        matches!(self, PartKind::Supply | PartKind::Feed | PartKind::Ground | PartKind::Splice)
    }
}

/// A pin.
#[derive(Debug, Clone)]
pub struct Pin {
    /// Its part.
    pub part: PartId,
    /// Its name.
    pub name: Name,
    /// Words for drawings; its name where the kind gives none.
    pub title: String,
    /// The kind of signal.
    pub domain: Domain,
    /// What it is to the part.
    pub role: PinRole,
    /// Continuous current limit.
    pub limit: Option<Amps>,
    /// What a standard says it is for.
    pub means: Option<Meaning>,
    /// Whether the part works without a wire here.
    pub optional: bool,
    /// Resistance to the part's ground of a pin of pictures or sound.
    pub impedance: Option<Ohms>,
    /// The side whose sound it carries; `None` for either.
    pub side: Option<Side>,
    /// For the − of a loudspeaker channel, or of an input for one: its + pin.
    pub minus_of: Option<PinId>,
    /// For the output of a loudspeaker channel: the least resistance of the loudspeakers on it.
    pub least_load: Option<Ohms>,
}

/// Something inside a part.
#[derive(Debug, Clone)]
pub struct Element {
    /// The part.
    pub part: PartId,
    /// What it is.
    pub kind: ElementKind,
}

/// What an element is. Currents are positive from the first-named pin to the second.
#[derive(Debug, Clone)]
pub enum ElementKind {
    /// A supply with volts: source between its pin and the battery's negative.
    Battery {
        plus: PinId,
        /// Lowest, nominal, highest.
        volts: [Volts; 3],
        resistance: Ohms,
        figures: SupplyFigures,
    },
    /// A supply fed from another through the vehicle's wiring, while `when` holds.
    Derived {
        from: PinId,
        pin: PinId,
        resistance: Ohms,
        when: StateCondition,
        /// What the vehicle's other loads on it draw at the nominal voltage; 0 for a supply that is never off.
        others: Amps,
        figures: SupplyFigures,
    },
    /// A vehicle's wire that follows an input; see [`VehicleFeed`].
    Feed(VehicleFeed),
    /// A ground point, to the battery's negative.
    GroundPoint {
        pin: PinId,
        /// Of the connection between the ground point and the battery's negative.
        resistance: Ohms,
    },
    /// A resistance or a plain joint.
    Resistor { between: [PinId; 2], resistance: Ohms, tolerance: Share, limit: Option<Watts> },
    /// A fuse or breaker element.
    Fuse { between: [PinId; 2], rating: Amps, resistance: Ohms, tolerance: Share },
    /// A coil.
    Coil(Coil),
    /// A contact of a relay; on its way from one side to the other it is open for at most `transfer`.
    Contact {
        relay: SignalId,
        common: PinId,
        made: Option<PinId>,
        rest: Option<PinId>,
        resistance: Ohms,
        rating: Option<ContactRating>,
        transfer: Seconds,
        mechanical_life: Option<u64>,
        electrical_life: Option<u64>,
    },
    /// A diode; `blocks` is the Zener voltage.
    Diode { anode: PinId, cathode: PinId, knee: Volts, resistance: Ohms, blocks: Option<Volts>, limit: Option<Amps> },
    /// Something that draws current.
    Load(Load),
    /// A trigger input's resistances; its thresholds are in its signal.
    Sense { signal: SignalId, pin: PinId, ground: PinId, resistance: Ohms, pull_up: Option<(PinId, Ohms)> },
    /// What a pin of pictures or sound is to direct current. Only pins that meet a feed, a trigger or a ground have
    /// one: elsewhere pictures and sound have no circuit.
    Port { pin: PinId, ground: PinId, resistance: Ohms },
    /// One throw of a switch: closed while the input is in a position.
    Throw {
        input: Option<InputId>,
        /// Closed when this holds; never, where no input moves the switch.
        when: StateCondition,
        common: PinId,
        throw: PinId,
        resistance: Ohms,
        rating: Option<Amps>,
        bounce: Seconds,
    },
    /// A semiconductor output between a supply pin and its pin (high side), or its pin and ground (low side).
    Output {
        pin: PinId,
        /// The feed of a high-side output, the ground of a low-side one.
        other: PinId,
        high_side: bool,
        when: StateCondition,
        resistance: Ohms,
        limit: Option<Amps>,
        leakage: Amps,
    },
    /// A DC converter.
    Converter {
        input: PinId,
        output: PinId,
        ground: PinId,
        volts: Volts,
        least: Volts,
        efficiency: Share,
        limit: Amps,
        idle: Amps,
        resistance: Ohms,
        /// Of `volts`.
        tolerance: Share,
        /// On while its input is high enough.
        working: SignalId,
        /// What else it needs to work.
        when: StateCondition,
    },
    /// A path for pictures, sound or data while `when` holds.
    Passes { from: PinId, to: PinId, when: StateCondition },
    /// A picture or a sound starts here while `when` holds.
    Source { pin: PinId, when: StateCondition },
}

/// A vehicle's wire that follows an input.
#[derive(Debug, Clone)]
pub struct VehicleFeed {
    /// The input.
    pub input: InputId,
    /// The pin where it is tapped.
    pub pin: PinId,
    /// The supply's pin, for a feed that is live when on; `None` for a feed that goes to ground.
    pub from: Option<PinId>,
    /// Resistance of the vehicle's wiring.
    pub resistance: Ohms,
    /// Live (or grounded) while this holds.
    pub when: StateCondition,
    /// Vehicle's own lamps: from the pin to ground, or, for a feed that goes to ground, from `lamps_from` to the pin.
    pub lamps: Option<Watts>,
    /// The supply pin that feeds the lamps of a wire that goes to ground.
    pub lamps_from: Option<PinId>,
    /// Comes from a semiconductor.
    pub semiconductor: bool,
    /// Highest current to be taken.
    pub limit: Option<Amps>,
    /// Rating of the vehicle's own fuse before it, if known.
    pub fuse: Option<Amps>,
    /// Current through it when off.
    pub leakage: Amps,
    /// On-time share of pulse-width driving.
    pub pulsed: Option<Span<Share>>,
}

/// A relay coil.
#[derive(Debug, Clone)]
pub struct Coil {
    /// The relay's signal: whether its contacts are moved.
    pub relay: SignalId,
    /// Feed side.
    pub feed: PinId,
    /// Ground side.
    pub ground: PinId,
    /// At 20 °C.
    pub resistance: Ohms,
    /// Of its resistance; its voltages go with it.
    pub tolerance: Share,
    /// Surely pulls in at this.
    pub pull_in: Volts,
    /// Surely has dropped out at this.
    pub drop_out: Volts,
    /// Time to pull in.
    pub operate: Seconds,
    /// Time to drop out.
    pub release: Seconds,
    /// What is across it.
    pub across: Across,
    /// Resistance of a resistor across it.
    pub across_resistance: Option<Ohms>,
    /// What it does to the contacts.
    pub acts: Acts,
}

/// Something that draws current.
#[derive(Debug, Clone)]
pub struct Load {
    /// Its name, where the part has several.
    pub name: Option<Name>,
    /// Current in.
    pub feed: PinId,
    /// Current out.
    pub ground: PinId,
    /// How its current follows its voltage.
    pub kind: LoadKind,
    /// What it draws at `nominal`.
    pub draws: Amps,
    /// The voltage that `draws` is meant at.
    pub nominal: Volts,
    /// Doesn't work below this.
    pub least: Volts,
    /// Current at the moment of switching on.
    pub inrush: Amps,
    /// Draws while this holds.
    pub when: StateCondition,
    /// What it draws otherwise.
    pub standby: Amps,
    /// On while it has its lowest voltage.
    pub working: SignalId,
}

/// A boolean of the circuit.
#[derive(Debug, Clone)]
pub struct Signal {
    /// Its name: `K1` for the only relay of K1, else `PART.name`.
    pub name: String,
    /// Its name within its part.
    pub local: Name,
    /// Its part.
    pub part: PartId,
    /// What decides it.
    pub kind: SignalKind,
}

/// What decides a signal.
#[derive(Debug, Clone)]
pub enum SignalKind {
    /// Moved by the coils that name it; a latching relay remembers.
    Relay {
        /// Coils, elements of kind [`ElementKind::Coil`].
        coils: Vec<ElementId>,
        /// Whether it stays where it was put.
        latching: bool,
    },
    /// A voltage between two pins: on at `on_above`, off at `off_below`, undecided between.
    Sense { pin: PinId, ground: PinId, on_above: Volts, off_below: Volts },
    /// A load or converter has its lowest voltage.
    Working { feed: PinId, ground: PinId, least: Volts },
    /// A timer.
    Timer {
        kind: TimerKind,
        from: StateCondition,
        reset: Option<StateCondition>,
        time: Seconds,
        tolerance: Share,
        /// How long the trigger of a toggle must have been off before the next one counts.
        debounce: Seconds,
    },
}
