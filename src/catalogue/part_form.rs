//! The form of a part: what a catalogue file, a shop's parts file or a spec says of a kind of part.
//!
//! A part is pins, and what is `inside` between them. The circuit, the picture path and the timeline all follow from
//! that alone; no later stage knows a part by its name.

mod inside;
mod switching;

pub use inside::*;
pub use switching::*;

use form;
use form::{Condition, Entries, Name, Placed, Range, Text, YesNo};
use quantity::{Amps, Gauge, Metres, Ohms, Seconds, Share, Volts};

form::form! {
    /// A file of parts: the program's own catalogue, or a shop's.
    pub struct PartsFile ("a parts file") {
        /// Version of this form: 1.
        pub parts_file: Placed<u16>,
        /// Other parts files to read as well, relative to this one.
        pub include: Vec<Placed<Text>>,
        /// The parts by name.
        pub parts: Entries<PartForm>,
    }
}

form::form! {
    /// A kind of part.
    pub struct PartForm ("a part") {
        /// What it is, in words, as printed on lists.
        pub title: Text,
        /// Which family of parts it belongs to.
        pub family: Family,
        /// The system voltage that it is made for.
        pub nominal: Option<Volts>,
        /// Its pins by name. A connector may give `cavities` instead.
        pub pins: Entries<PinForm>,
        /// Number of cavities, numbered from 1, of a connector or a splice.
        pub cavities: Option<u16>,
        /// Cavities in each row, top to bottom, looking at the mating side.
        pub rows: Vec<u16>,
        /// What takes a wire in a cavity or on a pin: its size range, current and name.
        pub terminal: Option<TerminalForm>,
        /// What it plugs into, ordered with it: a fuse holder, a relay socket.
        pub holder: Option<Text>,
        /// What is between the pins.
        pub inside: Vec<Inside>,
        /// Rating of a fuse, breaker or the like, when the part's own entry gives none.
        pub rating: Option<Amps>,
        /// Ratings that an entry in a spec may choose from.
        pub ratings: Vec<Amps>,
        /// Body colour of each of the `ratings`, in their order.
        pub colours: Vec<Text>,
        /// How soon a fuse or a breaker opens, by the current through it.
        pub opens: Vec<OpeningForm>,
        /// Video formats that a camera sends, a screen takes or a selector passes.
        pub formats: Vec<VideoFormat>,
        /// What the screens of its coaxial cables are joined to. Usual: its ground, where it has one.
        pub screens: Option<Screens>,
        /// Time from power to picture, for cameras and players; from power to function, for others.
        pub start_up: Option<Seconds>,
        /// Time a screen takes to change its input, or a selector its path.
        pub switch_over: Option<Seconds>,
        /// What a screen does when its picture goes.
        pub on_loss: Option<OnLoss>,
        /// What a screen shows by its trigger pins, first match wins.
        pub shows: Vec<ShowForm>,
        /// What a screen shows when no trigger is on.
        pub otherwise: Option<Idle>,
        /// Total cross-section that a splice takes.
        pub holds: Option<Range<Gauge>>,
        /// Sides of the body, width by height, for drawings.
        pub body: Vec<Metres>,
        /// Where its figures come from: by key, `all` for those not named. `typical` marks common practice, no source.
        pub sources: Vec<(Placed<Name>, Text)>,
        /// Anything the bench should know.
        pub note: Option<Text>,
    }
}

form::form! {
    /// A family of parts.
    pub enum Family ("a family of parts") {
        /// Electromechanical relays.
        Relay = "relay",
        /// Semiconductor switches and module outputs.
        SolidState = "solid-state",
        /// Diodes and diode packs.
        Diode = "diode",
        /// Resistors.
        Resistor = "resistor",
        /// Fuses.
        Fuse = "fuse",
        /// Circuit breakers.
        Breaker = "breaker",
        /// Toggles, push buttons, door and position switches.
        Switch = "switch",
        /// Cameras.
        Camera = "camera",
        /// Screens.
        Screen = "screen",
        /// Video selectors and splitters.
        Selector = "selector",
        /// Hold, delay, pulse and latch modules.
        Module = "module",
        /// DC converters.
        Converter = "converter",
        /// Audio amplifiers and speakers.
        Audio = "audio",
        /// Media players and other picture sources than cameras.
        Player = "player",
        /// Lamps and work lights.
        Light = "light",
        /// Recorders.
        Recorder = "recorder",
        /// Buzzers, motors, pumps, heaters.
        Load = "load",
        /// Connectors.
        Connector = "connector",
        /// Splices.
        Splice = "splice",
        /// Ring terminals and ground studs.
        Ground = "ground",
        /// Trailer sockets.
        TrailerSocket = "trailer-socket",
        /// Vehicle body modules as a harness sees them.
        VehicleModule = "vehicle-module",
    }
}

form::form! {
    /// A pin.
    pub struct PinForm ("a pin") {
        /// What kind of signal it carries.
        pub domain: Domain,
        /// Its words on a drawing, if its name doesn't say enough.
        pub title: Option<Text>,
        /// Greatest current that the pin carries for long.
        pub limit: Option<Amps>,
        /// What the pin is to the part.
        pub is: Option<PinRole>,
        /// Whether the part works without a wire here.
        pub optional: YesNo,
    }
}

form::form! {
    /// The kind of signal that a pin carries.
    pub enum Domain ("a domain") {
        /// Positive supply, switched or not.
        Power = "power",
        /// Negative.
        Ground = "ground",
        /// Signals that make something switch.
        Trigger = "trigger",
        /// Pictures.
        Video = "video",
        /// Sound.
        Audio = "audio",
        /// Data.
        Data = "data",
    }
}

form::form! {
    /// What a pin is to its part.
    pub enum PinRole ("a role of a pin") {
        /// Takes supply.
        Feed = "feed",
        /// Returns to ground.
        Return = "return",
        /// Takes a signal.
        Input = "input",
        /// Gives a signal or a switched supply.
        Output = "output",
        /// Joins what lands on it.
        Through = "through",
    }
}

form::form! {
    /// A video format. Names say the signal, not a make.
    pub enum VideoFormat ("a video format") {
        /// Composite, 525 lines, 59.94 fields (ITU-R BT.470 M).
        CvbsNtsc = "cvbs-ntsc",
        /// Composite, 625 lines, 50 fields (ITU-R BT.470 B/G).
        CvbsPal = "cvbs-pal",
        /// Analogue high definition, 720 lines, 25 or 30 frames.
        AnalogueHd720 = "analogue-hd-720",
        /// Analogue high definition, 1080 lines, 25 or 30 frames.
        AnalogueHd1080 = "analogue-hd-1080",
    }
}

form::form! {
    /// What a screen does when the picture it shows goes.
    pub enum OnLoss ("what a screen does without a picture") {
        /// Turns black.
        Black = "black",
        /// Turns blue.
        Blue = "blue",
        /// Keeps the last frame.
        Freeze = "freeze",
        /// Goes back to its home page.
        Home = "home",
    }
}

form::form! {
    /// What the screens of a part's coaxial cables are joined to inside it.
    pub enum Screens ("what the screens of cables are joined to") {
        /// Its ground.
        Ground = "ground",
        /// Each other, and not its ground.
        Joined = "joined",
        /// Nothing: a transformer carries the picture.
        Apart = "apart",
    }
}

form::form! {
    /// What a screen shows when no trigger is on.
    pub enum Idle ("what a screen shows without a trigger") {
        /// Its own home page.
        Home = "home",
        /// Nothing.
        Black = "black",
    }
}

form::form! {
    /// What a screen shows when a trigger pin is on.
    pub struct ShowForm ("what a screen shows") {
        /// Its trigger pins, as a condition.
        pub when: Condition,
        /// The video pin that it then shows.
        pub input: Placed<Name>,
    }
}

form::form! {
    /// How soon a fuse or a breaker opens at one current.
    pub struct OpeningForm ("an opening time") {
        /// The current, as a share of the rating.
        pub at: Share,
        /// It opens no sooner than this.
        pub least: Option<Seconds>,
        /// It opens no later than this.
        pub most: Option<Seconds>,
    }
}

form::form! {
    /// A terminal: what sits on the wire in a cavity or on a pin.
    pub struct TerminalForm ("a terminal") {
        /// What to order.
        pub title: Text,
        /// Conductor sizes that it crimps.
        pub wire: Range<Gauge>,
        /// Whether the part brings it along, as its own lead, so that none is ordered.
        pub supplied: YesNo,
        /// Whether several sit on one point, each on its own wire, as rings on a stud do.
        pub stacks: YesNo,
        /// Greatest current for long.
        pub current: Option<Amps>,
        /// Whether it needs a wire seal.
        pub sealed: YesNo,
        /// The wire seal to order.
        pub seal: Option<Text>,
        /// The plug for an empty cavity.
        pub plug: Option<Text>,
        /// Contact resistance of a mated pair.
        pub resistance: Option<Ohms>,
    }
}
