//! The form of a spec: what an installer may write. The doc comments are what editors show and the reference prints.

use crate::catalogue::form::{Idle, OnLoss, PartForm, ShowForm, VideoFormat};
use crate::form;
use crate::form::values::Draw;
use crate::form::{Colour, Condition, End, Entries, Name, Needed, Placed, Range, Text, YesNo};
use crate::quantity::{AmpHours, Amps, Celsius, Gauge, Metres, Ohms, PerMinute, Seconds, Share, Volts, Watts};

form! {
    /// A harness: one vehicle, its triggers, cameras, accessories, screens, and the wires between them.
    pub struct SpecForm ("a spec") {
        /// Version of this form: 1.
        pub harness: Placed<u16>,
        /// What job this is.
        pub job: Needed<JobForm>,
        /// Parts files to read as well, relative to this file.
        pub include: Vec<Placed<Text>>,
        /// Limits that the shop sets for itself, in place of the usual ones.
        pub limits: Option<LimitsForm>,
        /// Spots in the vehicle.
        pub places: Vec<Placed<Name>>,
        /// Stretches of harness between places.
        pub runs: Vec<RunForm>,
        /// Where current comes from.
        pub supplies: Entries<SupplyForm>,
        /// Where it goes back to.
        pub grounds: Entries<GroundForm>,
        /// What the driver and the vehicle do.
        pub inputs: Entries<InputForm>,
        /// The screens.
        pub screens: Entries<ScreenForm>,
        /// What each screen should show: first match wins, checked in every state.
        pub views: Entries<Vec<ViewForm>>,
        /// Cameras.
        pub cameras: Entries<PartEntry>,
        /// Other picture and sound sources.
        pub sources: Entries<PartEntry>,
        /// Accessories: amplifiers, lights, recorders and the like.
        pub accessories: Entries<PartEntry>,
        /// Relays, diodes, fuses, switches, modules and all other parts.
        pub parts: Entries<PartEntry>,
        /// Connectors.
        pub connectors: Entries<ConnectorEntry>,
        /// Splices.
        pub splices: Entries<SpliceEntry>,
        /// Kinds of part that only this spec uses; they come before the catalogue's.
        pub own_parts: Entries<PartForm>,
        /// The wires.
        pub wires: Vec<WireForm>,
        /// Scripts for the timeline.
        pub drives: Entries<Vec<StepForm>>,
        /// Findings taken on purpose.
        pub accept: Vec<AcceptForm>,
    }
}

form! {
    /// What job this is.
    pub struct JobForm ("a job") {
        /// Its title, which also names the folder of its documents.
        pub title: Needed<Placed<Text>>,
        /// Revision of the spec.
        pub revision: Option<Text>,
        /// Nominal voltage of the vehicle.
        pub nominal: Needed<Placed<Volts>>,
        /// Anything worth printing on the first page.
        pub note: Option<Text>,
    }
}

form! {
    /// Limits that the shop sets for itself. Each has a usual value.
    pub struct LimitsForm ("limits") {
        /// Greatest drop from supply to a load and back, as a share of the nominal voltage. Usual: 3 %.
        pub drop: Option<Share>,
        /// Greatest share of a fuse's rating for long. Usual: 80 %.
        pub fuse_load: Option<Share>,
        /// Copper temperature of the hot corner. Usual: 60 °C.
        pub hot: Option<Celsius>,
        /// Voltage above which an unwanted voltage counts. Usual: 1 V.
        pub sneak_voltage: Option<Volts>,
        /// Current above which an unwanted current counts. Usual: 1 mA.
        pub sneak_current: Option<Amps>,
        /// Greatest current from the battery with the key off. Usual: 30 mA.
        pub key_off: Option<Amps>,
        /// Ground lift that disturbs a composite picture. Usual: 100 mV.
        pub video_lift: Option<Volts>,
        /// Added to each cut length. Usual: 10 %.
        pub cut_allowance: Option<Share>,
        /// Added to each end of a wire for stripping and dressing. Usual: 50 mm.
        pub end_allowance: Option<Metres>,
        /// Smallest conductor that the shop builds with. Usual: 0.5 mm².
        pub thinnest: Option<Gauge>,
        /// Length of a wire whose ends are at the same place, if it gives none. Usual: 300 mm.
        pub local_length: Option<Metres>,
    }
}

form! {
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

form! {
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

form! {
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

form! {
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
        /// Greatest current that may be taken from it.
        pub limit: Option<Amps>,
        /// Capacity of a battery.
        pub capacity: Option<AmpHours>,
        /// What the alternator can add with the engine running.
        pub alternator: Option<Amps>,
    }
}

form! {
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

form! {
    /// Something that the driver or the vehicle does.
    pub struct InputForm ("an input") {
        /// What kind of thing it is; left out, it only has positions and no wire of its own.
        pub kind: Option<Placed<InputKind>>,
        /// Its positions, the one at rest first. Usual: off, on.
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
        /// The vehicle's own lamps on this feed; off, they pull it down.
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

form! {
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

form! {
    /// A screen.
    pub struct ScreenForm ("a screen") {
        /// The part.
        pub part: Placed<Name>,
        /// What it shows by its trigger pins, first match wins; left out, as its kind of part does.
        pub shows: Vec<ShowForm>,
        /// What it shows when no trigger is on.
        pub otherwise: Option<Idle>,
        /// Time it takes to change its input.
        pub switch_over: Option<Seconds>,
        /// What it does when its picture goes.
        pub on_loss: Option<OnLoss>,
        /// Whether the driver sees it while driving. Usual: yes.
        pub driver_sees: Option<YesNo>,
    }
}

form! {
    /// One line of what a screen should show.
    pub struct ViewForm ("a view") {
        /// When this line counts; the last line has `otherwise` in its place.
        pub when: Option<Condition>,
        /// The camera or source, or `home`, `black` or `any`.
        pub show: Option<Placed<Name>>,
        /// What is shown when no other line counts: a source, `home`, `black` or `any`.
        pub otherwise: Option<Placed<Name>>,
        /// How soon the picture must be there.
        pub within: Option<Placed<Seconds>>,
        /// Whether the picture must not blink.
        pub steady: YesNo,
    }
}

form! {
    /// A part of this harness.
    pub struct PartEntry ("a part's entry") {
        /// Its kind: a name in the catalogue, in a parts file or under `own-parts`.
        pub use_: Placed<Name>,
        /// Where it is.
        pub at: Option<Placed<Name>>,
        /// Words for drawings.
        pub title: Option<Text>,
        /// What it draws, in place of the usual figure.
        pub draws: Option<Draw>,
        /// Least working voltage, in place of the usual figure.
        pub least: Option<Volts>,
        /// Rating of a fuse or breaker.
        pub rating: Option<Placed<Amps>>,
        /// Resistance of a resistor.
        pub resistance: Option<Ohms>,
        /// Time that a timer is set to.
        pub time: Option<Placed<Seconds>>,
        /// Format of a camera that can send several.
        pub format: Option<Placed<VideoFormat>>,
        /// Time from power to picture or function.
        pub start_up: Option<Seconds>,
        /// Whether it was in the vehicle before and is not to be ordered.
        pub existing: YesNo,
        /// What to order, in the shop's own words.
        pub order: Option<Text>,
        /// Anything the bench should know.
        pub note: Option<Text>,
    }
}

form! {
    /// A connector, one half; two halves name each other by `mates` on one of them, or it plugs into a part.
    pub struct ConnectorEntry ("a connector's entry") {
        /// Its kind.
        pub use_: Placed<Name>,
        /// Where it is.
        pub at: Placed<Name>,
        /// The other half: cavity 1 meets cavity 1, and so on.
        pub mates: Option<Placed<Name>>,
        /// The part that it plugs into.
        pub on: Option<Placed<Name>>,
        /// For each cavity, the pin of that part.
        pub carries: Vec<(Placed<Name>, Placed<Name>)>,
        /// Words for drawings.
        pub title: Option<Text>,
        /// Whether it was in the vehicle before and is not to be ordered.
        pub existing: YesNo,
        /// Anything the bench should know.
        pub note: Option<Text>,
    }
}

form! {
    /// A splice: every wire that ends on it is joined.
    pub struct SpliceEntry ("a splice's entry") {
        /// Its kind. Usual: splice-crimp.
        pub use_: Option<Placed<Name>>,
        /// Where it is.
        pub at: Placed<Name>,
        /// Anything the bench should know.
        pub note: Option<Text>,
    }
}

form! {
    /// A wire.
    pub struct WireForm ("a wire") {
        /// Its number or name, unique.
        pub id: Placed<Name>,
        /// One end.
        pub from: Placed<End>,
        /// The other end.
        pub to: Placed<End>,
        /// Conductor size; left out, the program chooses.
        pub gauge: Option<Placed<Gauge>>,
        /// Insulation colour.
        pub colour: Option<Placed<Colour>>,
        /// Length; left out, it follows from the runs.
        pub length: Option<Placed<Metres>>,
        /// How it is made. Usual: single.
        pub make: Option<WireMake>,
        /// What it carries, in words.
        pub signal: Option<Text>,
        /// Whether it was in the vehicle before and is not to be cut.
        pub existing: YesNo,
        /// Anything the bench should know.
        pub note: Option<Text>,
    }
}

form! {
    /// How a wire is made.
    pub enum WireMake ("a make of wire") {
        /// One conductor.
        Single = "single",
        /// Coaxial cable.
        Coax = "coax",
        /// One conductor of a twisted pair.
        Twisted = "twisted",
        /// A conductor of a ready-made lead, bought with its plugs.
        Lead = "lead",
    }
}

form! {
    /// A finding that is taken on purpose.
    pub struct AcceptForm ("an accepted finding") {
        /// The rule's name.
        pub finding: Placed<Text>,
        /// What it is about, as the finding names it: `wire 7`, `K1`, `screen dash`.
        pub on: Placed<Text>,
        /// Why.
        pub because: Placed<Text>,
    }
}

/// Least, nominal and greatest voltage of a supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VoltsTriple(pub [Volts; 3]);

form! {
    /// How flashers flash from a step of a drive on. Usual: the middle of what their inputs allow for.
    pub struct FlashForm ("a flash") {
        /// Flashes per minute.
        pub rate: Option<PerMinute>,
        /// On-time share.
        pub duty: Option<Share>,
    }
}

/// What the supplies with volts of their own are at from a step of a drive on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SupplyStep {
    /// What they usually are at.
    Usual,
    /// All at this voltage, as while the engine is started.
    At(Volts),
}

/// One step of a drive: a time, the inputs that change, and what is expected to be shown.
#[derive(Debug, Clone)]
pub struct StepForm {
    /// When, from the start of the drive.
    pub at: Placed<Seconds>,
    /// Inputs and their new positions. A flasher feed that is on flashes, two that are on flash together.
    pub changes: Vec<(Placed<Name>, Placed<Name>)>,
    /// How flashers flash from here on.
    pub flash: Option<FlashForm>,
    /// What the supplies are at from here on.
    pub supply: Option<SupplyStep>,
    /// For each screen, what it is expected to show at this time.
    pub expect: Vec<(Placed<Name>, Placed<Name>)>,
}
