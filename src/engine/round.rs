//! What actors that find no rest do: round and round, or a race.

use super::settle::Solver;
use circuit::{ActorId, ActorRule, Chatter, Circuit, Known, Logic, Memory, Outcome, Solution, State};

/// Different positions of actors looked through for where a race comes to rest.
const RACE_POSITIONS: usize = 256;

impl Solver<'_> {
    /// Goes round once more and tells.
    pub(crate) fn chatter(&mut self, started: &State) -> Outcome {
        let mut round: Vec<Solution> = vec![];
        self.go_to(started);
        let first = loop {
            // OK because the same steps were solved just before.
            let _ = self.solve();
            self.step();
            let solution = self.solution();
            round.push(solution);
            if let Some(first) = round.iter().position(|one| one.state.memory == self.next) {
                break first;
            }
            self.take_next();
        };
        let round = round.split_off(first);
        let differs = |id: &ActorId| {
            let first = &round[0].state.memory;
            round.iter().any(|one| one.state.memory.place(*id) != first.place(*id))
        };
        let actors: Vec<ActorId> = (0..self.circuit.actors.len() as u32).map(ActorId).filter(differs).collect();
        let rests = self.rests(&round);
        Outcome::Chatter(Box::new(Chatter { started: started.clone(), actors, round, rests }))
    }

    /// Where the actors of a round come to rest when they move one after the other, in every order. Those that nothing
    /// asks about only follow, so they all move at once and make no order of their own.
    fn rests(&mut self, round: &[Solution]) -> Vec<Memory> {
        let asked = asked(&self.circuit);
        let (leads, follows): (Vec<ActorId>, Vec<ActorId>) =
            (0..self.circuit.actors.len() as u32).map(ActorId).partition(|id| asked[id.index()]);
        let mut seen: Vec<State> = vec![];
        let mut known = Known::default();
        let mut meet = |seen: &mut Vec<State>, state: &State| {
            if known.insert(state) {
                seen.push(state.clone());
            }
        };
        round.iter().for_each(|one| meet(&mut seen, &one.state));
        let mut rests = vec![];
        let mut next = 0;
        while next < seen.len() && seen.len() < RACE_POSITIONS {
            let mut one = seen[next].clone();
            next += 1;
            self.go_to(&one);
            if self.solve().is_err() {
                continue;
            }
            self.step();
            if self.next == one.memory {
                rests.push(one.memory);
                continue;
            }
            follows.iter().for_each(|id| one.memory.set_place(*id, self.next.place(*id)));
            let mut any = false;
            for id in &leads {
                let (was, is) = (one.memory.place(*id), self.next.place(*id));
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
