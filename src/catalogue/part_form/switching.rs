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

form::form! {
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

form::form! {
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

form::form! {
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
        /// Longest time for which a change-over contact is open on its way from one side to the other.
        pub transfer: Option<Seconds>,
        /// Operations, mechanical life in thousands.
        pub mechanical_life: Option<u16>,
        /// Operations at rated resistive load, in thousands.
        pub electrical_life: Option<u16>,
    }
}

form::form! {
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

form::form! {
    /// A switch pole that the driver or the vehicle moves.
    pub struct SwitchForm ("a switch") {
        /// The common pin.
        pub common: Placed<Name>,
        /// Its positions, the one at rest first, at most 1000; left out, `off` and then each throw.
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

form::form! {
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

form::form! {
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

form::form! {
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

form::form! {
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
