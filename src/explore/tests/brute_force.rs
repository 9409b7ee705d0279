//! Random small circuits explored, against the simplest search there is.

use super::wiring::{NEVER_FALL, build, wiring};
use crate::*;
use circuit::*;
use engine::Solver;
use proptest::prelude::*;
use std::collections::BTreeSet;

/// Actors without any voltage, each moved by its rule until they rest; `None` if they don't.
fn without_supply(circuit: &Circuit, mut state: State) -> Option<State> {
    for _ in 0..64 {
        let now = state.clone();
        for (i, actor) in circuit.actors.iter().enumerate() {
            let id = ActorId(i as u32);
            let (on, was) = (now.memory.on(id), now.memory.was(id));
            let [on, was] = match &actor.rule {
                ActorRule::Threshold { .. } => [false, false],
                ActorRule::Latch { set, reset } => [!now.holds(reset) && (on || now.holds(set)), false],
                ActorRule::Toggle { start } => [on ^ (now.holds(start) && !was), now.holds(start)],
                ActorRule::Hold { start } => [on || now.holds(start), false],
                ActorRule::Delay { start } => [on && now.holds(start), false],
                ActorRule::Pulse { start } => [on || (now.holds(start) && !was), now.holds(start)],
            };
            state.memory.set_on(id, on);
            state.memory.set_was(id, was);
        }
        if state == now {
            return Some(state);
        }
    }
    None
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
                for (i, input) in circuit.inputs.iter().enumerate() {
                    let moved = |to| end.positions.moved(circuit, InputId(i as u32), to);
                    let other = input.each_position().filter(|to| *to != end.positions.0[i]).filter_map(moved);
                    waiting.extend(other.map(|positions| State { positions, memory: end.memory.clone() }));
                }
                for id in end.pending(circuit) {
                    let mut next = end.clone();
                    next.elapse(id);
                    waiting.push(next);
                }
                // The supply goes and comes back.
                waiting.extend(without_supply(circuit, end));
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
    fn exploration_is_brute_force(wiring in wiring(NEVER_FALL)) {
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
                    Move::PowerLoss | Move::Elapsed(_) => {}
                    Move::Connect => panic!("the battery is connected once"),
                }
            }
            prop_assert_eq!(&positions, &state.positions);
        }
    }
}
