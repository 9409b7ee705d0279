//! The numbers of an elimination: conductances, kept as conductances.
//!
//! Eliminating a node turns the star of its conductances into a mesh between its neighbours; its conductance to the
//! battery's negative and its current are shared out the same way. That is LDLᵀ without a subtraction: as long as no
//! conductance is negative nothing cancels, so every voltage is right to rounding even where 1 MS meets 1 nS
//! (Grassmann, Taksar and Heyman 1985; O'Cinneide 1993 on its error). Constant-power loads do bring negative entries; a
//! pivot that isn't positive is reported to the caller.

use super::plan::{EliminationPlan, Fill, Lists, NONE};
use circuit::LEAK;

/// A branch between two columns: current into `to` is slope · (v_from − v_to) + offset.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stamp {
    pub from: u32,
    pub to: u32,
    /// Whether its line changes from state to state; a line that doesn't changes with variants only.
    pub changes: bool,
}

impl Stamp {
    /// The first column that it enters; the battery's negative is the last of all columns.
    fn first(&self) -> u32 {
        if self.from == self.to { NONE } else { self.from.min(self.to) }
    }
}

/// Where a branch enters the equations: its slope or offset, times a weight.
#[derive(Debug, Clone, Copy, Default)]
struct Share {
    branch: u32,
    weight: f64,
}

/// Where branches enter the equations: conductances between columns by slot, those to the battery's negative and
/// currents by column.
#[derive(Debug, Clone)]
struct Shares {
    slots: Lists<Share>,
    grounds: Lists<Share>,
    currents: Lists<Share>,
}

impl Shares {
    /// For the branches that change, or for the others.
    fn new(plan: &EliminationPlan, stamps: &[Stamp], changing: bool) -> Shares {
        let (mut slots, mut grounds, mut currents) = (vec![], vec![], vec![]);
        for (k, Stamp { from, to, changes }) in stamps.iter().enumerate() {
            if from == to || *changes != changing {
                continue;
            }
            let branch = k as u32;
            let slot = plan.slot(*from, *to);
            if let Some(slot) = slot {
                slots.push((slot as u32, Share { branch, weight: 1.0 }));
            }
            for (column, weight) in [(*from, -1.0), (*to, 1.0)].into_iter().filter(|end| end.0 != NONE) {
                currents.push((column, Share { branch, weight }));
                // With one end on the battery's negative, all of its current goes there.
                if slot.is_none() {
                    grounds.push((column, Share { branch, weight: 1.0 }));
                }
            }
        }
        Shares {
            slots: Lists::new(plan.rows.len(), &slots),
            grounds: Lists::new(plan.columns, &grounds),
            currents: Lists::new(plan.columns, &currents),
        }
    }
}

fn sum_of(shares: &[Share], values: &[f64], start: f64) -> f64 {
    shares.iter().fold(start, |sum, share| sum + share.weight * values[share.branch as usize])
}

/// A factored matrix with its solution.
#[derive(Debug, Clone)]
pub struct Factor {
    changing: Shares,
    unchanging: Shares,
    /// Contributions of branches and columns that don't change.
    slot_base: Vec<f64>,
    ground_base: Vec<f64>,
    current_base: Vec<f64>,
    /// Conductance of each slot at its column's elimination, and that over the column's sum.
    conductance: Vec<f64>,
    share: Vec<f64>,
    /// Conductance to the battery's negative, current, one over the sum of conductances: by column.
    ground: Vec<f64>,
    current: Vec<f64>,
    inverse: Vec<f64>,
    /// Changing columns to redo, a bit each. With a column its whole path is in it.
    stale: Vec<u64>,
    /// Columns whose base must be found again, in any order.
    rebase: Vec<u32>,
    is_rebased: Vec<bool>,
    /// Voltages by column, and one more that stays zero for the battery's negative.
    pub volts: Vec<f64>,
}

impl Factor {
    /// Sets up for one corner, with slope and offset of every branch that doesn't change.
    pub(crate) fn new(plan: &EliminationPlan, stamps: &[Stamp], slope: &[f64], offset: &[f64]) -> Factor {
        let (n, slots) = (plan.columns, plan.rows.len());
        let mut factor = Factor {
            changing: Shares::new(plan, stamps, true),
            unchanging: Shares::new(plan, stamps, false),
            slot_base: vec![0.0; slots],
            ground_base: vec![0.0; n],
            current_base: vec![0.0; n],
            conductance: vec![0.0; slots],
            share: vec![0.0; slots],
            ground: vec![0.0; n],
            current: vec![0.0; n],
            inverse: vec![0.0; n],
            stale: vec![0; (n - plan.fixed).div_ceil(64)],
            rebase: vec![],
            is_rebased: vec![false; n],
            volts: vec![0.0; n + 1],
        };
        (0..n).for_each(|column| factor.find_base(plan, column, slope, offset));
        factor.mark_all(plan);
        factor
    }

    /// Finds the contributions to a column that don't change, and eliminates the column if it is a fixed one.
    fn find_base(&mut self, plan: &EliminationPlan, column: usize, slope: &[f64], offset: &[f64]) {
        let mut ground = sum_of(self.unchanging.grounds.of(column), slope, 1.0 / LEAK.value());
        let mut current = sum_of(self.unchanging.currents.of(column), offset, 0.0);
        for &(from, slot) in plan.from_fixed.incoming.of(column) {
            let share = self.share[slot as usize];
            ground += share * self.ground_base[from as usize];
            current += share * self.current_base[from as usize];
        }
        (self.ground_base[column], self.current_base[column]) = (ground, current);
        let mut sum = 0.0;
        for slot in plan.slots(column) {
            let mut conductance = sum_of(self.unchanging.slots.of(slot), slope, 0.0);
            for &(one, other) in plan.from_fixed.products.of(slot) {
                conductance += self.share[one as usize] * self.slot_base[other as usize];
            }
            self.slot_base[slot] = conductance;
            sum += conductance;
        }
        if column < plan.fixed {
            let sum = ground + sum;
            (self.inverse[column], self.current[column]) = (1.0 / sum, current);
            plan.slots(column).for_each(|slot| self.share[slot] = self.slot_base[slot] / sum);
        }
    }

    /// Marks every changing column.
    fn mark_all(&mut self, plan: &EliminationPlan) {
        self.stale.fill(u64::MAX);
        let extra = self.stale.len() * 64 - (plan.columns - plan.fixed);
        if let Some(last) = self.stale.last_mut() {
            *last >>= extra;
        }
    }

    /// Marks the columns that a changed branch reaches.
    pub(crate) fn mark(&mut self, plan: &EliminationPlan, stamp: &Stamp) {
        match stamp.changes {
            true => self.mark_path(plan, stamp.first()),
            false => self.mark_base(plan, stamp.first()),
        }
    }

    fn mark_path(&mut self, plan: &EliminationPlan, mut column: u32) {
        while column != NONE {
            let at = column as usize - plan.fixed;
            let (word, bit) = (&mut self.stale[at / 64], 1 << (at % 64));
            if *word & bit != 0 {
                break;
            }
            *word |= bit;
            column = plan.parents[column as usize];
        }
    }

    /// Marks a column's base, and the bases on its path, which its elimination reaches.
    fn mark_base(&mut self, plan: &EliminationPlan, mut column: u32) {
        while column != NONE && !self.is_rebased[column as usize] {
            self.is_rebased[column as usize] = true;
            self.rebase.push(column);
            column = plan.parents[column as usize];
        }
    }

    fn rebase(&mut self, plan: &EliminationPlan, slope: &[f64], offset: &[f64]) {
        let mut columns = std::mem::take(&mut self.rebase);
        columns.sort_unstable();
        for column in columns.drain(..) {
            self.is_rebased[column as usize] = false;
            self.find_base(plan, column as usize, slope, offset);
            if column as usize >= plan.fixed {
                self.mark_path(plan, column);
            }
        }
        self.rebase = columns;
    }

    /// Eliminates the marked columns again and finds the voltages of all changing columns. `false`: a pivot isn't
    /// positive.
    pub(crate) fn solve(&mut self, plan: &EliminationPlan, slope: &[f64], offset: &[f64]) -> bool {
        if !self.rebase.is_empty() {
            self.rebase(plan, slope, offset);
        }
        let mut good = true;
        for word in 0..self.stale.len() {
            let left = std::mem::take(&mut self.stale[word]);
            if left != 0 {
                good &= self.columns(plan, word, left, slope, offset);
            }
        }
        // A column's numbers follow from the lines alone, so those found here stay right even if the solution is not.
        if good {
            self.back(plan, plan.fixed..plan.columns);
        }
        good
    }

    /// Eliminates the columns of a word of `stale` whose bits are set. Slices are taken once for all of them: the compiler
    /// cannot know that numbers and the vectors' own pointers don't overlap, and would read these again at each step.
    fn columns(&mut self, plan: &EliminationPlan, word: usize, mut left: u64, slope: &[f64], offset: &[f64]) -> bool {
        let Fill { incoming, products } = &plan.from_changing;
        let Shares { slots, grounds, currents } = &self.changing;
        let (slot_base, ground_base, current_base) =
            (self.slot_base.as_slice(), self.ground_base.as_slice(), self.current_base.as_slice());
        let (conductances, shares) = (self.conductance.as_mut_slice(), self.share.as_mut_slice());
        let (ground_of, current_of) = (self.ground.as_mut_slice(), self.current.as_mut_slice());
        let inverses = self.inverse.as_mut_slice();
        let mut good = true;
        while left != 0 {
            let column = plan.fixed + word * 64 + left.trailing_zeros() as usize;
            left &= left - 1;
            let mut ground = sum_of(grounds.of(column), slope, ground_base[column]);
            let mut current = sum_of(currents.of(column), offset, current_base[column]);
            for &(from, slot) in incoming.of(column) {
                let share = shares[slot as usize];
                ground += share * ground_of[from as usize];
                current += share * current_of[from as usize];
            }
            let mut sum = ground;
            for slot in plan.slots(column) {
                let mut conductance = sum_of(slots.of(slot), slope, slot_base[slot]);
                for &(one, other) in products.of(slot) {
                    conductance += conductances[one as usize] * shares[other as usize];
                }
                conductances[slot] = conductance;
                sum += conductance;
            }
            let inverse = 1.0 / sum;
            (ground_of[column], current_of[column], inverses[column]) = (ground, current, inverse);
            let own = plan.slots(column);
            for (share, conductance) in shares[own.clone()].iter_mut().zip(&conductances[own]) {
                *share = conductance * inverse;
            }
            good &= sum > 0.0;
        }
        good
    }

    fn back(&mut self, plan: &EliminationPlan, columns: std::ops::Range<usize>) {
        let (shares, all) = (self.share.as_slice(), self.volts.as_mut_slice());
        let (starts, rows) = (plan.starts.as_slice(), plan.rows.as_slice());
        let sources = self.current[columns.clone()].iter().zip(&self.inverse[columns.clone()]);
        let mut end = starts[columns.end] as usize;
        for (column, (current, inverse)) in columns.zip(sources).rev() {
            let start = starts[column] as usize;
            let mut volts = current * inverse;
            for (share, row) in shares[start..end].iter().zip(&rows[start..end]) {
                volts += share * all[*row as usize];
            }
            all[column] = volts;
            end = start;
        }
    }

    /// Finds the voltages of the columns that never change, from those of the others.
    pub(crate) fn finish(&mut self, plan: &EliminationPlan) {
        self.back(plan, 0..plan.fixed);
    }

    /// How every column answers to a current into one of them, all sources dead. The last is the battery's negative.
    pub(crate) fn respond(&self, plan: &EliminationPlan, column: u32, amps: f64) -> Vec<f64> {
        self.respond_between(plan, column, NONE, amps)
    }

    /// How every column answers to a current into `from` that comes out of `to`, all sources dead.
    pub(crate) fn respond_between(&self, plan: &EliminationPlan, from: u32, to: u32, amps: f64) -> Vec<f64> {
        let n = plan.columns;
        let mut answer = vec![0.0; n + 1];
        for (column, amps) in [(from, amps), (to, -amps)] {
            if let Some(answer) = answer[..n].get_mut(column as usize) {
                *answer = amps;
            }
        }
        self.respond_from(plan, from.min(to) as usize, answer)
    }

    /// How every column answers to currents into all of them, all sources dead.
    pub(crate) fn respond_to(&self, plan: &EliminationPlan, amps: Vec<f64>) -> Vec<f64> {
        self.respond_from(plan, 0, amps)
    }

    /// The same for currents into columns from the `first` on; the last entry is the battery's negative.
    fn respond_from(&self, plan: &EliminationPlan, first: usize, mut answer: Vec<f64>) -> Vec<f64> {
        let n = plan.columns;
        for column in first.min(n)..n {
            let current = answer[column];
            if current != 0.0 {
                plan.slots(column).for_each(|slot| answer[plan.rows[slot] as usize] += self.share[slot] * current);
            }
        }
        for column in (0..n).rev() {
            let shared: f64 = plan.slots(column).map(|s| self.share[s] * answer[plan.rows[s] as usize]).sum();
            answer[column] = answer[column] * self.inverse[column] + shared;
        }
        answer
    }
}
