//! What is inside a part, and those of it that nothing moves: resistances, loads, converters, and the paths of pictures.

use super::switching::{CoilForm, ContactForm, OutputForm, SenseForm, SwitchForm, TimerForm};
use form;
use form::values::Draw;
use form::{Condition, Name, Placed};
use quantity::{Amps, Ohms, Share, Volts, Watts};

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
    /// Where a picture or a sound starts.
    pub struct SourceForm ("a source") {
        /// The pin.
        pub pin: Placed<Name>,
        /// When: signals of this part, or `working`; left out, `working`.
        pub when: Option<Condition>,
    }
}
