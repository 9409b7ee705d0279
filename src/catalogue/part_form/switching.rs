//! What switches inside a part: coils and their contacts, trigger inputs, switches, outputs, timers.

use form;
use form::{Condition, Name, Placed, Range, YesNo};
use quantity::{Amps, Ohms, Seconds, Share, Volts};

/// Most positions of an input and of a switch. Its number stands in the descriptions of both forms.
pub const MOST_POSITIONS: usize = 1000;

form::form! {
    /// A relay coil.
    pub struct CoilForm ("a coil") {
        /// The relay's name inside the part, which its contacts refer to.
        pub relay: Placed<Name>,
        /// The feed side, DIN 72552 terminal 86.
        pub feed: Placed<Name>,
        /// The ground side, DIN 72552 terminal 85.
        pub ground: Placed<Name>,
        /// Resistance at 20 °C.
        pub resistance: Ohms,
        /// Tolerance of the resistance; pull-in and drop-out voltage change in proportion. Usual: 0 %.
        pub tolerance: Option<Share>,
        /// Voltage at which it certainly pulls in.
        pub pull_in: Volts,
        /// Voltage at which it has certainly dropped out.
        pub drop_out: Volts,
        /// Operate time. Usual: 10 ms.
        pub operate: Option<Seconds>,
        /// Release time. Usual: 10 ms.
        pub release: Option<Seconds>,
        /// Suppression across the coil. Usual: nothing.
        pub across: Option<Across>,
        /// Resistance of a resistor across the coil. Without it, the coil has no resistor.
        pub across_resistance: Option<Ohms>,
        /// Effect of the coil on its contacts. Usual: holds.
        pub acts: Option<Acts>,
    }
}

form::form! {
    /// Suppression across a coil.
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

form::form! {
    /// The effect of a coil on its contacts.
    pub enum Acts ("what a coil does") {
        /// Holds them while it is energised.
        Holds = "holds",
        /// Sets them; they stay.
        Sets = "sets",
        /// Resets them; they stay.
        Resets = "resets",
        /// Toggles them each time it pulls in; they stay.
        Toggles = "toggles",
    }
}

form::form! {
    /// A contact of a relay.
    pub struct ContactForm ("a contact") {
        /// The relay inside this part.
        pub of: Placed<Name>,
        /// Common pin, DIN 72552 terminal 30.
        pub common: Placed<Name>,
        /// Pin that is connected when energised or set, terminal 87.
        pub made: Option<Placed<Name>>,
        /// Pin that is connected at rest or when reset, terminal 87a.
        pub rest: Option<Placed<Name>>,
        /// Resistance of the closed contact. Usual: 10 mΩ.
        pub resistance: Option<Ohms>,
        /// Rating by kind of load.
        pub rating: Option<ContactRating>,
        /// Longest transfer time of a change-over contact, in which neither side is connected. Usual: 0 s.
        pub transfer: Option<Seconds>,
        /// Mechanical life, in thousands of operations. Without it, it is not checked.
        pub mechanical_life: Option<u16>,
        /// Electrical life at rated resistive load, in thousands of operations. Without it, it is not checked.
        pub electrical_life: Option<u16>,
    }
}

form::form! {
    /// The rating of a contact by kind of load.
    pub struct ContactRating ("a contact rating") {
        /// Resistive loads, make contact.
        pub resistive: Amps,
        /// Resistive loads, rest contact. Without it, as of the make contact.
        pub rest: Option<Amps>,
        /// Incandescent lamps, steady current. Without it, that of resistive loads.
        pub lamp: Option<Amps>,
        /// Coils and motors. Without it, that of resistive loads.
        pub inductive: Option<Amps>,
        /// Inrush of any load, make contact. Without it, it is not checked.
        pub inrush: Option<Amps>,
        /// Inrush of any load, rest contact. Without it, that of the make contact, in proportion to the resistive ratings.
        pub rest_inrush: Option<Amps>,
    }
}

form::form! {
    /// A switch pole that the driver or the vehicle operates.
    pub struct SwitchForm ("a switch") {
        /// The common pin.
        pub common: Placed<Name>,
        /// Its positions, rest position first, at most 1000; without it, `off` and then each throw.
        pub positions: Vec<Placed<Name>>,
        /// For each position that connects a pin, that pin.
        pub throws: Vec<(Placed<Name>, Placed<Name>)>,
        /// Whether it springs back.
        pub momentary: YesNo,
        /// Resistance of a closed throw. Usual: 20 mΩ.
        pub resistance: Option<Ohms>,
        /// Maximum current that it may switch. Without it, no limit is checked.
        pub rating: Option<Amps>,
        /// Longest bounce time of its contacts. Usual: 5 ms.
        pub bounce: Option<Seconds>,
    }
}

form::form! {
    /// A semiconductor output. With `feed` it switches the positive side, with `ground` the negative.
    pub struct OutputForm ("an output") {
        /// The pin.
        pub pin: Placed<Name>,
        /// Feed pin of a high-side output.
        pub feed: Option<Placed<Name>>,
        /// Ground pin of a low-side output.
        pub ground: Option<Placed<Name>>,
        /// When it is on, as a condition on signals of this part or `working` (its load has its working voltage).
        pub when: Condition,
        /// Continuous current limit. Without it, no limit is checked.
        pub limit: Option<Amps>,
        /// Resistance when on. Usual: 100 mΩ.
        pub resistance: Option<Ohms>,
        /// Leakage current when off. Usual: 0 A.
        pub leakage: Option<Amps>,
    }
}

form::form! {
    /// A trigger input.
    pub struct SenseForm ("a trigger input") {
        /// The signal's name inside the part, for conditions.
        pub name: Placed<Name>,
        /// The pin.
        pub pin: Placed<Name>,
        /// Reference pin.
        pub ground: Placed<Name>,
        /// Voltage from which it is certainly on.
        pub on_above: Volts,
        /// Voltage up to which it is certainly off.
        pub off_below: Volts,
        /// Resistance from the pin to ground. Usual: 100 kΩ.
        pub resistance: Option<Ohms>,
        /// Resistance from the pin to the pull-up pin. Without it, there is none.
        pub pull_up: Option<Ohms>,
        /// Pull-up pin.
        pub feed: Option<Placed<Name>>,
    }
}

form::form! {
    /// A timer or memory.
    pub struct TimerForm ("a timer") {
        /// The signal's name inside the part.
        pub name: Placed<Name>,
        /// Kind of timer.
        pub kind: TimerKind,
        /// What starts it, as a condition on signals of this part.
        pub from: Condition,
        /// What clears a latch.
        pub reset: Option<Condition>,
        /// Its time; the entry in the spec may override it. Without it, the entry gives it.
        pub time: Option<Seconds>,
        /// Range of times to which it can be set. Without it, any.
        pub times: Option<Range<Seconds>>,
        /// Tolerance of the time. Usual: 0 %.
        pub tolerance: Option<Share>,
        /// Of a toggle: how long its trigger must have been off before the next one counts, so that bouncing contacts
        /// count once. Usual: 0 s.
        pub debounce: Option<Seconds>,
    }
}

form::form! {
    /// What a timer does.
    pub enum TimerKind ("a kind of timer") {
        /// On at once; off after its time, counted from the end of the trigger.
        Hold = "hold",
        /// On when the trigger has lasted its time; off at once.
        Delay = "delay",
        /// On for its time from the start of each trigger, however long the trigger lasts.
        Pulse = "pulse",
        /// Toggles at each trigger.
        Toggle = "toggle",
        /// On from the trigger until its reset.
        Latch = "latch",
    }
}
