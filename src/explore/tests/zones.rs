//! Zones against the same circuits solved as a whole: random circuits of every law, rule and condition.

use super::wiring::{Wiring, build, wiring};
use crate::exploration::{Inside, in_zones};
use crate::zones::{Doubts, Zoned};
use crate::*;
use circuit::*;
use engine::EliminationPlan;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use quantity::{Ohms, Volts};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Every kind of law in `wiring`.
const KINDS: u8 = 15;

/// Connects a random circuit to a trunk: the poles of its battery become bus and chassis. With a key, all of its inputs
/// need the key.
fn hang(whole: &mut Circuit, zone: &Circuit, bus: NodeId, chassis: NodeId, key: Option<InputId>) {
    let (inputs, actors, branches) =
        (whole.inputs.len() as u32, whole.actors.len() as u32, whole.branches.len() as u32);
    let mut nodes = vec![chassis, bus];
    nodes.extend((2..zone.nodes.len()).map(|i| whole.node(format!("n{i}"))));
    let node = |id: NodeId| nodes[id.index()];
    let moved = |logic: &Logic| moved(logic, inputs, actors);
    for input in &zone.inputs {
        let mut input = input.clone();
        let own = moved(&input.needs);
        input.needs = key.map_or(own.clone(), |key| Logic::At(key, 1).and(own));
        input.excludes.iter_mut().for_each(|other| other.0 += inputs);
        whole.inputs.push(input);
    }
    for actor in &zone.actors {
        let mut actor = actor.clone();
        match &mut actor.rule {
            ActorRule::Threshold { plus, minus, .. } => (*plus, *minus) = (node(*plus), node(*minus)),
            ActorRule::Latch { set, reset } => (*set, *reset) = (moved(set), moved(reset)),
            ActorRule::Toggle { start }
            | ActorRule::Hold { start }
            | ActorRule::Delay { start }
            | ActorRule::Pulse { start } => {
                *start = moved(start);
            }
        }
        whole.actors.push(actor);
    }
    for branch in &zone.branches {
        // The trunk has the only battery, and everything connected to it has some resistance.
        let law = match &branch.law {
            Law::Source { .. } => Law::Conductor { ohms: Ohms::new(30.0), copper: false },
            Law::Conductor { ohms, copper } => Law::Conductor { ohms: Ohms::new(ohms.value() + 0.6), copper: *copper },
            Law::Drawn { output, efficiency, idle, least } => {
                let output = BranchId(output.0 + branches);
                Law::Drawn { output, efficiency: *efficiency, idle: *idle, least: *least }
            }
            other => other.clone(),
        };
        whole.switched("", node(branch.from), node(branch.to), law, moved(&branch.when));
    }
}

fn moved(logic: &Logic, inputs: u32, actors: u32) -> Logic {
    let all = |terms: &[Logic]| terms.iter().map(|term| moved(term, inputs, actors)).collect();
    match logic {
        Logic::At(id, position) => Logic::At(InputId(id.0 + inputs), *position),
        Logic::On(id) => Logic::On(ActorId(id.0 + actors)),
        Logic::Not(inner) => Logic::Not(Box::new(moved(inner, inputs, actors))),
        Logic::All(terms) => Logic::All(all(terms)),
        Logic::Any(terms) => Logic::Any(all(terms)),
        other => other.clone(),
    }
}

/// A battery, a key that feeds an accessory bus, and random zones on both buses.
fn vehicle(wirings: &[Wiring], ohms: f64) -> Circuit {
    let mut circuit = Circuit::new();
    let [bus, accessory, chassis] = ["bus", "accessory", "chassis"].map(|name| circuit.node(name));
    let volts = [11.0, 12.6, 14.6].map(Volts::new);
    circuit.branch("battery", NEGATIVE, bus, Law::Source { volts, ohms: Ohms::new(ohms) });
    circuit.resistor("chassis", chassis, NEGATIVE, Ohms::new(0.004));
    let key = circuit.input("key", &["off", "run"]);
    let closed = Law::Conductor { ohms: Ohms::new(0.02), copper: false };
    circuit.switched("key", bus, accessory, closed, Logic::At(key, 1));
    for (n, wiring) in wirings.iter().enumerate() {
        let zone = build(wiring, |i| i);
        match n % 2 {
            0 => hang(&mut circuit, &zone, bus, chassis, None),
            _ => hang(&mut circuit, &zone, accessory, chassis, Some(key)),
        }
    }
    circuit
}

/// How often something was compared, and what was in the circuits.
#[derive(Debug, Default)]
struct Compared {
    exact: usize,
    /// Compared after zones had been joined, because a decision in one depended on another.
    joined: usize,
    bounded: usize,
    counts: usize,
    states: usize,
    levels: usize,
    kinds: BTreeSet<u8>,
    rules: BTreeSet<u8>,
    needs: usize,
    excludes: usize,
    pulses: usize,
}

impl Compared {
    fn note(&mut self, circuit: &Circuit, wirings: &[Wiring]) {
        self.kinds.extend(wirings.iter().flat_map(|wiring| &wiring.branches).map(|draft| draft.2));
        self.rules.extend(circuit.actors.iter().map(|actor| match actor.rule {
            ActorRule::Threshold { .. } => 0,
            ActorRule::Latch { .. } => 1,
            ActorRule::Toggle { .. } => 2,
            ActorRule::Hold { .. } => 3,
            ActorRule::Delay { .. } => 4,
            ActorRule::Pulse { .. } => 5,
        }));
        self.needs += circuit.inputs.iter().filter(|input| input.needs != Logic::Always).count();
        self.excludes += circuit.inputs.iter().filter(|input| !input.excludes.is_empty()).count();
    }
}

fn zoned(exploration: &Exploration) -> &Zoned {
    match &exploration.inside {
        Inside::Zones(zoned) => zoned,
        Inside::Whole(_) => panic!("explored in zones"),
    }
}

/// Lowest and highest of every voltage that is shown.
fn range(circuit: &Circuit, exploration: &Exploration) -> Vec<[f64; 2]> {
    let mut all = vec![[f64::INFINITY, f64::NEG_INFINITY]; circuit.nodes.len()];
    exploration.visit(circuit, &mut |solution| {
        for (range, value) in all.iter_mut().zip(solution.each_volts()) {
            *range = [range[0].min(value.value()), range[1].max(value.value())];
        }
    });
    all
}

/// Of every state of the whole each zone knows its share, and the trunk is between its levels.
fn holds_the_whole(circuit: &Circuit, whole: &Exploration, zones: &Exploration, compared: &mut Compared) {
    let zoned = zoned(zones);
    whole.visit(circuit, &mut |solution| {
        compared.states += 1;
        compared.pulses += usize::from(solution.has_pulses());
        let mut combination = 0;
        for (zone, one) in zoned.zones.zones.iter().zip(&zoned.explored) {
            let state = zoned.zone_state(zone, &solution.state);
            combination = zoned.zones.combinations.number(&state.positions.0);
            assert!(one.reach.known.number(&state).is_some(), "{state:?} is not known");
        }
        let levels = &zoned.levels[combination];
        for (node, (low, high)) in zoned.zones.trunk.iter().zip(levels.low.iter().zip(&levels.high)) {
            compared.levels += 1;
            let volts = solution.volts(*node).value();
            assert!(volts >= low - 1e-9 && volts <= high + 1e-9, "{volts} V, but not from {low} V to {high} V");
        }
    });
}

fn random_wirings(runner: &mut TestRunner) -> Vec<Wiring> {
    // OK because the generator filters nothing.
    prop::collection::vec(wiring(KINDS), 2..4).new_tree(runner).expect("a circuit").current()
}

/// Explored in zones without a doubt, a circuit has the states and the extremes of the whole; with decisions in doubt
/// taken both ways, every state of the whole is among those of the zones.
#[test]
fn zones_are_the_whole() {
    let mut runner = TestRunner::deterministic();
    let mut compared = Compared::default();
    for ohms in [0.01, 0.02, 0.05, 0.3].repeat(60) {
        let wirings = random_wirings(&mut runner);
        let circuit = vehicle(&wirings, ohms);
        let Ok(Some(zones)) =
            in_zones(&circuit, &Arc::new(EliminationPlan::new(&circuit)), Corner::NOMINAL, Doubts::BothWays)
        else {
            continue;
        };
        let whole = explore(&circuit, Corner::NOMINAL);
        // A load of constant power behind a resistance that can't feed it.
        if !whole.unsolved.is_empty() {
            continue;
        }
        compared.note(&circuit, &wirings);
        compared.joined += usize::from(zones.joins() > 0);
        holds_the_whole(&circuit, &whole, &zones, &mut compared);
        if zones.is_bounded() {
            compared.bounded += 1;
            continue;
        }
        compared.exact += 1;
        // Where two zones remember, a power loss may tie their memories together, which the zones alone don't see.
        let remembers = |e: &Exploration| !e.history.is_empty() || !e.chatter.is_empty();
        assert!(whole.count() <= zones.count());
        if remembers(&whole) || remembers(&zones) {
            continue;
        }
        compared.counts += 1;
        assert_eq!(whole.count(), zones.count());
        for (node, (whole, zones)) in
            circuit.nodes.iter().zip(range(&circuit, &whole).iter().zip(range(&circuit, &zones)))
        {
            for (a, b) in whole.iter().zip(zones) {
                assert!((a - b).abs() < 2e-3, "{node}: {a} V as a whole, {b} V in zones");
            }
        }
    }
    assert!(compared.joined >= 10, "{compared:?}");
    assert!(compared.exact >= 100 && compared.bounded >= 15 && compared.counts >= 40, "{compared:?}");
    assert!(compared.states >= 5000 && compared.levels >= 10_000 && compared.pulses >= 100, "{compared:?}");
    assert_eq!((compared.kinds.len(), compared.rules.len()), (usize::from(KINDS), 6), "{compared:?}");
    assert!(compared.needs >= 100 && compared.excludes >= 20, "{compared:?}");
}
