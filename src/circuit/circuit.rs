//! The circuit: nodes, the branches between them, the inputs that someone moves, and the actors that the circuit itself
//! moves. It knows no YAML, parts or wires; names are only for people.
//!
//! Node 0 is the battery's negative, the zero of all voltages. A branch's current is positive from `from` to `to`; its
//! voltage is that of `from` against `to`. A source drives `to` above `from`, so its current is positive when it
//! delivers.

use super::ids::{ActorId, BranchId, InputId, NodeId, Position, position};
use super::logic::Logic;
use quantity::{Amps, Celsius, Ohms, Share, Span, Volts, Watts};

/// From every node to the battery's negative, so that a floating island has a voltage: 1 GΩ, which draws 12 nA at 12 V.
pub const LEAK: Ohms = Ohms::new(1e9);

/// The lowest resistance that the engine uses: a joint given as zero ohms still has a current.
pub const LEAST_OHMS: Ohms = Ohms::new(1e-6);

/// A circuit with everything that can switch in it.
#[derive(Debug, Clone)]
pub struct Circuit {
    /// Names of the nodes; node 0 is the battery's negative.
    pub nodes: Vec<String>,
    /// The branches.
    pub branches: Vec<Branch>,
    /// What someone moves.
    pub inputs: Vec<CircuitInput>,
    /// What the circuit moves.
    pub actors: Vec<Actor>,
    /// Temperature of copper in the hot corner; it is 20 °C in the cold one.
    pub hot: Celsius,
}

/// A connection of two nodes that carries current.
#[derive(Debug, Clone)]
pub struct Branch {
    /// Its name: `wire 7`, `K1 30-87`.
    pub name: String,
    /// One end.
    pub from: NodeId,
    /// The other end.
    pub to: NodeId,
    /// How its current follows its voltage.
    pub law: Law,
    /// When it is there; it is open at other times.
    pub when: Logic,
    /// How far its resistance, or the voltage of a regulated output, may be off; see [`Corner`](super::Corner).
    pub tolerance: Share,
}

/// How a branch's current follows its voltage.
#[derive(Debug, Clone, PartialEq)]
pub enum Law {
    /// Ohm's law. Copper's resistance is at 20 °C and rises with its temperature.
    Conductor {
        /// At 20 °C.
        ohms: Ohms,
        /// Whether it is copper: a wire, a coil.
        copper: bool,
    },
    /// A voltage behind a resistance. `to` is its positive.
    Source {
        /// Lowest, nominal and highest.
        volts: [Volts; 3],
        /// Inside it.
        ohms: Ohms,
    },
    /// A diode, anode at `from`: nothing below its knee, a slope above, and with `zener` a slope below that.
    Diode {
        /// Where it begins to conduct.
        knee: Volts,
        /// Its slope above the knee, and beyond the Zener voltage.
        ohms: Ohms,
        /// Voltage at which it conducts backwards.
        zener: Option<Volts>,
    },
    /// A suppressor for both directions.
    Suppressor {
        /// Voltage at which it conducts, either way.
        volts: Volts,
        /// Its slope beyond.
        ohms: Ohms,
    },
    /// Constant current above a lowest voltage, proportional to the voltage below it; no current backwards. Electronic
    /// loads, and the leakage of a semiconductor output.
    Current {
        /// Above the lowest voltage.
        amps: Amps,
        /// Lowest working voltage.
        least: Volts,
    },
    /// Constant power above a lowest voltage, current proportional to the voltage below it; no current backwards.
    Power {
        /// Above the lowest voltage.
        watts: Watts,
        /// Lowest working voltage.
        least: Volts,
    },
    /// An incandescent lamp; see [`Lamps`](super::Lamps) and `laws.rs` for its curve.
    Lamp {
        /// Voltage that its power is rated at.
        rated: Volts,
        /// At the rated voltage.
        watts: Watts,
    },
    /// An LED lamp with its series resistors, anode at `from`.
    Led {
        /// No current below.
        knee: Volts,
        /// Its slope above.
        ohms: Ohms,
    },
    /// A feed driven with pulse-width modulation from `from` to `to`: on and off in turn. At the lowest
    /// supply its on-time share is the lowest, at the highest supply the highest, else the middle between them.
    Pulsed {
        /// When on.
        ohms: Ohms,
        /// On-time share.
        duty: Span<Share>,
    },
    /// The output side of a converter: `to` held above `from` up to a highest current, which it then keeps. Takes no
    /// current back.
    Regulated {
        /// Without load.
        volts: Volts,
        /// Inside it.
        ohms: Ohms,
        /// Highest current.
        limit: Amps,
    },
    /// The input side of a converter: it draws what the output side gives, over the efficiency, and an idle current.
    Drawn {
        /// The output side, a [`Law::Regulated`].
        output: BranchId,
        /// Power out by power in.
        efficiency: Share,
        /// With nothing on its output.
        idle: Amps,
        /// Lowest working voltage; below it the current is proportional to the voltage.
        least: Volts,
    },
}

/// Something that someone moves: a switch, the key, a feed of the vehicle.
#[derive(Debug, Clone)]
pub struct CircuitInput {
    /// Its name.
    pub name: String,
    /// Its positions, the one at rest first. At least two.
    pub positions: Vec<String>,
    /// Whether it springs back.
    pub momentary: bool,
    /// The condition, over inputs alone, for it to be away from rest. When that ends, it returns to rest in the same
    /// move.
    pub needs: Logic,
    /// Inputs that can't be away from rest together with this one.
    pub excludes: Vec<InputId>,
}

/// Something that the circuit moves: on or off, by a rule.
#[derive(Debug, Clone)]
pub struct Actor {
    /// Its name: `K1`, `HU1 REV`.
    pub name: String,
    /// What moves it.
    pub rule: ActorRule,
    /// The condition for it to be on or to remember anything: the supply of a module.
    pub powered: Logic,
    /// How far the voltages of its rule may be off, as those of a coil are with its resistance.
    pub tolerance: Share,
}

/// Which of the voltages of a pulsed feed a threshold follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Senses {
    /// The mean of pulses: a coil, which keeps its current through the off-time. Its thresholds rise with the
    /// resistance of its copper, and it moves for current in either direction.
    Coil,
    /// The mean of pulses: a lamp, a heater, a motor.
    Mean,
    /// Each pulse: a trigger input.
    Each,
    /// The lowest: electronics, which restart with each pulse.
    Least,
}

impl Senses {
    /// Whether a copper coil does the sensing.
    pub fn is_coil(self) -> bool {
        self == Senses::Coil
    }
}

/// What moves an actor. All actors with reason to move do so together, then the circuit is solved again.
#[derive(Debug, Clone, PartialEq)]
pub enum ActorRule {
    /// On at and above one voltage, off at and below another; between them it stays as it was.
    Threshold {
        /// Measured from here
        plus: NodeId,
        /// against here.
        minus: NodeId,
        /// On at and above this.
        on: Volts,
        /// Off at and below this.
        off: Volts,
        /// Which voltage it follows where a feed is pulsed.
        senses: Senses,
    },
    /// Stays where it was put; `reset` wins over `set`.
    Latch {
        /// Puts it on.
        set: Logic,
        /// Puts it off.
        reset: Logic,
    },
    /// Changes each time `start` begins.
    Toggle {
        /// Its trigger.
        start: Logic,
    },
    /// On at once, off some time after `start` has gone.
    Hold {
        /// Its trigger.
        start: Logic,
    },
    /// On when `start` has lasted some time, off at once.
    Delay {
        /// Its trigger.
        start: Logic,
    },
    /// On for some time from each beginning of `start`.
    Pulse {
        /// Its trigger.
        start: Logic,
    },
}

impl ActorRule {
    /// Whether it is meant as memory. The position that a threshold keeps between its voltages is not.
    pub fn is_memory(&self) -> bool {
        !matches!(self, ActorRule::Threshold { .. })
    }

    /// Whether time alone moves it.
    pub fn is_timed(&self) -> bool {
        matches!(self, ActorRule::Hold { .. } | ActorRule::Delay { .. } | ActorRule::Pulse { .. })
    }
}

impl CircuitInput {
    /// Its positions by number, the one at rest first.
    pub fn each_position(&self) -> std::ops::Range<Position> {
        0..position(self.positions.len())
    }
}

impl Default for Circuit {
    fn default() -> Self {
        Circuit::new()
    }
}

impl Circuit {
    /// A circuit of the battery's negative alone. The hot corner is at 60 °C.
    pub fn new() -> Self {
        Circuit {
            nodes: vec!["battery −".into()],
            branches: vec![],
            inputs: vec![],
            actors: vec![],
            hot: Celsius::new(60.0),
        }
    }

    /// Adds a node.
    pub fn node(&mut self, name: impl Into<String>) -> NodeId {
        self.nodes.push(name.into());
        NodeId(self.nodes.len() as u32 - 1)
    }

    /// Adds a branch that is always there.
    pub fn branch(&mut self, name: impl Into<String>, from: NodeId, to: NodeId, law: Law) -> BranchId {
        self.switched(name, from, to, law, Logic::Always)
    }

    /// Adds a branch that is there when `when` holds.
    pub fn switched(&mut self, name: impl Into<String>, from: NodeId, to: NodeId, law: Law, when: Logic) -> BranchId {
        self.branches.push(Branch { name: name.into(), from, to, law, when, tolerance: Share::new(0.0) });
        BranchId(self.branches.len() as u32 - 1)
    }

    /// Adds a conductor that isn't copper: a fuse, a joint, a resistor.
    pub fn resistor(&mut self, name: impl Into<String>, from: NodeId, to: NodeId, ohms: Ohms) -> BranchId {
        self.branch(name, from, to, Law::Conductor { ohms, copper: false })
    }

    /// Adds an input with free positions.
    pub fn input(&mut self, name: impl Into<String>, positions: &[&str]) -> InputId {
        let positions = positions.iter().map(|p| (*p).to_string()).collect();
        let input =
            CircuitInput { name: name.into(), positions, momentary: false, needs: Logic::Always, excludes: vec![] };
        self.inputs.push(input);
        InputId(self.inputs.len() as u32 - 1)
    }

    /// Adds an actor that is always powered.
    pub fn actor(&mut self, name: impl Into<String>, rule: ActorRule) -> ActorId {
        self.actors.push(Actor { name: name.into(), rule, powered: Logic::Always, tolerance: Share::new(0.0) });
        ActorId(self.actors.len() as u32 - 1)
    }

    /// The input of that name.
    pub fn input_named(&self, name: &str) -> Option<InputId> {
        self.inputs.iter().position(|input| input.name == name).map(|i| InputId(i as u32))
    }

    /// The node of that name.
    pub fn node_named(&self, name: &str) -> Option<NodeId> {
        self.nodes.iter().position(|node| node == name).map(|i| NodeId(i as u32))
    }

    /// The actor of that name.
    pub fn actor_named(&self, name: &str) -> Option<ActorId> {
        self.actors.iter().position(|actor| actor.name == name).map(|i| ActorId(i as u32))
    }

    /// The branch of that name.
    pub fn branch_named(&self, name: &str) -> Option<BranchId> {
        self.branches.iter().position(|branch| branch.name == name).map(|i| BranchId(i as u32))
    }
}
