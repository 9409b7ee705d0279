//! The vehicle: its runs, supplies and grounds, and the inputs that it and its driver operate.

use catalogue::part_form::Meaning;
use form;
use form::{Condition, Name, Needed, Placed, Range, Text};
use quantity::{AmpHours, Amps, Exponent, Metres, Ohms, PerMinute, Share, Volts, Watts};

form::form! {
    /// A stretch of harness between two places.
    pub struct RunForm ("a run") {
        /// The two places.
        pub between: Vec<Placed<Name>>,
        /// Length of the run.
        pub length: Needed<Placed<Metres>>,
        /// Tolerance of the length. Usual: 20 mm.
        pub tolerance: Option<Metres>,
        /// Surroundings. Usual: cabin.
        pub inside: Option<Surroundings>,
        /// Covering. Usual: tape.
        pub covering: Option<Covering>,
        /// Distance between clips. Without it, none are drawn.
        pub clips: Option<Metres>,
        /// The one of its two places where it comes apart, as at a trailer or a door: `plan` puts connectors there.
        pub breaks_at: Option<Placed<Name>>,
    }
}

form::form! {
    /// Surroundings of a run.
    pub enum Surroundings ("surroundings") {
        /// In the cabin.
        Cabin = "cabin",
        /// In an engine space, where wires may carry less (ABYC E-11).
        EngineSpace = "engine-space",
        /// Outside, under the body or on the roof.
        Outside = "outside",
    }
}

form::form! {
    /// Covering of a run.
    pub enum Covering ("a covering") {
        /// None.
        Bare = "bare",
        /// Harness tape.
        Tape = "tape",
        /// Split conduit.
        Conduit = "conduit",
        /// Braided sleeve.
        Sleeve = "sleeve",
        /// Heat-shrink tube.
        Shrink = "shrink",
    }
}

form::form! {
    /// A supply of the vehicle.
    pub struct SupplyForm ("a supply") {
        /// Its DIN 72552 terminal.
        pub terminal: Text,
        /// Where the harness connects to it.
        pub at: Placed<Name>,
        /// Lowest, nominal and highest voltage. A supply without `volts` is fed from another.
        pub volts: Option<Placed<VoltsTriple>>,
        /// The supply that feeds it; without it, the first one with `volts`.
        pub from: Option<Placed<Name>>,
        /// Resistance of the source and of the vehicle's wiring up to this point. Usual: 15 mΩ for a battery, 20 mΩ
        /// for a supply that another one feeds (common practice, no source).
        pub resistance: Option<Ohms>,
        /// When it is live; without it, always.
        pub follows: Option<Condition>,
        /// Current of the vehicle's other loads on it at the nominal voltage. While it is off, current that comes back
        /// into it goes to ground through them. Usual, if it can be off: 2 A (common practice, no source); 0 A: none.
        pub others: Option<Placed<Amps>>,
        /// Maximum current that the harness may draw. Without it, no limit is checked.
        pub limit: Option<Amps>,
        /// Rating of the vehicle's own fuse for it. Without it, and without one for the supply that feeds it, the supply
        /// counts as unfused.
        pub fuse: Option<Amps>,
        /// Capacity of a battery at the 20-hour rate, as printed on it. Without it, nothing says how long it lasts.
        pub capacity: Option<AmpHours>,
        /// Peukert's exponent of a battery, such as 1.2: it gives less of its capacity at high currents. Usual: 1.
        pub peukert: Option<Exponent>,
        /// Current that the alternator supplies with the engine running. Without it, it is not checked.
        pub alternator: Option<Amps>,
    }
}

/// Lowest, nominal and highest voltage of a supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VoltsTriple(pub [Volts; 3]);

form::form! {
    /// A point where wires connect to the chassis or to the battery's negative.
    pub struct GroundForm ("a ground") {
        /// Its place.
        pub at: Placed<Name>,
        /// Resistance from the point through the chassis to the battery's negative. Usual: 3 mΩ.
        pub resistance: Option<Ohms>,
        /// Kind of ring terminal or stud. Usual: ring-m6.
        pub use_: Option<Placed<Name>>,
        /// Title for drawings.
        pub title: Option<Text>,
    }
}

form::form! {
    /// Something that the driver or the vehicle operates.
    pub struct InputForm ("an input") {
        /// Kind of input; without it, the input has positions but no wire.
        pub kind: Option<Placed<InputKind>>,
        /// What it means for the vehicle when it is on. The program takes no meaning from its name.
        pub means: Option<Placed<Meaning>>,
        /// Its positions, rest position first: at least 2, at most 1000. Usual: off, on.
        pub positions: Vec<Placed<Name>>,
        /// The switch that it moves.
        pub part: Option<Placed<Name>>,
        /// In a wish only, where a button has no part yet: what its views mean by it being on.
        pub acts: Option<Placed<ButtonAction>>,
        /// Where the harness taps its wire. In a wish: where a button without a part is mounted.
        pub at: Option<Placed<Name>>,
        /// The supply that feeds it; without it, the first one.
        pub from: Option<Placed<Name>>,
        /// Maximum current that the harness may draw from it. Without it, no limit is checked.
        pub limit: Option<Amps>,
        /// Rating of the vehicle's own fuse for a wire that is live when on. If unknown, 30 A (common practice, no source).
        pub fuse: Option<Placed<Amps>>,
        /// Resistance of the vehicle's wiring up to the tap. Usual: 50 mΩ.
        pub resistance: Option<Ohms>,
        /// The vehicle's lamps on this wire. While it is off they pull it to ground, or to the supply if it goes to
        /// ground when on. Without it, there are none.
        pub lamps: Option<Watts>,
        /// Leakage current of a semiconductor output that is off. Usual: 0 A.
        pub leakage: Option<Amps>,
        /// Possible flash rates. Usual, for a flasher feed: 60..120 /min.
        pub flash: Option<Range<PerMinute>>,
        /// On-time share of a flash, or of pulse-width modulation. Usual: 30..75 % for a flasher feed, 10..90 % for a
        /// pulsed feed (typical, no source).
        pub duty: Option<Range<Share>>,
        /// Condition without which it stays at rest.
        pub needs: Option<Condition>,
        /// Inputs that can't be on at the same time.
        pub excludes: Vec<Placed<Name>>,
        /// Title for drawings and for the customer.
        pub title: Option<Text>,
    }
}

form::form! {
    /// What a button does, in a wish.
    pub enum ButtonAction ("what a button does") {
        /// It is on while it is held.
        Held = "held",
        /// Each press turns it on or off.
        Toggles = "toggles",
    }
}

form::form! {
    /// A kind of input.
    pub enum InputKind ("a kind of input") {
        /// Feed of a vehicle lamp.
        LampFeed = "lamp-feed",
        /// Feed of a turn signal.
        FlasherFeed = "flasher-feed",
        /// Lamp feed with pulse-width modulation.
        PulsedFeed = "pulsed-feed",
        /// Any other vehicle wire that is live when on.
        SwitchedFeed = "switched-feed",
        /// Vehicle wire that goes to ground when on.
        GroundSwitch = "ground-switch",
        /// Semiconductor output of a vehicle module, live when on.
        ModuleOutput = "module-output",
        /// Semiconductor output of a vehicle module that goes to ground when on.
        ModuleLow = "module-low",
        /// Switch that keeps its position.
        Toggle = "toggle",
        /// Button that springs back.
        Push = "push",
    }
}

impl InputKind {
    /// Whether the vehicle has a wire for it, to be named bare in `wires`.
    pub fn has_wire(self) -> bool {
        !matches!(self, InputKind::Toggle | InputKind::Push)
    }
    /// Whether that wire goes to ground when on.
    pub fn is_low(self) -> bool {
        matches!(self, InputKind::GroundSwitch | InputKind::ModuleLow)
    }
}
