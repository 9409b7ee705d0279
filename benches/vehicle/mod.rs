//! Vehicles made up for measuring: as large as one likes, all alike.

use circuit::{ActorId, ActorRule, Circuit, InputId, Law, Logic, NEGATIVE, NodeId, Senses};
use quantity::{Ohms, Volts};

/// A vehicle with `inputs` feeds of its own, each with a lamp, a relay that it pulls in over an OR of diodes, and what the
/// relay feeds. Feeds within a `group` pull in each other's relays; groups share the supply and the chassis only. What is
/// missing to the number of `nodes` is made up of things that are always on.
pub fn vehicle(inputs: usize, group: usize, nodes: usize) -> Circuit {
    let mut built = Built::new();
    let mut at = 0;
    while at < inputs {
        built.group(group.min(inputs - at));
        at += group;
    }
    while built.circuit.nodes.len() + 3 <= nodes {
        let fed = built.wire(built.bus, "always on", 20.0);
        let plus = built.wire(fed, "always on +", 30.0);
        let minus = built.wire(built.chassis, "always on −", 30.0);
        built.circuit.resistor("always on", plus, minus, ohms(1000.0));
    }
    built.circuit
}

struct Built {
    circuit: Circuit,
    bus: NodeId,
    chassis: NodeId,
}

fn ohms(value: f64) -> Ohms {
    Ohms::new(value)
}

/// A feed of the vehicle: where it is tapped, and the input that makes it live.
struct Feed {
    tap: NodeId,
}

impl Built {
    fn new() -> Self {
        let mut circuit = Circuit::new();
        let (plus, fuse, bus) = (circuit.node("battery +"), circuit.node("main fuse"), circuit.node("bus"));
        let chassis = circuit.node("chassis");
        let volts = [11.8, 12.6, 14.6].map(Volts::new);
        circuit.branch("battery", NEGATIVE, plus, Law::Source { volts, ohms: ohms(0.012) });
        circuit.resistor("main fuse", plus, fuse, ohms(0.002));
        circuit.branch("main feed", fuse, bus, Law::Conductor { ohms: ohms(0.004), copper: true });
        circuit.resistor("chassis", chassis, NEGATIVE, ohms(0.003));
        Built { circuit, bus, chassis }
    }

    fn node(&mut self, name: &str) -> NodeId {
        let number = self.circuit.nodes.len();
        self.circuit.node(format!("{name} {number}"))
    }

    fn wire(&mut self, from: NodeId, name: &str, milliohms: f64) -> NodeId {
        let to = self.node(name);
        self.circuit.branch("wire", from, to, Law::Conductor { ohms: ohms(milliohms / 1000.0), copper: true });
        to
    }

    fn diode(&mut self, from: NodeId, to: NodeId) {
        self.circuit.branch("diode", from, to, Law::Diode { knee: Volts::new(0.65), ohms: ohms(0.06), zener: None });
    }

    fn closed(&mut self, from: NodeId, to: NodeId, when: Logic) {
        self.circuit.switched("contact", from, to, Law::Conductor { ohms: ohms(0.008), copper: false }, when);
    }

    fn feed(&mut self) -> Feed {
        let name = format!("input {}", self.circuit.inputs.len());
        let input: InputId = self.circuit.input(name, &["off", "on"]);
        let supply = self.wire(self.bus, "feed supply", 6.0);
        let tap = self.node("tap");
        self.closed(supply, tap, Logic::At(input, 1));
        let lamp = self.wire(tap, "lamp", 25.0);
        self.circuit.resistor("lamp", lamp, self.chassis, ohms(7.0));
        let tap = self.wire(tap, "trigger", 40.0);
        Feed { tap }
    }

    fn relay(&mut self, coil_plus: NodeId) -> ActorId {
        let minus = self.wire(self.chassis, "coil −", 20.0);
        self.circuit.branch("coil", coil_plus, minus, Law::Conductor { ohms: ohms(85.0), copper: true });
        let (on, off) = (Volts::new(7.2), Volts::new(1.5));
        let name = format!("K{}", self.circuit.actors.len());
        self.circuit.actor(name, ActorRule::Threshold { plus: coil_plus, minus, on, off, senses: Senses::Mean })
    }

    fn group(&mut self, inputs: usize) {
        let feeds: Vec<Feed> = (0..inputs).map(|_| self.feed()).collect();
        let screen = self.node("screen trigger");
        self.circuit.resistor("pull-down", screen, self.chassis, ohms(10_000.0));
        let mut before = None;
        for i in 0..inputs {
            // Its own feed, and the next one's, over diodes.
            let coil = self.node("coil +");
            self.diode(feeds[i].tap, coil);
            if inputs > 1 {
                self.diode(feeds[(i + 1) % inputs].tap, coil);
            }
            let relay = self.relay(coil);
            let fuse = self.wire(self.bus, "fuse", 8.0);
            let common = self.wire(fuse, "common", 15.0);
            // Every third relay is fed by the one before it.
            let common = match before {
                Some(made) if i % 3 == 2 => self.wire(made, "chained common", 15.0),
                _ => common,
            };
            let made = self.node("made");
            self.closed(common, made, Logic::On(relay));
            let load = self.wire(made, "load", 60.0);
            let back = self.wire(self.chassis, "load −", 60.0);
            self.circuit.resistor("camera", load, back, ohms(90.0));
            let output = self.wire(made, "screen", 80.0);
            self.diode(output, screen);
            before = Some(made);
        }
    }
}
