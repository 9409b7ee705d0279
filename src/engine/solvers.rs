//! The solvers of one circuit, kept from question to question.

use super::circuit_ref::CircuitRef;
use super::plan::EliminationPlan;
use super::solver::Solver;
use circuit::{Circuit, Corner, Outcome, Solution, State, Variant};
use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

/// Solvers of one circuit, one for each corner and each thread that asks at the same time. A question about a state of
/// the circuit or of a variant needs no new solver.
///
/// Every question starts afresh, so that the answer doesn't depend on the questions before.
pub struct Solvers {
    circuit: Arc<Circuit>,
    plan: Arc<EliminationPlan>,
    kept: Mutex<BTreeMap<Corner, Vec<Kept>>>,
    /// Variants that need a circuit of their own, each with the solvers of that circuit; the last used is the last.
    apart: Mutex<Vec<(Variant, Arc<Solvers>)>>,
}

/// Most variants with a circuit of their own whose solvers are kept.
const MOST_APART: usize = 32;

struct Kept {
    solver: Solver<'static>,
    /// The last question and its answer: findings about one state often follow each other.
    last: Option<(State, Variant, Solution)>,
}

impl std::fmt::Debug for Solvers {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Solvers").finish_non_exhaustive()
    }
}

impl Solvers {
    /// For a circuit.
    pub fn new(circuit: Circuit) -> Solvers {
        Solvers {
            plan: Arc::new(EliminationPlan::new(&circuit)),
            circuit: Arc::new(circuit),
            kept: Mutex::default(),
            apart: Mutex::default(),
        }
    }

    /// The circuit.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// Settles a state of the circuit at a corner.
    pub fn settle(&self, corner: Corner, state: &State) -> Outcome {
        self.settle_variant(corner, state, &Variant::NONE)
    }

    /// Settles a state of a variant of the circuit at a corner.
    pub fn settle_variant(&self, corner: Corner, state: &State, variant: &Variant) -> Outcome {
        if !variant.is_in_place(&self.circuit) {
            return self.apart(variant).settle(corner, state);
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

    /// The solvers of a changed circuit.
    fn apart(&self, variant: &Variant) -> Arc<Solvers> {
        let mut apart = self.apart.lock().unwrap_or_else(PoisonError::into_inner);
        let known = match apart.iter().position(|(one, _)| one == variant) {
            Some(at) => apart.remove(at),
            None => (variant.clone(), Arc::new(Solvers::new(self.circuit.with(variant)))),
        };
        let solvers = known.1.clone();
        apart.push(known);
        if apart.len() > MOST_APART {
            apart.remove(0);
        }
        solvers
    }

    fn take(&self, corner: Corner) -> Kept {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let last = kept.get_mut(&corner).and_then(Vec::pop);
        drop(kept);
        last.unwrap_or_else(|| {
            let circuit = CircuitRef::Shared(self.circuit.clone());
            Kept { solver: Solver::with_plan(circuit, &self.plan, corner), last: None }
        })
    }

    fn put_back(&self, corner: Corner, one: Kept) {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        kept.entry(corner).or_default().push(one);
    }
}
