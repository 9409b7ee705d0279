//! The form of a spec: what an installer may write. Editors show the doc comments, and the reference prints them.

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
        /// Title and system voltage of the job.
        pub job: Needed<JobForm>,
        /// Parts files that this spec uses, relative to this file.
        pub include: Vec<Placed<Text>>,
        /// The shop's own limits, in place of the usual ones.
        pub limits: Option<LimitsForm>,
        /// Places in the vehicle.
        pub places: Vec<Placed<Name>>,
        /// Stretches of harness between places.
        pub runs: Vec<RunForm>,
        /// Where current comes from.
        pub supplies: Entries<SupplyForm>,
        /// Where current returns to.
        pub grounds: Entries<GroundForm>,
        /// What the driver and the vehicle operate.
        pub inputs: Entries<InputForm>,
        /// The screens.
        pub screens: Entries<ScreenForm>,
        /// What each screen should show: the first match wins; checked in every state.
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
        /// Kinds of part for this spec only; they override the catalogue's.
        pub own_parts: Entries<PartForm>,
        /// The wires.
        pub wires: Vec<WireForm>,
        /// Scripts for the timeline.
        pub drives: Entries<Vec<StepForm>>,
        /// Findings that are accepted.
        pub accept: Vec<AcceptForm>,
    }
}

form::form! {
    /// Title and system voltage of the job.
    pub struct JobForm ("a job") {
        /// Title of the job; it also names the folder of its documents.
        pub title: Needed<Placed<Text>>,
        /// Revision of the spec.
        pub revision: Option<Text>,
        /// Nominal system voltage of the vehicle.
        pub nominal: Needed<Placed<Volts>>,
        /// A note for the first page of the build book.
        pub note: Option<Text>,
    }
}

form::form! {
    /// The shop's own limits. Each has a usual value.
    pub struct LimitsForm ("limits") {
        /// Maximum voltage drop in the wires to a load and back, as a share of the nominal voltage. Usual: 3 %.
        pub drop: Option<Share>,
        /// Maximum continuous load of a fuse, as a share of its rating. Usual: 80 %.
        pub fuse_load: Option<Share>,
        /// Copper temperature of the hot corner. Usual: 60 °C.
        pub hot: Option<Celsius>,
        /// Voltage above which a sneak voltage counts. Usual: 1 V.
        pub sneak_voltage: Option<Volts>,
        /// Current above which a sneak current counts. Usual: 1 mA.
        pub sneak_current: Option<Amps>,
        /// Maximum current from the battery with everything at rest. Usual: 30 mA.
        pub key_off: Option<Amps>,
        /// Maximum voltage between the grounds of a picture source and its screen. Usual: 100 mV.
        pub video_lift: Option<Volts>,
        /// Added to each cut length. Usual: 10 %.
        pub cut_allowance: Option<Share>,
        /// Added at each end of a wire for stripping and dressing. Usual: 50 mm.
        pub end_allowance: Option<Metres>,
        /// Smallest conductor that the shop builds with. Usual: 0.5 mm².
        pub thinnest: Option<Gauge>,
        /// Length of a wire without `length` whose ends are at the same place. Usual: 300 mm.
        pub local_length: Option<Metres>,
    }
}

form::form! {
    /// A finding that is accepted.
    pub struct AcceptForm ("an accepted finding") {
        /// The rule's name.
        pub finding: Placed<Text>,
        /// The finding's subject, as the finding prints it: `wire 7`, `K1`, `screen dash`.
        pub on: Placed<Text>,
        /// The reason, which the build book prints.
        pub because: Placed<Text>,
        /// The worst severity that is accepted. Usual: `note`.
        pub severity: Option<AcceptedSeverity>,
        /// The figure that is accepted, as the finding prints it first: `842 mV`. A tenth more is accepted as well. An error
        /// or a warning with a limit needs it.
        pub at: Option<Text>,
    }
}

form::form! {
    /// A severity of a finding.
    pub enum AcceptedSeverity ("a severity") {
        /// Worth knowing.
        Note = "note",
        /// Works, but likely to give trouble.
        Warning = "warning",
        /// Does not do what it should, or can do harm.
        Error = "error",
    }
}
