//! Random circuits of every law, every rule of an actor and every condition of an input.

use circuit::*;
use proptest::prelude::*;
use quantity::{Amps, Ohms, Share, Span, Volts, Watts};

/// What a branch is made from: its ends, the kind of law, a size, and when it is there.
pub(super) type Draft = (u8, u8, u8, f64, u8);

/// A circuit in numbers, so that proptest can shrink it.
#[derive(Debug, Clone)]
pub(super) struct Wiring {
    nodes: u8,
    pub branches: Vec<Draft>,
    /// For each input how many positions it has, and what it needs or excludes.
    inputs: Vec<(u8, u8)>,
    actors: Vec<(u8, u8, u8, u8)>,
}

/// How many kinds of laws never fall; after them come constant power and a converter, which takes two branches.
pub(super) const NEVER_FALL: u8 = 12;
const CONVERTER: u8 = 14;

/// Circuits of the first `kinds` kinds of laws.
pub(super) fn wiring(kinds: u8) -> impl Strategy<Value = Wiring> {
    (2u8..8).prop_flat_map(move |nodes| {
        let branch = (0..nodes, 0..nodes, 0..kinds, 0.0..1.0, 0u8..12);
        let actor = (0..nodes, 0..nodes, 0u8..11, 0u8..8);
        let input = (2u8..4, 0u8..6);
        let lists = (
            prop::collection::vec(branch, 1..16),
            prop::collection::vec(actor, 0..4),
            prop::collection::vec(input, 1..4),
        );
        lists.prop_map(move |(branches, actors, inputs)| Wiring { nodes, branches, inputs, actors })
    })
}

/// A law of some kind and size. A converter's output side.
pub(super) fn law(kind: u8, size: f64) -> Law {
    let ohms = |least: f64, most: f64| Ohms::new(least * (most / least).powf(size));
    match kind {
        0..=3 => Law::Conductor { ohms: ohms(0.005, 1000.0), copper: kind == 0 },
        4 => Law::Source { volts: [9.0, 12.0, 15.0].map(|v| Volts::new(v * (0.5 + size))), ohms: ohms(0.01, 1.0) },
        5 => Law::Diode { knee: Volts::new(0.6), ohms: ohms(0.02, 0.5), zener: None },
        6 => Law::Diode { knee: Volts::new(0.7), ohms: ohms(0.02, 0.5), zener: Some(Volts::new(4.0 + 10.0 * size)) },
        7 => Law::Current { amps: Amps::new(size), least: Volts::new(6.0) },
        8 => Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(1.0 + 20.0 * size) },
        9 => Law::Suppressor { volts: Volts::new(5.0 + 20.0 * size), ohms: ohms(0.1, 1.0) },
        10 => Law::Pulsed { ohms: ohms(0.01, 1.0), duty: Span { low: Share::new(0.1), high: Share::new(0.9) } },
        11 => Law::Led { knee: Volts::new(2.0 + 6.0 * size), ohms: ohms(5.0, 200.0) },
        12 => Law::Power { watts: Watts::new(1.0 + 15.0 * size), least: Volts::new(6.0) },
        13 => Law::Power { watts: Watts::new(1.0 + 5.0 * size), least: Volts::new(9.0 + 2.0 * size) },
        _ => Law::Regulated { volts: Volts::new(5.0), ohms: Ohms::new(0.05), limit: Amps::new(0.5 + size) },
    }
}

/// A condition over the inputs and actors that there are.
fn when(kind: u8, inputs: usize, actors: usize) -> Logic {
    let input = |i: u8| Logic::At(InputId(u32::from(i) % inputs as u32), 1);
    match (kind, actors) {
        (0..=5, _) => Logic::Always,
        (6 | 7, _) | (_, 0) => input(kind),
        (8, _) => Logic::On(ActorId(0)).negated(),
        (9, n) => Logic::Any(vec![Logic::On(ActorId(n as u32 - 1)), input(1)]),
        (k, n) => Logic::On(ActorId(u32::from(k) % n as u32)),
    }
}

/// The circuit, its branches in the order given.
pub(super) fn build(wiring: &Wiring, order: impl Fn(usize) -> usize) -> Circuit {
    let mut circuit = Circuit::new();
    let (inputs, actors) = (wiring.inputs.len(), wiring.actors.len());
    (1..wiring.nodes).for_each(|i| _ = circuit.node(format!("n{i}")));
    for (i, (positions, condition)) in wiring.inputs.iter().enumerate() {
        let id = circuit.input(format!("i{i}"), &["off", "on", "high"][..usize::from(*positions)]);
        // Only inputs before it, so that conditions don't form a circle.
        match condition {
            1 if i > 0 => circuit.inputs[id.index()].needs = Logic::At(InputId(i as u32 - 1), 1),
            2 if i > 0 => circuit.inputs[id.index()].excludes = vec![InputId(i as u32 - 1)],
            3 => circuit.inputs[id.index()].momentary = true,
            _ => {}
        }
    }
    for (n, (plus, minus, kind, other)) in wiring.actors.iter().enumerate() {
        let start = when(6 + other % 6, inputs, actors);
        let rule = match kind {
            6 => ActorRule::Latch { set: start, reset: Logic::At(InputId(0), 1) },
            7 => ActorRule::Toggle { start },
            8 => ActorRule::Hold { start },
            9 => ActorRule::Delay { start },
            10 => ActorRule::Pulse { start },
            _ => ActorRule::Threshold {
                plus: NodeId(u32::from(*plus)),
                minus: NodeId(u32::from(*minus)),
                on: Volts::new(3.0 + f64::from(*kind)),
                off: Volts::new(1.0),
                senses: [Senses::Coil, Senses::Mean, Senses::Least, Senses::Each][usize::from(*kind).min(3)],
            },
        };
        circuit.actor(format!("a{n}"), rule);
    }
    // One battery is always there, so that something happens.
    let battery = (0, 1, 4, 0.5, 0);
    let drafts: Vec<Draft> = std::iter::once(battery).chain(wiring.branches.iter().copied()).collect();
    for i in 0..drafts.len() {
        let (from, to, kind, size, there) = drafts[order(i)];
        let (from, to) = (NodeId(u32::from(from)), NodeId(u32::from(to)));
        let there = when(there, inputs, actors);
        let output = circuit.switched(format!("b{}", order(i)), from, to, law(kind, size), there.clone());
        if kind == CONVERTER {
            let (efficiency, idle) = (Share::new(0.85), Amps::new(0.01));
            let drawn = Law::Drawn { output, efficiency, idle, least: Volts::new(7.0) };
            circuit.switched(format!("b{} in", order(i)), NodeId(1), from, drawn, there);
        }
    }
    circuit
}
