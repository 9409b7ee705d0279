//! The form of a spec: what an installer may write. The doc comments are what editors show and the reference prints.

mod entries;
mod intent;
mod vehicle;

pub use entries::*;
pub use intent::*;
pub use vehicle::*;

use catalogue::part_form::PartForm;
use form;
use form::{Entries, Name, Needed, Placed, Text};
use quantity::{Amps, Celsius, Gauge, Metres, Share, Volts};

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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
