//! What the vehicle brings: its runs, supplies and grounds, and what it and its driver do.

use form;
use form::{Condition, Name, Needed, Placed, Range, Text};
use quantity::{AmpHours, Amps, Metres, Ohms, PerMinute, Share, Volts, Watts};

form::form! {
    /// A stretch of harness between two places.
    pub struct RunForm ("a run") {
        /// The two places.
        pub between: Vec<Placed<Name>>,
        /// Its length.
        pub length: Needed<Placed<Metres>>,
        /// How far off the length may be. Usual: 20 mm.
        pub tolerance: Option<Metres>,
        /// What surroundings it runs in. Usual: cabin.
        pub inside: Option<Surroundings>,
        /// What covers it. Usual: tape.
        pub covering: Option<Covering>,
        /// Distance between clips.
        pub clips: Option<Metres>,
    }
}

form::form! {
    /// Surroundings of a run.
    pub enum Surroundings ("surroundings") {
        /// Inside the cabin.
        Cabin = "cabin",
        /// Inside an engine space, where wire carries less (ABYC E-11).
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
        /// Where it is taken.
        pub at: Placed<Name>,
        /// Least, nominal and greatest voltage; a supply without is fed from another.
        pub volts: Option<Placed<VoltsTriple>>,
        /// The supply that feeds it; left out, the first one with volts.
        pub from: Option<Placed<Name>>,
        /// Resistance of the source and the vehicle's own wiring up to here.
        pub resistance: Option<Ohms>,
        /// When it is live; left out, always.
        pub follows: Option<Condition>,
        /// What the vehicle's other loads on it draw at the nominal voltage: while it is off, they lead to ground what comes
        /// back into it. Usual for one that can be off: 2 A (common practice, no source); 0 A leaves its end open.
        pub others: Option<Placed<Amps>>,
        /// Greatest current that may be taken from it. The vehicle's own fuse of that rating is taken to stand before it.
        pub limit: Option<Amps>,
        /// Capacity of a battery.
        pub capacity: Option<AmpHours>,
        /// What the alternator can add with the engine running.
        pub alternator: Option<Amps>,
    }
}

/// Least, nominal and greatest voltage of a supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VoltsTriple(pub [Volts; 3]);

form::form! {
    /// A point where wires go to the chassis or to the battery's negative.
    pub struct GroundForm ("a ground") {
        /// Where it is.
        pub at: Placed<Name>,
        /// Resistance from the point through the chassis to the battery's negative. Usual: 3 mΩ.
        pub resistance: Option<Ohms>,
        /// The ring terminal or stud that is used. Usual: ring-m6.
        pub use_: Option<Placed<Name>>,
        /// Words for drawings.
        pub title: Option<Text>,
    }
}

form::form! {
    /// Something that the driver or the vehicle does.
    pub struct InputForm ("an input") {
        /// What kind of thing it is; left out, it only has positions and no wire of its own.
        pub kind: Option<Placed<InputKind>>,
        /// What it says about the vehicle when it is on. Its name has no meaning to the program.
        pub means: Option<Placed<Meaning>>,
        /// Its positions, the one at rest first, at least two and at most 1000. Usual: off, on.
        pub positions: Vec<Placed<Name>>,
        /// The switch part that it moves.
        pub part: Option<Placed<Name>>,
        /// Where its wire is taken.
        pub at: Option<Placed<Name>>,
        /// The supply that a feed comes from; left out, the first one.
        pub from: Option<Placed<Name>>,
        /// Greatest current that may be taken from it.
        pub limit: Option<Amps>,
        /// Resistance of the vehicle's own wiring up to the tap. Usual: 50 mΩ.
        pub resistance: Option<Ohms>,
        /// The vehicle's own lamps on this wire; off, they pull it down, or up where it goes to ground when on.
        pub lamps: Option<Watts>,
        /// Current through a semiconductor output that is off.
        pub leakage: Option<Amps>,
        /// Flash rates that are allowed for.
        pub flash: Option<Range<PerMinute>>,
        /// On-time share of a flash, or of pulse-width driving.
        pub duty: Option<Range<Share>>,
        /// What must hold for it to be anything but at rest.
        pub needs: Option<Condition>,
        /// Inputs that can't be on at the same time.
        pub excludes: Vec<Placed<Name>>,
        /// Words for drawings and for the customer.
        pub title: Option<Text>,
    }
}

form::form! {
    /// What an input says about the vehicle.
    pub enum Meaning ("a meaning") {
        /// The vehicle is in reverse gear: the rear view is held against the times of 49 CFR 571.111.
        ReverseGear = "reverse-gear",
    }
}

form::form! {
    /// A kind of input.
    pub enum InputKind ("a kind of input") {
        /// The feed of a lamp of the vehicle.
        LampFeed = "lamp-feed",
        /// The feed of a turn signal.
        FlasherFeed = "flasher-feed",
        /// A lamp feed driven with pulse-width modulation.
        PulsedFeed = "pulsed-feed",
        /// Any other wire of the vehicle that is live when it is on.
        SwitchedFeed = "switched-feed",
        /// A wire of the vehicle that goes to ground when it is on.
        GroundSwitch = "ground-switch",
        /// A semiconductor output of a vehicle module, live when on.
        ModuleOutput = "module-output",
        /// A semiconductor output of a vehicle module that goes to ground when on.
        ModuleLow = "module-low",
        /// A switch that stays where it is put.
        Toggle = "toggle",
        /// A button that springs back.
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
