//! The form of a part: what a catalogue file, a shop's parts file or a spec says of a kind of part.
//!
//! A part is pins, and what is `inside` between them. The circuit, the picture path and the timeline all follow from
//! that alone; no later stage knows a part by its name.

use crate::form;
use crate::form::values::Draw;
use crate::form::{Condition, Entries, Name, Placed, Range, Text, YesNo};
use crate::quantity::{Amps, Gauge, Metres, Ohms, Seconds, Share, Volts, Watts};

form! {
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

form! {
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

form! {
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

form! {
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

form! {
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

form! {
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

form! {
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

form! {
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

form! {
    /// What a screen shows when no trigger is on.
    pub enum Idle ("what a screen shows without a trigger") {
        /// Its own home page.
        Home = "home",
        /// Nothing.
        Black = "black",
    }
}

form! {
    /// What a screen shows when a trigger pin is on.
    pub struct ShowForm ("what a screen shows") {
        /// Its trigger pins, as a condition.
        pub when: Condition,
        /// The video pin that it then shows.
        pub input: Placed<Name>,
    }
}

form! {
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

form! {
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

form! {
    /// Something between the pins of a part.
    pub union Inside ("what is inside a part") {
        /// A resistance, or a plain joint of small resistance.
        Resistor(ResistorForm) = "resistor",
        /// A fuse or breaker element.
        Fuse(FuseForm) = "fuse",
        /// A relay coil.
        Coil(CoilForm) = "coil",
        /// A contact that a coil moves.
        Contact(ContactForm) = "contact",
        /// A diode, piecewise linear; with `blocks` a Zener diode or a transient suppressor.
        Diode(DiodeForm) = "diode",
        /// Something that draws current.
        Load(LoadForm) = "load",
        /// A trigger input: voltage on a pin turned into on or off.
        Sense(SenseForm) = "sense",
        /// A switch that the driver or the vehicle moves.
        Switch(SwitchForm) = "switch",
        /// A semiconductor output.
        Output(OutputForm) = "output",
        /// A signal that remembers: hold, delay, latch, pulse.
        Timer(TimerForm) = "timer",
        /// A DC converter.
        Converter(ConverterForm) = "converter",
        /// A path that video, audio or data takes through the part.
        Passes(PassesForm) = "passes",
        /// Where a picture or a sound starts.
        Source(SourceForm) = "source",
    }
}

form! {
    /// A resistance between two pins.
    pub struct ResistorForm ("a resistor") {
        /// The two pins.
        pub between: Vec<Placed<Name>>,
        /// Its resistance.
        pub resistance: Ohms,
        /// How far that may be off.
        pub tolerance: Option<Share>,
        /// Greatest power for long.
        pub limit: Option<Watts>,
    }
}

form! {
    /// A fuse between two pins. Its rating is the part's.
    pub struct FuseForm ("a fuse") {
        /// The two pins.
        pub between: Vec<Placed<Name>>,
        /// Cold resistance; left out, it follows from the rating.
        pub resistance: Option<Ohms>,
        /// How far that may be off.
        pub tolerance: Option<Share>,
    }
}

form! {
    /// A relay coil.
    pub struct CoilForm ("a coil") {
        /// The relay's name inside the part, which its contacts refer to.
        pub relay: Placed<Name>,
        /// The feed side, DIN 72552 terminal 86.
        pub feed: Placed<Name>,
        /// The ground side, DIN 72552 terminal 85.
        pub ground: Placed<Name>,
        /// At 20 °C.
        pub resistance: Ohms,
        /// How far that may be off; the voltages that move it are then off as much.
        pub tolerance: Option<Share>,
        /// Voltage that surely pulls it in.
        pub pull_in: Volts,
        /// Voltage at which it surely has dropped out.
        pub drop_out: Volts,
        /// Time to pull in.
        pub operate: Option<Seconds>,
        /// Time to drop out.
        pub release: Option<Seconds>,
        /// What is across the coil.
        pub across: Option<Across>,
        /// Resistance of a resistor across the coil.
        pub across_resistance: Option<Ohms>,
        /// What a pulled-in coil does to the contacts.
        pub acts: Option<Acts>,
    }
}

form! {
    /// What is across a coil.
    pub enum Across ("what is across a coil") {
        /// Nothing.
        Nothing = "nothing",
        /// A diode, cathode to the feed side.
        Diode = "diode",
        /// A resistor.
        Resistor = "resistor",
        /// A transient suppressor for both directions.
        Suppressor = "suppressor",
    }
}

form! {
    /// What a pulled-in coil does to its contacts.
    pub enum Acts ("what a coil does") {
        /// Holds them while it is energised.
        Holds = "holds",
        /// Sets them; they stay.
        Sets = "sets",
        /// Resets them; they stay.
        Resets = "resets",
        /// Turns them over each time it pulls in; they stay.
        Toggles = "toggles",
    }
}

form! {
    /// A contact of a relay.
    pub struct ContactForm ("a contact") {
        /// The relay inside this part.
        pub of: Placed<Name>,
        /// The common, DIN 72552 terminal 30.
        pub common: Placed<Name>,
        /// Made when energised or set, terminal 87.
        pub made: Option<Placed<Name>>,
        /// Made when at rest or reset, terminal 87a.
        pub rest: Option<Placed<Name>>,
        /// Resistance of the closed contact.
        pub resistance: Option<Ohms>,
        /// What it may switch, by kind of load.
        pub rating: Option<ContactRating>,
        /// Operations, mechanical life in thousands.
        pub mechanical_life: Option<u16>,
        /// Operations at rated resistive load, in thousands.
        pub electrical_life: Option<u16>,
    }
}

form! {
    /// What a contact may switch, by kind of load.
    pub struct ContactRating ("a contact rating") {
        /// Resistive loads, the made contact.
        pub resistive: Amps,
        /// Resistive loads, the rest contact.
        pub rest: Option<Amps>,
        /// Incandescent lamps, steady current.
        pub lamp: Option<Amps>,
        /// Coils and motors.
        pub inductive: Option<Amps>,
        /// Inrush of whatever kind, the made contact.
        pub inrush: Option<Amps>,
        /// Inrush of whatever kind, the rest contact.
        pub rest_inrush: Option<Amps>,
    }
}

form! {
    /// A diode between two pins.
    pub struct DiodeForm ("a diode") {
        /// Current goes in here.
        pub anode: Placed<Name>,
        /// And out here.
        pub cathode: Placed<Name>,
        /// Voltage of its knee.
        pub drop: Volts,
        /// Slope above the knee.
        pub resistance: Option<Ohms>,
        /// Voltage at which it conducts backwards.
        pub blocks: Option<Volts>,
        /// Greatest current for long.
        pub limit: Option<Amps>,
    }
}

form! {
    /// Something that draws current.
    pub struct LoadForm ("a load") {
        /// A name, where the part has more than one load.
        pub name: Option<Placed<Name>>,
        /// Where current goes in.
        pub feed: Placed<Name>,
        /// Where it comes out.
        pub ground: Placed<Name>,
        /// How its current follows its voltage.
        pub kind: LoadKind,
        /// What it draws at its nominal voltage, when the part's entry gives nothing else.
        pub draws: Draw,
        /// Voltage below which it doesn't work.
        pub least: Option<Volts>,
        /// Current at the moment of switching on.
        pub inrush: Option<Amps>,
        /// When it draws: signals of this part; left out, always.
        pub when: Option<Condition>,
        /// What it draws while its own electronics keep it off.
        pub standby: Option<Amps>,
    }
}

form! {
    /// How a load's current follows its voltage.
    pub enum LoadKind ("a kind of load") {
        /// Constant current above its least working voltage.
        Electronic = "electronic",
        /// Constant power above its least working voltage.
        ConstantPower = "constant-power",
        /// Ohm's law.
        Resistive = "resistive",
        /// Incandescent: cold it is a tenth of its hot resistance.
        Lamp = "lamp",
        /// LED lamp with series resistors: nothing below its knee.
        Led = "led",
        /// Motor: resistive when running, several times that at the start.
        Motor = "motor",
    }
}

form! {
    /// A trigger input.
    pub struct SenseForm ("a trigger input") {
        /// The signal's name inside the part, for conditions.
        pub name: Placed<Name>,
        /// The pin.
        pub pin: Placed<Name>,
        /// The pin that it is measured against.
        pub ground: Placed<Name>,
        /// Voltage at and above which it surely is on.
        pub on_above: Volts,
        /// Voltage at and below which it surely is off.
        pub off_below: Volts,
        /// Resistance from the pin to ground.
        pub resistance: Option<Ohms>,
        /// Resistance from the pin to the pull-up pin.
        pub pull_up: Option<Ohms>,
        /// The pin that the pull-up goes to.
        pub feed: Option<Placed<Name>>,
    }
}

form! {
    /// A switch pole that the driver or the vehicle moves.
    pub struct SwitchForm ("a switch") {
        /// The common pin.
        pub common: Placed<Name>,
        /// Its positions, the one at rest first; left out, `off` and then each throw.
        pub positions: Vec<Placed<Name>>,
        /// For each position that makes a contact, the pin it makes.
        pub throws: Vec<(Placed<Name>, Placed<Name>)>,
        /// Whether it springs back.
        pub momentary: YesNo,
        /// Resistance of a closed throw.
        pub resistance: Option<Ohms>,
        /// What it may switch.
        pub rating: Option<Amps>,
        /// Longest time its contacts bounce.
        pub bounce: Option<Seconds>,
    }
}

form! {
    /// A semiconductor output. With `feed` it switches the positive side, with `ground` the negative.
    pub struct OutputForm ("an output") {
        /// The pin.
        pub pin: Placed<Name>,
        /// Where a high-side output takes its current from.
        pub feed: Option<Placed<Name>>,
        /// Where a low-side output sends its current to.
        pub ground: Option<Placed<Name>>,
        /// When it is on: signals of this part, or `working` (the part's load has its least voltage).
        pub when: Condition,
        /// Greatest current for long.
        pub limit: Option<Amps>,
        /// Resistance when on.
        pub resistance: Option<Ohms>,
        /// Current through it when off.
        pub leakage: Option<Amps>,
    }
}

form! {
    /// A signal that remembers.
    pub struct TimerForm ("a timer") {
        /// The signal's name inside the part.
        pub name: Placed<Name>,
        /// What it does.
        pub kind: TimerKind,
        /// What starts it: signals of this part.
        pub from: Condition,
        /// What clears a latch.
        pub reset: Option<Condition>,
        /// Its time, when the part's entry gives no other.
        pub time: Option<Seconds>,
        /// Times that it can be set to.
        pub times: Option<Range<Seconds>>,
        /// Tolerance of the time.
        pub tolerance: Option<Share>,
    }
}

form! {
    /// What a timer does.
    pub enum TimerKind ("a kind of timer") {
        /// On at once, off a time after its start has gone.
        Hold = "hold",
        /// On when its start has lasted a time, off at once.
        Delay = "delay",
        /// On for a time from each start, however long that lasts.
        Pulse = "pulse",
        /// Turns over at each start.
        Toggle = "toggle",
        /// On from a start until its reset.
        Latch = "latch",
    }
}

form! {
    /// A DC converter.
    pub struct ConverterForm ("a converter") {
        /// Supply in.
        pub input: Placed<Name>,
        /// Supply out.
        pub output: Placed<Name>,
        /// The negative of both.
        pub ground: Placed<Name>,
        /// Output voltage.
        pub volts: Volts,
        /// Least input voltage at which it works.
        pub least: Volts,
        /// Power out by power in.
        pub efficiency: Share,
        /// Greatest output current.
        pub limit: Amps,
        /// Input current with nothing on its output.
        pub idle: Option<Amps>,
        /// Output resistance.
        pub resistance: Option<Ohms>,
        /// How far the output voltage may be off.
        pub tolerance: Option<Share>,
    }
}

form! {
    /// A path that a signal takes through the part.
    pub struct PassesForm ("a path") {
        /// In here.
        pub from: Placed<Name>,
        /// Out here.
        pub to: Placed<Name>,
        /// When: signals of this part, or `working`; left out, always.
        pub when: Option<Condition>,
    }
}

form! {
    /// Where a picture or a sound starts.
    pub struct SourceForm ("a source") {
        /// The pin.
        pub pin: Placed<Name>,
        /// When: signals of this part, or `working`; left out, `working`.
        pub when: Option<Condition>,
    }
}
