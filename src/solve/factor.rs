//! The numbers of an elimination: conductances, kept as conductances.
//!
//! Eliminating a node turns the star of its conductances into a mesh between its neighbours; its conductance to the
//! battery's negative and its current are shared out the same way. That is LDLᵀ without a subtraction: as long as no
//! conductance is negative nothing cancels, so every voltage is right to rounding even where 1 MS meets 1 nS (Grassmann,
//! Taksar and Heyman 1985; O'Cinneide 1993 on its error). Constant-power loads do bring
//! negative entries; a pivot that isn't positive is told to the caller.

use super::circuit::LEAK;
use super::plan::{Lists, NONE, Plan};

/// Where a changing branch enters the equations: its slope or offset, times a weight.
#[derive(Debug, Clone, Copy, Default)]
struct Share {
    branch: u32,
    weight: f64,
}

/// How a branch stands between two columns: current into `to` is slope · (v_from − v_to) + offset.
#[derive(Debug, Clone, Copy)]
pub(super) struct Stamp {
    pub from: u32,
    pub to: u32,
    pub changes: bool,
}

/// A factored matrix with its solution.
#[derive(Debug, Clone)]
pub(super) struct Factor {
    slot_shares: Lists<Share>,
    ground_shares: Lists<Share>,
    current_shares: Lists<Share>,
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
    /// Columns to redo.
    stale: Vec<u64>,
    /// Voltages by column, and one more that stays nought for the battery's negative.
    pub volts: Vec<f64>,
}

impl Factor {
    /// Sets up for one corner; `lines` are slope and offset of every branch, those of changing ones not yet counted.
    pub(super) fn new(plan: &Plan, stamps: &[Stamp], lines: &[[f64; 2]]) -> Factor {
        let n = plan.columns;
        let (mut slots, mut grounds, mut currents) = (vec![], vec![], vec![]);
        let mut factor = Factor {
            slot_shares: Lists::default(),
            ground_shares: Lists::default(),
            current_shares: Lists::default(),
            slot_base: vec![0.0; plan.rows.len()],
            ground_base: vec![1.0 / LEAK.value(); n],
            current_base: vec![0.0; n],
            conductance: vec![0.0; plan.rows.len()],
            share: vec![0.0; plan.rows.len()],
            ground: vec![0.0; n],
            current: vec![0.0; n],
            inverse: vec![0.0; n],
            stale: vec![u64::MAX; plan.words],
            volts: vec![0.0; n + 1],
        };
        for (k, stamp) in stamps.iter().enumerate() {
            let Stamp { from, to, changes } = *stamp;
            let branch = k as u32;
            if from == to {
                continue;
            }
            let slot = plan.slot(from, to);
            // With one end on the battery's negative, all of it goes there.
            let to_ground = if slot == NONE { 1.0 } else { 0.0 };
            for (column, into) in [(from, -1.0), (to, 1.0)].into_iter().filter(|end| end.0 != NONE) {
                match changes {
                    true => {
                        if to_ground != 0.0 {
                            grounds.push((column, Share { branch, weight: to_ground }));
                        }
                        currents.push((column, Share { branch, weight: into }));
                    }
                    false => {
                        factor.ground_base[column as usize] += to_ground * lines[k][0];
                        factor.current_base[column as usize] += into * lines[k][1];
                    }
                }
            }
            if slot != NONE {
                match changes {
                    true => slots.push((slot, Share { branch, weight: 1.0 })),
                    false => factor.slot_base[slot as usize] += lines[k][0],
                }
            }
        }
        factor.slot_shares = Lists::new(plan.rows.len(), &slots);
        factor.ground_shares = Lists::new(n, &grounds);
        factor.current_shares = Lists::new(n, &currents);
        factor.eliminate_fixed(plan);
        factor.mark_all(plan);
        factor
    }

    /// Eliminates the columns that never change into the bases of those that do.
    fn eliminate_fixed(&mut self, plan: &Plan) {
        for column in 0..plan.fixed {
            let slots = plan.slots(column);
            let sum = self.ground_base[column] + slots.clone().map(|slot| self.slot_base[slot]).sum::<f64>();
            self.inverse[column] = 1.0 / sum;
            self.current[column] = self.current_base[column];
            for slot in slots.clone() {
                let (row, share) = (plan.rows[slot] as usize, self.slot_base[slot] / sum);
                self.share[slot] = share;
                self.ground_base[row] += share * self.ground_base[column];
                self.current_base[row] += share * self.current_base[column];
                for other in slot + 1..slots.end {
                    let target = plan.slot(row as u32, plan.rows[other]) as usize;
                    self.slot_base[target] += share * self.slot_base[other];
                }
            }
        }
    }

    /// Has every changing column redone.
    pub(super) fn mark_all(&mut self, plan: &Plan) {
        self.stale.fill(u64::MAX);
        let extra = plan.words * 64 - (plan.columns - plan.fixed);
        if let Some(last) = self.stale.last_mut() {
            *last >>= extra;
        }
    }

    /// Has the columns redone that a changed branch reaches.
    pub(super) fn mark(&mut self, plan: &Plan, stamp: &Stamp) {
        // The battery's negative is the greatest of all columns.
        let first = stamp.from.min(stamp.to);
        if first != NONE && stamp.from != stamp.to {
            self.stale.iter_mut().zip(plan.path(first)).for_each(|(word, path)| *word |= path);
        }
    }

    /// Redoes what is marked and finds the voltages of all changing columns. `false`: a pivot isn't positive.
    pub(super) fn solve(&mut self, plan: &Plan, slope: &[f64], offset: &[f64]) -> bool {
        let mut good = true;
        for word in 0..self.stale.len() {
            let mut left = std::mem::take(&mut self.stale[word]);
            while left != 0 {
                let column = plan.fixed + word * 64 + left.trailing_zeros() as usize;
                left &= left - 1;
                good &= self.column(plan, column, slope, offset);
            }
        }
        if !good {
            self.mark_all(plan);
            return false;
        }
        self.back(plan, plan.fixed..plan.columns);
        true
    }

    fn column(&mut self, plan: &Plan, column: usize, slope: &[f64], offset: &[f64]) -> bool {
        let mut ground = self.ground_base[column];
        for share in self.ground_shares.of(column) {
            ground += share.weight * slope[share.branch as usize];
        }
        let mut current = self.current_base[column];
        for share in self.current_shares.of(column) {
            current += share.weight * offset[share.branch as usize];
        }
        for &(from, slot) in plan.incoming.of(column) {
            let share = self.share[slot as usize];
            ground += share * self.ground[from as usize];
            current += share * self.current[from as usize];
        }
        let mut sum = ground;
        for slot in plan.slots(column) {
            let mut conductance = self.slot_base[slot];
            for share in self.slot_shares.of(slot) {
                conductance += share.weight * slope[share.branch as usize];
            }
            for &(one, other) in plan.products.of(slot) {
                conductance += self.conductance[one as usize] * self.share[other as usize];
            }
            self.conductance[slot] = conductance;
            sum += conductance;
        }
        let inverse = 1.0 / sum;
        (self.ground[column], self.current[column], self.inverse[column]) = (ground, current, inverse);
        for slot in plan.slots(column) {
            self.share[slot] = self.conductance[slot] * inverse;
        }
        sum > 0.0
    }

    fn back(&mut self, plan: &Plan, columns: std::ops::Range<usize>) {
        for column in columns.rev() {
            let mut volts = self.current[column] * self.inverse[column];
            for slot in plan.slots(column) {
                volts += self.share[slot] * self.volts[plan.rows[slot] as usize];
            }
            self.volts[column] = volts;
        }
    }

    /// Finds the voltages of the columns that never change, from those of the others.
    pub(super) fn finish(&mut self, plan: &Plan) {
        self.back(plan, 0..plan.fixed);
    }

    /// Resistance between a column and the battery's negative, all sources dead: how far an ampere into it lifts it.
    ///
    /// With L·D·Lᵀ = A it is the sum of y²/d over the columns on the way of the elimination, y being what L⁻¹ makes of the
    /// ampere: half of what [`respond`](Self::respond) takes, or less.
    pub(super) fn resistance(&self, plan: &Plan, column: u32) -> f64 {
        let mut room = vec![0.0; plan.columns];
        room[column as usize] = 1.0;
        let mut sum = 0.0;
        for column in column as usize..plan.columns {
            let current = std::mem::take(&mut room[column]);
            if current != 0.0 {
                sum += current * current * self.inverse[column];
                plan.slots(column).for_each(|slot| room[plan.rows[slot] as usize] += self.share[slot] * current);
            }
        }
        sum
    }

    /// How every column answers to a current into one of them, all sources dead. The last is the battery's negative.
    pub(super) fn respond(&self, plan: &Plan, column: u32, amps: f64) -> Vec<f64> {
        let n = plan.columns;
        let mut answer = vec![0.0; n + 1];
        answer[column as usize] = amps;
        for column in column as usize..n {
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
