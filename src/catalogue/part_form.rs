//! The form of a part: what a catalogue file, a shop's parts file or a spec says about a kind of part.
//!
//! A part is its pins and the elements `inside` between them. The circuit, the picture's path and the timeline follow
//! from those alone; no later stage knows a part by its name.

mod inside;
mod switching;
mod symbol;

pub use inside::*;
pub use switching::*;
pub use symbol::*;

use form;
use form::{Condition, Entries, Name, Placed, Range, Text, YesNo};
use quantity::{Amps, Gauge, Metres, Ohms, Seconds, Share, Volts};

form::form! {
    /// A file of parts: the program's own catalogue, or a shop's.
    pub struct PartsFile ("a parts file") {
        /// Version of this form: 1.
        pub parts_file: Placed<u16>,
        /// Parts files that this one uses, relative to it.
        pub include: Vec<Placed<Text>>,
        /// The parts by name.
        pub parts: Entries<PartForm>,
    }
}

form::form! {
    /// A kind of part.
    pub struct PartForm ("a part") {
        /// Title for lists.
        pub title: Text,
        /// Family of parts.
        pub family: Family,
        /// Its symbol in drawings. Without it, that of its family.
        pub symbol: Option<PartSymbol>,
        /// Nominal system voltage. Without it, that of the job.
        pub nominal: Option<Volts>,
        /// Highest supply voltage that it is made for. Usual: what a system of its nominal voltage reaches while it charges.
        pub highest: Option<Volts>,
        /// Its pins by name. A connector may give `cavities` instead.
        pub pins: Entries<PinForm>,
        /// Number of cavities, numbered from 1, of a connector or a splice. Without it, `pins` gives them.
        pub cavities: Option<u16>,
        /// Cavities in each row, top to bottom, looking at the mating side.
        pub rows: Vec<u16>,
        /// Terminal in a cavity or on a pin: name, wire range and current.
        pub terminal: Option<TerminalForm>,
        /// Fuse holder or relay socket, ordered with it.
        pub holder: Option<Text>,
        /// The circuit between the pins.
        pub inside: Vec<Inside>,
        /// Rating of a fuse or breaker whose entry in the spec gives none. Without it, each entry gives one.
        pub rating: Option<Amps>,
        /// Ratings that an entry in a spec may choose from.
        pub ratings: Vec<Amps>,
        /// Body colour for each of the `ratings`, in the same order.
        pub colours: Vec<Text>,
        /// Opening times of a fuse or breaker, by current.
        pub opens: Vec<OpeningForm>,
        /// Video formats that a camera sends, a screen takes or a selector passes.
        pub formats: Vec<VideoFormat>,
        /// What the shields of its coaxial cables connect to. Usual: its ground, if it has one.
        pub shields: Option<Shields>,
        /// Time from power to picture, for cameras and players; from power to function, for other parts. Usual: 0 s.
        pub start_up: Option<Seconds>,
        /// Time that a screen or selector takes to switch to another input. Usual: 500 ms.
        pub switch_over: Option<Seconds>,
        /// What a screen shows when its picture is lost. Usual: black.
        pub on_loss: Option<OnLoss>,
        /// What a screen shows with which trigger pins on: the first match wins.
        pub shows: Vec<ShowForm>,
        /// What a screen shows when no trigger is on. Usual: home.
        pub otherwise: Option<Idle>,
        /// Total cross-section that a splice takes. Without it, any.
        pub holds: Option<Range<Gauge>>,
        /// Width and height of the body, for drawings.
        pub body: Vec<Metres>,
        /// Source of each figure, by key; `all` for the rest. `typical` marks common practice, no source.
        pub sources: Vec<(Placed<Name>, Text)>,
        /// A note for the bench.
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
        /// Distribution blocks, bus bars, power posts.
        Distribution = "distribution",
        /// Toggles, push buttons, door and position switches, sensors with a switched output.
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
        /// Amplifiers, radios, loudspeakers and what lies between them.
        Audio = "audio",
        /// Media players and other picture sources that aren't cameras.
        Player = "player",
        /// Lamps and work lights.
        Light = "light",
        /// Recorders.
        Recorder = "recorder",
        /// Buzzers, horns, motors, pumps, heaters, power sockets with what is plugged in.
        Load = "load",
        /// Connectors.
        Connector = "connector",
        /// Splices.
        Splice = "splice",
        /// Ring terminals and ground studs.
        Ground = "ground",
        /// Trailer sockets.
        TrailerSocket = "trailer-socket",
        /// Body modules of the vehicle.
        VehicleModule = "vehicle-module",
    }
}

form::form! {
    /// A pin.
    pub struct PinForm ("a pin") {
        /// Kind of signal.
        pub domain: Domain,
        /// Title for drawings, if the name doesn't say enough.
        pub title: Option<Text>,
        /// Continuous current limit. Without it, no limit is checked.
        pub limit: Option<Amps>,
        /// Role of the pin.
        pub is: Option<PinRole>,
        /// What a standard says this pin is for: it must be live with an input of this meaning, and only then.
        pub means: Option<Meaning>,
        /// Whether the part works without a wire here.
        pub optional: YesNo,
        /// Resistance between a pin of pictures or sound and the part's ground. Usual: 75 Ω for pictures.
        pub impedance: Option<Ohms>,
        /// The side whose sound it carries. Without it, the pin is for either side.
        pub side: Option<Side>,
        /// For the − of a loudspeaker channel, or of an input for one: its + pin. A loudspeaker is between the two, and the − of an
        /// output never goes to ground.
        pub minus_of: Option<Placed<Name>>,
        /// For the output of a loudspeaker channel: the least resistance of the loudspeakers on it. Without it, none is checked.
        pub least_load: Option<Ohms>,
    }
}

form::form! {
    /// A side of the vehicle, as the driver sees it.
    pub enum Side ("a side") {
        /// Left.
        Left = "left",
        /// Right.
        Right = "right",
    }
}

form::form! {
    /// What an input says about the vehicle, and what a standard says a pin is for.
    pub enum Meaning ("a meaning") {
        /// The vehicle is in reverse gear. Of an input: the rear view is checked against the times of 49 CFR 571.111.
        ReverseGear = "reverse-gear",
        /// The brake pedal is down: stop lamps.
        Brake = "brake",
        /// Tail and marker lamps are on.
        TailLamps = "tail-lamps",
        /// Left turn signal.
        LeftTurn = "left-turn",
        /// Right turn signal.
        RightTurn = "right-turn",
        /// Rear fog lamp.
        RearFog = "rear-fog",
        /// The parking brake is on.
        ParkingBrake = "parking-brake",
        /// The lighting of the instruments is on.
        Illumination = "illumination",
        /// Pulses of the speed signal: the vehicle moves.
        Speed = "speed",
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
    /// The role of a pin in its part.
    pub enum PinRole ("a role of a pin") {
        /// Takes the supply.
        Feed = "feed",
        /// Returns to ground.
        Return = "return",
        /// Takes a signal.
        Input = "input",
        /// Supplies a signal or a switched feed.
        Output = "output",
        /// Connects its wire through to another pin.
        Through = "through",
    }
}

form::form! {
    /// A video format, named after the signal.
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
    /// What a screen shows when its picture is lost.
    pub enum OnLoss ("what a screen does without a picture") {
        /// Turns black.
        Black = "black",
        /// Turns blue.
        Blue = "blue",
        /// Keeps the last frame.
        Freeze = "freeze",
        /// Shows its home page.
        Home = "home",
    }
}

form::form! {
    /// What the shields of a part's coaxial cables connect to inside it.
    pub enum Shields ("what the shields of cables connect to") {
        /// Its ground.
        Ground = "ground",
        /// Each other, but not its ground.
        Joined = "joined",
        /// Nothing: a transformer isolates the picture.
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
    /// Opening time of a fuse or breaker at one current.
    pub struct OpeningForm ("an opening time") {
        /// The current, as a share of the rating.
        pub at: Share,
        /// Shortest opening time. Without it, it may open at once.
        pub least: Option<Seconds>,
        /// Longest opening time. Without it, it may never open.
        pub most: Option<Seconds>,
    }
}

form::form! {
    /// The terminal on a wire's end, in a cavity or on a pin.
    pub struct TerminalForm ("a terminal") {
        /// Title for the parts list.
        pub title: Text,
        /// Conductor sizes that it takes.
        pub wire: Range<Gauge>,
        /// Whether it comes with the part, for example on a moulded lead, so that it isn't ordered.
        pub supplied: YesNo,
        /// Whether several fit on one point, each on its own wire, like rings on a stud.
        pub stacks: YesNo,
        /// Continuous current limit. Without it, no limit is checked.
        pub current: Option<Amps>,
        /// Insulation to strip. Without it, a typical length for the conductor's size.
        pub strip: Option<Metres>,
        /// Whether it needs a wire seal.
        pub sealed: YesNo,
        /// The wire seal to order.
        pub seal: Option<Text>,
        /// The plug for an empty cavity.
        pub plug: Option<Text>,
        /// Whether it passes on the shield of a coaxial cable around the picture, as phono and other coaxial plugs do.
        pub shield: YesNo,
        /// Contact resistance of a mated pair. Usual: 5 mΩ (common practice, no source).
        pub resistance: Option<Ohms>,
    }
}
