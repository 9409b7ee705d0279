//! Random small circuits: laws of nature, and of bookkeeping, that hold whatever is wired.

use crate::laws::curve;
use crate::*;
use proptest::prelude::*;
use quantity::{Amps, Ohms, Share, Span, Volts, Watts};
use std::collections::BTreeSet;

/// What a branch is made from: its ends, the kind of law, a size, and when it is there.
type Draft = (u8, u8, u8, f64, u8);

#[derive(Debug, Clone)]
pub(super) struct Wiring {
    nodes: u8,
    branches: Vec<Draft>,
    inputs: u8,
    actors: Vec<(u8, u8, u8, u8)>,
}

pub(super) fn wiring() -> impl Strategy<Value = Wiring> {
    (2u8..8, 1u8..4).prop_flat_map(|(nodes, inputs)| {
        let branch = (0..nodes, 0..nodes, 0u8..12, 0.0..1.0, 0u8..12);
        let actor = (0..nodes, 0..nodes, 0u8..8, 0u8..8);
        let lists = (prop::collection::vec(branch, 1..16), prop::collection::vec(actor, 0..4));
        lists.prop_map(move |(branches, actors)| Wiring { nodes, branches, inputs, actors })
    })
}

fn law(kind: u8, size: f64) -> Law {
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
        _ => Law::Regulated { volts: Volts::new(5.0), ohms: Ohms::new(0.05), limit: Amps::new(0.5 + size) },
    }
}

fn when(kind: u8, inputs: u8, actors: usize) -> Logic {
    let input = |i: u8| Logic::At(InputId(u32::from(i % inputs)), 1);
    match (kind, actors) {
        (0..=5, _) => Logic::Always,
        (6 | 7, _) | (_, 0) => input(kind),
        (8, _) => Logic::On(ActorId(0)).negated(),
        (9, n) => Logic::Any(vec![Logic::On(ActorId(n as u32 - 1)), input(1)]),
        (k, n) => Logic::On(ActorId(u32::from(k) % n as u32)),
    }
}

pub(super) fn build(wiring: &Wiring, order: impl Fn(usize) -> usize) -> Circuit {
    let mut circuit = Circuit::new();
    (1..wiring.nodes).for_each(|i| _ = circuit.node(format!("n{i}")));
    (0..wiring.inputs).for_each(|i| _ = circuit.input(format!("i{i}"), &["off", "on"]));
    for (n, (plus, minus, kind, other)) in wiring.actors.iter().enumerate() {
        let start = when(6 + other % 6, wiring.inputs, wiring.actors.len());
        let rule = match kind {
            6 => Rule::Latch { set: start, reset: Logic::At(InputId(0), 1) },
            7 => Rule::Toggle { start },
            _ => Rule::Threshold {
                plus: NodeId(u32::from(*plus)),
                minus: NodeId(u32::from(*minus)),
                on: Volts::new(3.0 + f64::from(*kind)),
                off: Volts::new(1.0),
                sees: [Sees::Coil, Sees::Mean, Sees::Least, Sees::Each][usize::from(*kind).min(3)],
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
        let there = when(there, wiring.inputs, wiring.actors.len());
        circuit.switched(format!("b{}", order(i)), from, to, law(kind, size), there);
    }
    circuit
}

pub(super) fn starts(circuit: &Circuit) -> Vec<State> {
    let inputs = circuit.inputs.len();
    let states = (0..1u32 << inputs).map(|bits| {
        let mut state = State::at_rest(circuit);
        (0..inputs).for_each(|i| state.positions.0[i] = Position::from(bits >> i & 1 == 1));
        state
    });
    states.collect()
}

pub(super) fn settled(outcome: Outcome) -> Option<Solution> {
    match outcome {
        Outcome::Settled(solution) => Some(*solution),
        Outcome::Chatter(chatter) => chatter.round.into_iter().next(),
        Outcome::Unsolved(unsolved) => panic!("{unsolved:?}"),
    }
}

/// Kirchhoff's current law with the currents by the laws themselves, which a network of such laws obeys in one way only.
fn obeys_kirchhoff(circuit: &Circuit, solution: &Solution) {
    let mut sums: Vec<f64> = solution.volts.iter().map(|volts| volts / LEAK.value()).collect();
    // A piece may be overstepped by a nanovolt, at 50 S.
    let mut sizes = vec![0.1; sums.len()];
    for branch in circuit.branches.iter().filter(|branch| solution.state.holds(&branch.when)) {
        let (from, to) = (branch.from.index(), branch.to.index());
        let volts = solution.volts[from] - solution.volts[to];
        let amps = curve(branch, circuit, solution.corner).amps(volts, 0.0);
        sums[from] += amps;
        sums[to] -= amps;
        // A branch of little resistance turns a rounding of its voltage into a current.
        let size = amps.abs() + 1e-9 * (solution.volts[from].abs() + solution.volts[to].abs()) / 0.005;
        sizes[from] += size;
        sizes[to] += size;
    }
    for node in 1..sums.len() {
        assert!(sums[node].abs() <= 1e-6 * sizes[node], "{}: {} A too much", circuit.nodes[node], sums[node]);
    }
}

/// Where nothing but the leak holds an island, the currents of its own sources leave some microvolts open; a millivolt is
/// far below anything that counts.
fn same_volts(one: &Solution, other: &Solution) -> Result<(), TestCaseError> {
    for (a, b) in one.volts.iter().zip(&other.volts) {
        prop_assert!((a - b).abs() < 1e-3, "{} V, {} V", a, b);
    }
    Ok(())
}

/// Latches and toggles without any voltage, until they rest or have gone round often enough.
fn settle_logic(circuit: &Circuit, mut state: State) -> State {
    for _ in 0..64 {
        let now = state.clone();
        for (i, actor) in circuit.actors.iter().enumerate() {
            let id = ActorId(i as u32);
            let on = now.memory.on(id);
            match &actor.rule {
                Rule::Latch { set, reset } => state.memory.set_on(id, !now.holds(reset) && (on || now.holds(set))),
                Rule::Toggle { start } => {
                    state.memory.set_on(id, on ^ (now.holds(start) && !now.memory.was(id)));
                    state.memory.set_was(id, now.holds(start));
                }
                _ => {}
            }
        }
    }
    state
}

/// Reachable states found with a fresh solver for every step, and the simplest search there is.
fn brute_force(circuit: &Circuit) -> BTreeSet<State> {
    let mut known = BTreeSet::new();
    let mut waiting = vec![State::at_rest(circuit)];
    while let Some(start) = waiting.pop() {
        let ends: Vec<State> = match Solver::new(circuit, Corner::NOMINAL).settle(&start) {
            Outcome::Settled(solution) => vec![solution.state],
            Outcome::Chatter(chatter) => {
                let positions = &chatter.started.positions;
                let each = |memory: &Memory| State { positions: positions.clone(), memory: memory.clone() };
                match chatter.rests.is_empty() {
                    true => chatter.round.iter().map(|one| one.state.clone()).collect(),
                    false => chatter.rests.iter().map(each).collect(),
                }
            }
            Outcome::Unsolved(unsolved) => panic!("{unsolved:?}"),
        };
        for end in ends {
            if known.insert(end.clone()) {
                for i in 0..circuit.inputs.len() {
                    let mut next = end.clone();
                    next.positions.0[i] = 1 - next.positions.0[i];
                    waiting.push(next);
                }
                // The supply goes: what has no voltage drops out. It comes back.
                let mut next = end.clone();
                for (i, actor) in circuit.actors.iter().enumerate() {
                    let id = ActorId(i as u32);
                    if let Rule::Threshold { .. } = actor.rule {
                        next.memory.set_on(id, false);
                        next.memory.set_was(id, false);
                    }
                }
                next = settle_logic(circuit, next);
                waiting.push(next);
            }
        }
    }
    known
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 300,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(7),
        ..ProptestConfig::default()
    })]

    #[test]
    fn kirchhoff_holds_in_every_state(wiring in wiring()) {
        let circuit = build(&wiring, |i| i);
        for corner in Corner::ALL {
            // One solver for all states, so that each starts from the last.
            let mut solver = Solver::new(&circuit, corner);
            for start in starts(&circuit) {
                obeys_kirchhoff(&circuit, &settled(solver.settle(&start)).unwrap());
            }
        }
    }

    #[test]
    fn order_of_parts_does_not_matter(wiring in wiring()) {
        let n = wiring.branches.len() + 1;
        let (circuit, turned) = (build(&wiring, |i| i), build(&wiring, |i| n - 1 - i));
        for start in starts(&circuit) {
            let [one, other] = [&circuit, &turned].map(|c| settled(Solver::new(c, Corner::NOMINAL).settle(&start)).unwrap());
            prop_assert_eq!(&one.state, &other.state);
            same_volts(&one, &other)?;
        }
    }

    #[test]
    fn an_unconnected_part_changes_nothing(wiring in wiring()) {
        let circuit = build(&wiring, |i| i);
        let mut more = circuit.clone();
        let (a, b) = (more.node("far"), more.node("away"));
        more.resistor("spare", a, b, Ohms::new(90.0));
        more.branch("spare diode", a, b, law(6, 0.5));
        more.branch("spare battery", b, a, law(4, 0.5));
        for start in starts(&circuit) {
            let [one, other] = [&circuit, &more].map(|c| settled(Solver::new(c, Corner::NOMINAL).settle(&start)).unwrap());
            prop_assert_eq!(&one.state, &other.state);
            same_volts(&one, &other)?;
        }
    }

    #[test]
    fn exploration_is_brute_force(wiring in wiring()) {
        let circuit = build(&wiring, |i| i);
        let exploration = explore(&circuit, Corner::NOMINAL);
        let mut found = BTreeSet::new();
        exploration.visit(&circuit, &mut |solution| _ = found.insert(solution.state.clone()));
        let known = brute_force(&circuit);
        prop_assert_eq!(exploration.count(), found.len() as u128);
        // A state caught in a chatter is known but isn't a solution to be shown.
        prop_assert!(found.is_subset(&known));
        prop_assert!(!exploration.chatter.is_empty() || found.len() == known.len());
        for state in &known {
            let way = exploration.way_to(state).unwrap();
            let mut positions = Positions::at_rest(&circuit);
            for step in way {
                match step {
                    Move::Input(input, position) => positions = positions.moved(&circuit, input, position).unwrap(),
                    Move::PowerLoss => {}
                    other => panic!("{other:?}"),
                }
            }
            prop_assert_eq!(&positions, &state.positions);
        }
    }
}

/// Constant-power loads bring negative entries; the laws of nature hold all the same.
#[test]
fn kirchhoff_holds_with_constant_power() {
    let mut circuit = Circuit::new();
    let battery = circuit.node("battery");
    circuit.branch("battery", NEGATIVE, battery, law(4, 0.5));
    let mut before = battery;
    for i in 0..6 {
        let node = circuit.node(format!("n{i}"));
        let input = circuit.input(format!("i{i}"), &["off", "on"]);
        circuit.resistor("wire", before, node, Ohms::new(0.2));
        let law = Law::Power { watts: Watts::new(8.0 + f64::from(i)), least: Volts::new(6.0) };
        circuit.switched("amplifier", node, NEGATIVE, law, Logic::At(input, 1));
        before = node;
    }
    let mut solver = Solver::new(&circuit, Corner::NOMINAL);
    for start in starts(&circuit) {
        let solution = solver.settle(&start).settled().unwrap();
        obeys_kirchhoff(&circuit, &solution);
        let cold = Solver::new(&circuit, Corner::NOMINAL).settle(&start).settled().unwrap();
        for (a, b) in solution.volts.iter().zip(&cold.volts) {
            assert!((a - b).abs() < 1e-9, "{a} V from the neighbour, {b} V from rest");
        }
    }
}

/// Hangs a random circuit on a trunk: its battery's poles become bus and chassis.
fn hang(whole: &mut Circuit, part: &Circuit, bus: NodeId, chassis: NodeId) {
    let (inputs, actors) = (whole.inputs.len() as u32, whole.actors.len() as u32);
    let mut nodes = vec![chassis, bus];
    nodes.extend((2..part.nodes.len()).map(|i| whole.node(format!("n{i}"))));
    let node = |id: NodeId| nodes[id.index()];
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
    whole.inputs.extend(part.inputs.iter().cloned());
    for actor in &part.actors {
        let mut actor = actor.clone();
        match &mut actor.rule {
            Rule::Threshold { plus, minus, .. } => (*plus, *minus) = (node(*plus), node(*minus)),
            Rule::Latch { set, reset } => {
                (*set, *reset) = (moved(set, inputs, actors), moved(reset, inputs, actors));
            }
            Rule::Toggle { start } => *start = moved(start, inputs, actors),
            other => panic!("{other:?}"),
        }
        whole.actors.push(actor);
    }
    for branch in &part.branches {
        // The trunk has the only battery, and what hangs on it has some resistance.
        let law = match &branch.law {
            Law::Source { .. } => Law::Conductor { ohms: Ohms::new(30.0), copper: false },
            Law::Conductor { ohms, copper } => Law::Conductor { ohms: Ohms::new(ohms.value() + 0.6), copper: *copper },
            other => other.clone(),
        };
        whole.switched("", node(branch.from), node(branch.to), law, moved(&branch.when, inputs, actors));
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 100,
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(11),
        ..ProptestConfig::default()
    })]

    /// Random circuits on a common trunk, explored in parts where they can be, have the states and the extremes of the
    /// whole.
    #[test]
    fn parts_are_the_whole(wirings in prop::collection::vec(wiring(), 2..4)) {
        let mut circuit = Circuit::new();
        let (bus, chassis) = (circuit.node("bus"), circuit.node("chassis"));
        let volts = [11.0, 12.6, 14.6].map(Volts::new);
        circuit.branch("battery", NEGATIVE, bus, Law::Source { volts, ohms: Ohms::new(0.02) });
        circuit.resistor("chassis", chassis, NEGATIVE, Ohms::new(0.004));
        for wiring in &wirings {
            hang(&mut circuit, &build(wiring, |i| i), bus, chassis);
        }
        let plan = std::sync::Arc::new(plan::Plan::new(&circuit));
        let split = explore::in_parts(&circuit, &plan, Corner::NOMINAL, split::Doubts::Refused).unwrap();
        let Some(split) = split else { return Ok(()) };
        let whole = explore(&circuit, Corner::NOMINAL);
        // With memories in two parts a power loss may tie them together, which the parts alone don't see.
        let memories = |e: &Exploration| !e.history.is_empty() || !e.chatter.is_empty();
        if !memories(&whole) && !memories(&split) {
            prop_assert_eq!(whole.count(), split.count());
        }
        prop_assert!(whole.count() <= split.count());
        let range = |exploration: &Exploration| {
            let mut all = vec![[f64::INFINITY, f64::NEG_INFINITY]; circuit.nodes.len()];
            exploration.visit(&circuit, &mut |solution| {
                for (range, value) in all.iter_mut().zip(&solution.volts) {
                    *range = [range[0].min(*value), range[1].max(*value)];
                }
            });
            all
        };
        if !memories(&whole) {
            for (whole, split) in range(&whole).iter().zip(range(&split)) {
                for (a, b) in whole.iter().zip(split) {
                    prop_assert!((a - b).abs() < 2e-3, "{} V as a whole, {} V in parts", a, b);
                }
            }
        }
    }
}
