//! The elements inside a part, and the forms of those that don't switch: resistances, loads, converters and the paths
//! of pictures.

use super::switching::{CoilForm, ContactForm, OutputForm, SenseForm, SwitchForm, TimerForm};
use form;
use form::values::Draw;
use form::{Condition, Name, Placed};
use quantity::{Amps, Ohms, Share, Volts, Watts};

form::form! {
    /// An element between the pins of a part.
    pub union Inside ("what is inside a part") {
        /// A resistor or a connection with low resistance.
        Resistor(ResistorForm) = "resistor",
        /// A fuse or breaker element.
        Fuse(FuseForm) = "fuse",
        /// A relay coil.
        Coil(CoilForm) = "coil",
        /// A contact that a coil operates.
        Contact(ContactForm) = "contact",
        /// A diode, piecewise linear; with `blocks` a Zener diode or a transient suppressor.
        Diode(DiodeForm) = "diode",
        /// A load that draws current.
        Load(LoadForm) = "load",
        /// A trigger input: it turns the voltage on a pin into on or off.
        Sense(SenseForm) = "sense",
        /// A switch that the driver or the vehicle operates.
        Switch(SwitchForm) = "switch",
        /// A semiconductor output.
        Output(OutputForm) = "output",
        /// A timer or memory: hold, delay, pulse, toggle, latch.
        Timer(TimerForm) = "timer",
        /// A DC converter.
        Converter(ConverterForm) = "converter",
        /// A path for video, audio or data through the part.
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
        /// Its tolerance. Usual: 0 %.
        pub tolerance: Option<Share>,
        /// Continuous power limit. Without it, no limit is checked.
        pub limit: Option<Watts>,
    }
}

form::form! {
    /// A fuse between two pins. The part gives its rating.
    pub struct FuseForm ("a fuse") {
        /// The two pins.
        pub between: Vec<Placed<Name>>,
        /// Cold resistance; without it, the rating gives it.
        pub resistance: Option<Ohms>,
        /// Its tolerance. Usual: 0 %.
        pub tolerance: Option<Share>,
    }
}

form::form! {
    /// A diode between two pins.
    pub struct DiodeForm ("a diode") {
        /// Pin where current enters.
        pub anode: Placed<Name>,
        /// Pin where current leaves.
        pub cathode: Placed<Name>,
        /// Forward voltage at the knee.
        pub drop: Volts,
        /// Resistance above the knee. Usual: 50 mΩ.
        pub resistance: Option<Ohms>,
        /// Reverse voltage at which it conducts (Zener diodes and suppressors). Without it, it blocks any.
        pub blocks: Option<Volts>,
        /// Continuous current limit. Without it, no limit is checked.
        pub limit: Option<Amps>,
    }
}

form::form! {
    /// A load that draws current.
    pub struct LoadForm ("a load") {
        /// A name, where the part has more than one load.
        pub name: Option<Placed<Name>>,
        /// Pin where current enters.
        pub feed: Placed<Name>,
        /// Pin where current leaves.
        pub ground: Placed<Name>,
        /// How its current depends on its voltage.
        pub kind: LoadKind,
        /// Current or power at its nominal voltage; the entry in the spec may override it.
        pub draws: Draw,
        /// Lowest working voltage. Usual: 0 V.
        pub least: Option<Volts>,
        /// Inrush current. Without it, what it draws.
        pub inrush: Option<Amps>,
        /// When it is on, as a condition on signals of this part; without it, always.
        pub when: Option<Condition>,
        /// Standby current while the part's electronics keep it off. Usual: 0 A.
        pub standby: Option<Amps>,
    }
}

form::form! {
    /// How a load's current depends on its voltage.
    pub enum LoadKind ("a kind of load") {
        /// Constant current above its lowest working voltage.
        Electronic = "electronic",
        /// Constant power above its lowest working voltage.
        ConstantPower = "constant-power",
        /// Constant resistance.
        Resistive = "resistive",
        /// Incandescent lamp: cold, it has a tenth of its hot resistance.
        Lamp = "lamp",
        /// LED lamp with series resistors: no current below its knee.
        Led = "led",
        /// Motor: resistive when running, several times the current at the start.
        Motor = "motor",
    }
}

form::form! {
    /// A DC converter.
    pub struct ConverterForm ("a converter") {
        /// Input pin.
        pub input: Placed<Name>,
        /// Output pin.
        pub output: Placed<Name>,
        /// Common negative of input and output.
        pub ground: Placed<Name>,
        /// Output voltage.
        pub volts: Volts,
        /// Lowest input voltage at which it works.
        pub least: Volts,
        /// Output power divided by input power.
        pub efficiency: Share,
        /// Maximum output current.
        pub limit: Amps,
        /// Input current without a load on the output. Usual: 0 A.
        pub idle: Option<Amps>,
        /// Output resistance. Usual: 20 mΩ.
        pub resistance: Option<Ohms>,
        /// Tolerance of the output voltage. Usual: 0 %.
        pub tolerance: Option<Share>,
        /// When it works, as a condition on signals of this part; without it, always.
        pub when: Option<Condition>,
    }
}

form::form! {
    /// A path for a signal through the part.
    pub struct PassesForm ("a path") {
        /// Input pin.
        pub from: Placed<Name>,
        /// Output pin.
        pub to: Placed<Name>,
        /// When the path is open, as a condition on signals of this part or `working`; without it, always.
        pub when: Option<Condition>,
    }
}

form::form! {
    /// Where a picture or a sound starts.
    pub struct SourceForm ("a source") {
        /// The pin.
        pub pin: Placed<Name>,
        /// When the signal is there, as a condition on signals of this part or `working`; without it, `working`.
        pub when: Option<Condition>,
    }
}
