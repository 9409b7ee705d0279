//! The way in: solves states of one circuit at one corner.

use super::circuit_ref::CircuitRef;
use super::outcome;
use super::plan::EliminationPlan;
use super::settler::{NO_PIECE, Settler, Unobserved};
use circuit::{Circuit, Corner, Held, Outcome, Solution, State, Unsolved, Variant};
use std::sync::Arc;

/// Solves states of one circuit at one corner, each starting from the last, which is fastest when few things change.
pub struct Solver<'c> {
    settler: Settler<'c>,
}

impl<'c> Solver<'c> {
    /// Sets up for one corner.
    pub fn new(circuit: &'c Circuit, corner: Corner) -> Self {
        Solver::with_plan(circuit, &Arc::new(EliminationPlan::new(circuit)), corner)
    }

    /// With an elimination plan made before for the same circuit.
    pub fn with_plan(circuit: impl Into<CircuitRef<'c>>, plan: &Arc<EliminationPlan>, corner: Corner) -> Self {
        Solver { settler: Settler::new(circuit, plan, corner) }
    }

    /// The corner.
    pub fn corner(&self) -> Corner {
        self.settler.corner()
    }

    /// Solves a variant of the circuit from now on, instead of the one before. Only what the two change is eliminated
    /// again.
    ///
    /// # Panics
    /// When the variant [needs a circuit of its own](Variant::is_in_place).
    pub fn set_variant(&mut self, variant: &Variant) {
        self.settler.set_variant(variant);
    }

    /// Forgets the last solution, so that answers don't depend on the questions before.
    pub(crate) fn start_afresh(&mut self) {
        self.settler.start_afresh();
    }

    /// Solves from `start`: the inputs are where they are, the actors move from where they are until none has reason
    /// to.
    pub fn settle(&mut self, start: &State) -> Outcome {
        outcome::settle(&mut self.settler, start, &mut Unobserved)
    }

    /// The solution of a state that settles to itself; `None` for another.
    pub fn lasting(&mut self, state: &State) -> Option<Solution> {
        self.settle(state).settled().filter(|solution| solution.state == *state)
    }

    /// Solves with every actor held as `state` has it, and finds where each actor would go next. This is the circuit
    /// between two events of a timeline; a state whose actors stay has settled.
    ///
    /// # Errors
    /// When no piece of every law fits together.
    pub fn hold(&mut self, state: &State) -> Result<Held, Box<Unsolved>> {
        self.settler.go_to(state);
        match self.settler.solve() {
            Ok(()) => {
                self.settler.step();
                Ok(Held { wants: self.settler.next().clone(), solution: self.settler.solution() })
            }
            Err(no) => Err(Box::new(Unsolved {
                state: self.settler.state().clone(),
                corner: self.corner(),
                branches: no.0,
                why: NO_PIECE.into(),
            })),
        }
    }
}
