//! The outcome of settling a state: its solution, or the round or the race in which its actors do not settle.

use super::settler::{Ending, Observer, Settler};
use circuit::{ActorId, ActorRule, Chatter, Circuit, Known, Logic, Memory, Outcome, Solution, State, Unsolved};

/// Most positions of actors in which a race is looked for.
const RACE_POSITIONS: usize = 256;

/// Settles from `start` while an observer looks on.
pub fn settle(settler: &mut Settler, start: &State, observer: &mut dyn Observer) -> Outcome {
    match settler.run_observed(start, observer) {
        Ending::Settled => Outcome::Settled(Box::new(settler.solution())),
        Ending::Met | Ending::Round => Outcome::Chatter(Box::new(chatter(settler, start, observer))),
        Ending::Unsolved(branches, why) => Outcome::Unsolved(Box::new(Unsolved {
            state: settler.state().clone(),
            corner: settler.corner(),
            branches,
            why: why.into(),
        })),
    }
}

/// Follows actors that do not settle through one round.
fn chatter(settler: &mut Settler, started: &State, observer: &mut dyn Observer) -> Chatter {
    let mut round: Vec<Solution> = vec![];
    // The run ended where it would have come to a state that it had passed: there the round begins.
    settler.take_next();
    let first = loop {
        // OK because the same steps were solved just before.
        let _ = settler.solve();
        settler.step();
        observer.stepped(settler);
        round.push(settler.solution());
        if let Some(first) = round.iter().position(|one| one.state.memory == *settler.next()) {
            break first;
        }
        settler.take_next();
    };
    let round = round.split_off(first);
    let differs = |id: &ActorId| {
        let first = &round[0].state.memory;
        round.iter().any(|one| one.state.memory.place(*id) != first.place(*id))
    };
    let actors: Vec<ActorId> = (0..settler.circuit().actors.len() as u32).map(ActorId).filter(differs).collect();
    let rests = rests(settler, &round, observer);
    Chatter { started: started.clone(), actors, round, rests }
}

/// Where the actors of a round settle when they move one after the other, in every order. Actors that nothing asks
/// about only follow, so they all move at once and make no order of their own.
fn rests(settler: &mut Settler, round: &[Solution], observer: &mut dyn Observer) -> Vec<Memory> {
    let asked = asked(settler.circuit());
    let (leads, follows): (Vec<ActorId>, Vec<ActorId>) =
        (0..settler.circuit().actors.len() as u32).map(ActorId).partition(|id| asked[id.index()]);
    let mut seen: Vec<State> = vec![];
    let mut known = Known::default();
    let mut meet = |seen: &mut Vec<State>, state: &State| {
        if known.insert(state) {
            seen.push(state.clone());
        }
    };
    round.iter().for_each(|one| meet(&mut seen, &one.state));
    let mut rests = vec![];
    let mut number = 0;
    while number < seen.len() && seen.len() < RACE_POSITIONS {
        let mut one = seen[number].clone();
        number += 1;
        // The states of the round come first, and each is known to be followed by the next.
        let next = match number <= round.len() {
            true => &round[number % round.len()].state.memory,
            false => {
                settler.go_to(&one);
                if settler.solve().is_err() {
                    continue;
                }
                settler.step();
                observer.stepped(settler);
                settler.next()
            }
        };
        if *next == one.memory {
            rests.push(one.memory);
            continue;
        }
        follows.iter().for_each(|id| one.memory.set_place(*id, next.place(*id)));
        let mut any = false;
        for id in &leads {
            let (was, is) = (one.memory.place(*id), next.place(*id));
            if is != was {
                any = true;
                one.memory.set_place(*id, is);
                meet(&mut seen, &one);
                one.memory.set_place(*id, was);
            }
        }
        if !any {
            meet(&mut seen, &one);
        }
    }
    rests.sort();
    rests
}

/// Actors that a branch or another actor asks about.
fn asked(circuit: &Circuit) -> Vec<bool> {
    let mut asked = vec![false; circuit.actors.len()];
    let mut ask = |logic: &Logic| logic.visit(&mut |_| {}, &mut |id| asked[id.index()] = true);
    circuit.branches.iter().for_each(|branch| ask(&branch.when));
    for actor in &circuit.actors {
        ask(&actor.powered);
        match &actor.rule {
            ActorRule::Threshold { .. } => {}
            ActorRule::Latch { set, reset } => {
                ask(set);
                ask(reset);
            }
            ActorRule::Toggle { start }
            | ActorRule::Hold { start }
            | ActorRule::Delay { start }
            | ActorRule::Pulse { start } => ask(start),
        }
    }
    asked
}
