//! What is built: parts, connectors, splices, wires.

use catalogue::part_form::VideoFormat;
use form;
use form::values::Draw;
use form::{Colour, End, Name, Placed, Text, YesNo};
use quantity::{Amps, Gauge, Metres, Ohms, Seconds, Volts};

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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
