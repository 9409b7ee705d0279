//! What a changed circuit does after the same moves as the unchanged one.

use crate::walk::Walk;
use circuit::{Circuit, Solution, Variant};
use engine::Solvers;
use explore::Move;
use std::collections::BTreeMap;

/// What a circuit, changed or not, does after moves from rest. What two ways have in common is solved once.
pub struct Reached<'c> {
    walk: Walk<'c>,
    circuit: &'c Circuit,
    after: BTreeMap<Vec<Move>, Option<Solution>>,
}

impl<'c> Reached<'c> {
    /// At nominal supply, with a variant of the circuit of some kept solvers.
    pub fn new(solvers: &'c Solvers, variant: Variant) -> Reached<'c> {
        Reached { walk: Walk::through(solvers, variant), circuit: solvers.circuit(), after: BTreeMap::new() }
    }

    /// After moves from rest. A timer that the change keeps from starting is not waited for. `None` if the circuit does
    /// not settle.
    pub fn after(&mut self, moves: &[Move]) -> Option<Solution> {
        if let Some(known) = self.after.get(moves) {
            return known.clone();
        }
        let at = match moves.split_last() {
            None => self.walk.rest(),
            Some((last, before)) => self.after(before).and_then(|at| self.step(at, *last)),
        };
        self.after.insert(moves.to_vec(), at.clone());
        at
    }

    /// The same with every timer run out.
    pub fn at_last(&mut self, moves: &[Move]) -> Option<Solution> {
        let at = self.after(moves)?;
        if at.state.pending(self.circuit).is_empty() { Some(at) } else { self.walk.wait(at) }
    }

    fn step(&mut self, at: Solution, by: Move) -> Option<Solution> {
        match by {
            Move::Input(..) => self.walk.step(&at.state, by),
            Move::Elapsed(timer) if at.state.pending(self.circuit).contains(&timer) => self.walk.step(&at.state, by),
            _ => Some(at),
        }
    }
}
