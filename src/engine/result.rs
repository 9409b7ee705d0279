//! What a solver hands out of what it has found.

use super::settle::Solver;
use circuit::{LEAST_OHMS, Solution, State};
use std::ops::Range;

impl Solver<'_> {
    /// The solution of a state, if it lasts there: everything stands as it does in it.
    pub fn lasting(&mut self, state: &State) -> Option<Solution> {
        self.settle(state).settled().filter(|solution| solution.state == *state)
    }

    /// Finds the voltages that nothing waited for.
    pub fn finish(&mut self) {
        // With links the voltages of all columns are there already.
        if !self.dense && self.links.is_empty() {
            self.factor.finish(&self.plan);
        }
    }

    /// The voltages found, by node.
    pub fn volts_into(&mut self, volts: &mut [f64]) {
        self.finish();
        let n = self.plan.columns;
        for (volts, column) in volts.iter_mut().zip(&self.plan.column_of) {
            *volts = self.factor.volts[(*column as usize).min(n)];
        }
    }

    /// Everything that was found.
    pub fn solution(&mut self) -> Solution {
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
    pub fn solution_into(&mut self, solution: &mut Solution) {
        solution.state.clone_from(&self.state);
        solution.corner = self.corner;
        self.volts_into(&mut solution.volts);
        (0..self.curves.len()).for_each(|k| solution.amps[k] = self.amps(k));
        self.phases_into(&mut solution.phases);
    }

    /// Gives a straight branch this current, until it is switched.
    pub fn impose(&mut self, k: usize, amps: f64) {
        if self.offset[k] != amps {
            self.offset[k] = amps;
            self.factor.mark(&self.plan, &self.stamps[k]);
            self.stale = true;
        }
    }

    /// Conductance that a column looks into which a stiff source holds, the other such columns held.
    pub fn held_siemens(&self, column: u32) -> f64 {
        let volt = self.factor.respond(&self.plan, column, 1.0 / LEAST_OHMS.value());
        (1.0 - volt[column as usize]) / LEAST_OHMS.value()
    }

    /// What all branches but those that hold terminals draw from each of these columns, in amperes.
    pub fn drawn(&mut self, columns: &[u32], holding: &Range<usize>) -> Vec<f64> {
        self.finish();
        let mut amps = vec![0.0; columns.len()];
        for k in (0..self.there.len()).filter(|k| self.there[*k] && !holding.contains(k)) {
            let [from, to] = self.column_ends(k);
            if from == to || (!columns.contains(&from) && !columns.contains(&to)) {
                continue;
            }
            let through = if k < holding.end { self.amps(k) } else { self.slope[k] * self.across(k) + self.offset[k] };
            for (amps, column) in amps.iter_mut().zip(columns) {
                *amps += if from == *column { through } else { 0.0 } - if to == *column { through } else { 0.0 };
            }
        }
        amps
    }
}
