//! What actors that find no rest do: round and round, or a race.

use super::circuit::ActorId;
use super::settle::Solver;
use super::state::{Chatter, Memory, Outcome, Solution, State};

/// Different positions of actors looked through for where a race comes to rest.
const RACE_POSITIONS: usize = 256;

impl Solver<'_> {
    /// Goes round once more and tells.
    pub(super) fn chatter(&mut self, started: &State) -> Outcome {
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
            round.iter().any(|one| one.on(*id) != first.on(*id) || one.state.memory.was(*id) != first.was(*id))
        };
        let actors: Vec<ActorId> = (0..self.circuit.actors.len() as u32).map(ActorId).filter(differs).collect();
        let rests = self.rests(&round);
        Outcome::Chatter(Box::new(Chatter { started: started.clone(), actors, round, rests }))
    }

    /// Where the actors of a round come to rest when they move one after the other, in every order.
    fn rests(&mut self, round: &[Solution]) -> Vec<Memory> {
        let mut seen: Vec<State> = round.iter().map(|one| one.state.clone()).collect();
        let mut rests = vec![];
        let mut next = 0;
        while next < seen.len() && seen.len() < RACE_POSITIONS {
            let state = seen[next].clone();
            next += 1;
            self.go_to(&state);
            if self.solve().is_err() {
                continue;
            }
            self.step();
            if self.next == state.memory {
                rests.push(state.memory);
                continue;
            }
            for id in (0..self.circuit.actors.len() as u32).map(ActorId) {
                let mut one = state.clone();
                one.memory.set_on(id, self.next.on(id));
                one.memory.set_was(id, self.next.was(id));
                if one != state && !seen.contains(&one) {
                    seen.push(one);
                }
            }
        }
        rests.sort();
        rests
    }
}
