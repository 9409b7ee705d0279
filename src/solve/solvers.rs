//! The solvers of one circuit, kept from question to question.

use super::circuit::Circuit;
use super::corner::Corner;
use super::plan::Plan;
use super::settle::Solver;
use super::state::{Outcome, Solution, State};
use super::variant::Variant;
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Solvers of one circuit, one for each corner and each thread that asks at the same time. A question about a state, of
/// the circuit or of a variant of it, sets up nothing anew.
///
/// Every question starts afresh, so that the answer doesn't depend on what was asked before.
pub struct Solvers<'c> {
    circuit: &'c Circuit,
    plan: Arc<Plan>,
    kept: Mutex<BTreeMap<Corner, Vec<Kept<'c>>>>,
}

struct Kept<'c> {
    solver: Solver<'c>,
    /// The last question and its answer: findings about one state often follow each other.
    last: Option<(State, Variant, Solution)>,
}

impl std::fmt::Debug for Solvers<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Solvers").finish_non_exhaustive()
    }
}

impl<'c> Solvers<'c> {
    /// Of a circuit.
    pub fn new(circuit: &'c Circuit) -> Solvers<'c> {
        Solvers::with_plan(circuit, Arc::new(Plan::new(circuit)))
    }

    /// With a plan made before for the same circuit.
    pub(super) fn with_plan(circuit: &'c Circuit, plan: Arc<Plan>) -> Solvers<'c> {
        Solvers { circuit, plan, kept: Mutex::default() }
    }

    /// The circuit.
    pub fn circuit(&self) -> &'c Circuit {
        self.circuit
    }

    /// Settles a state of the circuit at a corner.
    pub fn settle(&self, corner: Corner, state: &State) -> Outcome {
        self.settle_variant(corner, state, &Variant::NONE)
    }

    /// Settles a state of a variant of the circuit at a corner.
    pub fn settle_variant(&self, corner: Corner, state: &State, variant: &Variant) -> Outcome {
        if !variant.is_in_place(self.circuit) {
            return Solver::new(&self.circuit.with(variant), corner).settle(state);
        }
        let mut kept = self.take(corner);
        let outcome = match &kept.last {
            Some((asked, of, solution)) if asked == state && of == variant => {
                Outcome::Settled(Box::new(solution.clone()))
            }
            _ => {
                kept.solver.set_variant(variant);
                kept.solver.start_afresh();
                kept.solver.settle(state)
            }
        };
        if let Outcome::Settled(solution) = &outcome {
            kept.last = Some((state.clone(), variant.clone(), (**solution).clone()));
        }
        self.put_back(corner, kept);
        outcome
    }

    fn take(&self, corner: Corner) -> Kept<'c> {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let last = kept.get_mut(&corner).and_then(Vec::pop);
        drop(kept);
        last.unwrap_or_else(|| Kept { solver: Solver::with_plan(self.circuit, self.plan.clone(), corner), last: None })
    }

    fn put_back(&self, corner: Corner, one: Kept<'c>) {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.entry(corner).or_default().push(one);
    }
}
