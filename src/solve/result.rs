//! What a solver hands out of what it has found.

use super::settle::Solver;
use super::state::{Solution, State};

impl Solver<'_> {
    /// The solution of a state, if it lasts there: everything stands as it does in it.
    pub fn lasting(&mut self, state: &State) -> Option<Solution> {
        self.settle(state).settled().filter(|solution| solution.state == *state)
    }

    /// Finds the voltages that nothing waited for.
    pub(super) fn finish(&mut self) {
        // With links the voltages of all columns are there already.
        if !self.dense && self.links.is_empty() {
            self.factor.finish(&self.plan);
        }
    }

    /// The voltages found, by node.
    pub(super) fn volts_into(&mut self, volts: &mut [f64]) {
        self.finish();
        let n = self.plan.columns;
        for (volts, column) in volts.iter_mut().zip(&self.plan.column_of) {
            *volts = self.factor.volts[(*column as usize).min(n)];
        }
    }

    /// Everything that was found.
    pub(super) fn solution(&mut self) -> Solution {
        let mut solution = Solution {
            state: self.state.clone(),
            corner: self.corner,
            volts: vec![0.0; self.circuit.nodes.len()],
            amps: vec![0.0; self.circuit.branches.len()],
            ends: self.circuit.branches.iter().map(|b| [b.from.0, b.to.0]).collect(),
            phases: vec![],
        };
        self.solution_into(&mut solution);
        solution
    }

    /// Everything that was found, in the place of another solution of the same circuit.
    pub(super) fn solution_into(&mut self, solution: &mut Solution) {
        solution.state.clone_from(&self.state);
        solution.corner = self.corner;
        self.volts_into(&mut solution.volts);
        (0..self.curves.len()).for_each(|k| solution.amps[k] = self.amps(k));
        self.phases_into(&mut solution.phases);
    }
}
