//! What is built: parts, connectors, splices, wires.

use super::intent::Works;
use crate::numbers::WireNumber;
use catalogue::part_form::{Side, VideoFormat};
use form;
use form::values::Draw;
use form::{Colour, End, Name, Placed, Text, YesNo};
use quantity::{Amps, Gauge, Metres, Ohms, Seconds, Volts};

form::form! {
    /// A part of this harness.
    pub struct PartEntry ("a part's entry") {
        /// Kind of part: a name from the catalogue, a parts file or `own-parts`.
        pub use_: Placed<Name>,
        /// Its place.
        pub at: Option<Placed<Name>>,
        /// Title for drawings.
        pub title: Option<Text>,
        /// Current or power that it draws, in place of the catalogue's figure. Without it, as in its kind of part.
        pub draws: Option<Draw>,
        /// Lowest working voltage, in place of the catalogue's figure. Without it, as in its kind of part.
        pub least: Option<Volts>,
        /// Rating of a fuse or breaker. Without it, as in its kind of part; where that has several, the program chooses.
        pub rating: Option<Placed<Amps>>,
        /// Resistance of a resistor. Without it, as in its kind of part.
        pub resistance: Option<Ohms>,
        /// Time that a timer is set to. Without it, as in its kind of part.
        pub time: Option<Placed<Seconds>>,
        /// The format in use, for a camera that can send several. Without it, any of them.
        pub format: Option<Placed<VideoFormat>>,
        /// Time from power to picture or function. Without it, as in its kind of part.
        pub start_up: Option<Seconds>,
        /// For a loudspeaker or another input of sound: the side that it should sound on. Without it, either side is right.
        pub side: Option<Side>,
        /// For a part with inputs of sound: the part whose sound it plays. `plan` runs the lines.
        pub plays: Option<Placed<Name>>,
        /// When it should work: a condition (`brake`), or a map with `when`, `within` and `steady`.
        pub works: Works,
        /// Whether it is in the vehicle already, so that it isn't ordered.
        pub existing: YesNo,
        /// What to order, for the parts list.
        pub order: Option<Text>,
        /// A note for the bench.
        pub note: Option<Text>,
    }
}

form::form! {
    /// One half of a connector. It mates with another half (`mates` on one of the two) or plugs into a part (`on`).
    pub struct ConnectorEntry ("a connector's entry") {
        /// Kind of part.
        pub use_: Placed<Name>,
        /// Its place.
        pub at: Placed<Name>,
        /// The other half: cavity 1 mates with cavity 1, and so on.
        pub mates: Option<Placed<Name>>,
        /// The part that it plugs into.
        pub on: Option<Placed<Name>>,
        /// For each cavity, the pin of that part that it mates with.
        pub carries: Vec<(Placed<Name>, Placed<Name>)>,
        /// Title for drawings.
        pub title: Option<Text>,
        /// Whether it is in the vehicle already, so that it isn't ordered.
        pub existing: YesNo,
        /// A note for the bench.
        pub note: Option<Text>,
    }
}

form::form! {
    /// A splice: it joins all wires that end on it.
    pub struct SpliceEntry ("a splice's entry") {
        /// Kind of part. Usual: splice-crimp.
        pub use_: Option<Placed<Name>>,
        /// Its place.
        pub at: Placed<Name>,
        /// A note for the bench.
        pub note: Option<Text>,
    }
}

form::form! {
    /// A wire.
    pub struct WireForm ("a wire") {
        /// Its number or name, unique; without it, the program numbers it by its circuit.
        pub id: WireNumber,
        /// One end.
        pub from: Placed<End>,
        /// The other end.
        pub to: Placed<End>,
        /// Conductor size; without it, the program chooses.
        pub gauge: Option<Placed<Gauge>>,
        /// Insulation colour; without it, the program chooses.
        pub colour: Option<Placed<Colour>>,
        /// Length; without it, the runs give it.
        pub length: Option<Placed<Metres>>,
        /// Construction. Usual: single.
        pub make: Option<WireMake>,
        /// Name of the signal, for lists and drawings.
        pub signal: Option<Text>,
        /// Whether it is in the vehicle already, so that it isn't cut.
        pub existing: YesNo,
        /// A note for the bench.
        pub note: Option<Text>,
    }
}

form::form! {
    /// Construction of a wire.
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
