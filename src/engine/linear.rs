//! The linear network: every branch a straight line, solved for the voltages of all columns.

use super::dense;
use super::factor::{Factor, Stamp};
use super::plan::{EliminationPlan, NONE};
use circuit::{LEAK, LEAST_OHMS};
use std::sync::Arc;

/// Largest residual of Kirchhoff's current law at a node, as a share of its currents, before the dense solver is used.
const RESIDUAL_SHARE: f64 = 1e-9;

/// A resistance between two columns that the elimination plan doesn't have. The last column is the battery's negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct AddedLink {
    pub from: u32,
    pub to: u32,
    pub ohms: f64,
}

/// More volts than a vehicle has: without its links, almost nothing holds a node.
const LOST_VOLTS: f64 = 1e3;

/// The responses of all columns to a current of one ampere through each link, and the equations for the links'
/// currents.
struct Joined<'l> {
    links: &'l [AddedLink],
    answers: Vec<Vec<f64>>,
    matrix: Vec<f64>,
}

impl Joined<'_> {
    fn new<'l>(links: &'l [AddedLink], factor: &Factor, plan: &EliminationPlan) -> Joined<'l> {
        let column = |column: u32| if column as usize == plan.columns { NONE } else { column };
        let answer = |link: &AddedLink| factor.respond_between(plan, column(link.from), column(link.to), 1.0);
        let answers: Vec<Vec<f64>> = links.iter().map(answer).collect();
        let mut matrix = vec![];
        for (row, link) in links.iter().enumerate() {
            let own = |at: usize| if at == row { link.ohms } else { 0.0 };
            matrix.extend(answers.iter().enumerate().map(|(at, answer)| link.across(answer) + own(at)));
        }
        Joined { links, answers, matrix }
    }

    /// Changes voltages without links into voltages with them.
    fn join(&self, volts: &mut [f64]) -> bool {
        let mut amps: Vec<f64> = self.links.iter().map(|link| link.across(volts)).collect();
        let solved = dense::solve(&mut self.matrix.clone(), &mut amps);
        for (answer, amps) in self.answers.iter().zip(&amps) {
            volts.iter_mut().zip(answer).for_each(|(volts, answer)| *volts -= answer * amps);
        }
        solved
    }
}

impl AddedLink {
    fn across(&self, volts: &[f64]) -> f64 {
        volts[self.from as usize] - volts[self.to as usize]
    }
}

/// Slope and offset of every branch, in siemens and amperes, and the voltages that follow.
pub(crate) struct Linear {
    plan: Arc<EliminationPlan>,
    stamps: Vec<Stamp>,
    /// Columns of each branch, the last one being the battery's negative.
    ends: Vec<[u32; 2]>,
    slope: Vec<f64>,
    offset: Vec<f64>,
    factor: Factor,
    links: Vec<AddedLink>,
    /// Whether the last solution came from the dense solver.
    dense: bool,
    /// How many branches have a negative slope now. If any has, solutions are checked.
    falling: usize,
    /// Whether the voltages of the columns that no branch waits for are old.
    unfinished: bool,
    balance: Vec<Balance>,
}

/// The currents at a column, in amperes.
#[derive(Debug, Clone, Copy)]
struct Balance {
    /// Their sum, which is zero by Kirchhoff's current law.
    residual: f64,
    /// The sum of the sizes of their terms.
    size: f64,
}

impl Linear {
    /// With these lines of the branches that don't change from state to state; the others begin as open.
    pub(crate) fn new(plan: Arc<EliminationPlan>, stamps: Vec<Stamp>, slope: Vec<f64>, offset: Vec<f64>) -> Linear {
        let falling = slope.iter().filter(|slope| **slope < 0.0).count();
        let factor = Factor::new(&plan, &stamps, &slope, &offset);
        let last = plan.columns as u32;
        Linear {
            ends: stamps.iter().map(|stamp| [stamp.from, stamp.to].map(|column| column.min(last))).collect(),
            plan,
            stamps,
            slope,
            offset,
            factor,
            links: vec![],
            dense: false,
            falling,
            unfinished: true,
            balance: vec![],
        }
    }

    pub(crate) fn plan(&self) -> &Arc<EliminationPlan> {
        &self.plan
    }

    /// Whether the line of a branch changes from state to state.
    pub(crate) fn changes(&self, k: usize) -> bool {
        self.stamps[k].changes
    }

    /// Columns of a branch, the last one being the battery's negative.
    #[inline]
    pub(crate) fn ends(&self, k: usize) -> [u32; 2] {
        self.ends[k]
    }

    /// Voltage of each branch.
    pub(crate) fn each_across(&self) -> impl Iterator<Item = f64> {
        let volts = self.volts();
        self.ends.iter().map(move |[from, to]| volts[*from as usize] - volts[*to as usize])
    }

    pub(crate) fn slope(&self, k: usize) -> f64 {
        self.slope[k]
    }

    /// Current of a branch by its line.
    pub(crate) fn line_amps(&self, k: usize) -> f64 {
        self.slope[k] * self.across(k) + self.offset[k]
    }

    /// Sets the line of a branch; `true` if it is another one.
    pub(crate) fn set(&mut self, k: usize, [slope, offset]: [f64; 2]) -> bool {
        let changed = slope != self.slope[k] || offset != self.offset[k];
        if changed {
            self.falling += usize::from(slope < 0.0);
            self.falling -= usize::from(self.slope[k] < 0.0);
            (self.slope[k], self.offset[k]) = (slope, offset);
            self.factor.mark(&self.plan, &self.stamps[k]);
        }
        changed
    }

    /// Connects columns by resistances, instead of those before.
    pub(crate) fn set_links(&mut self, links: Vec<AddedLink>) {
        self.links = links;
    }

    /// Voltages by column, the last one being the battery's negative. Those of columns that nothing waits for are old
    /// until [`finish`](Self::finish).
    #[inline]
    pub(crate) fn volts(&self) -> &[f64] {
        &self.factor.volts
    }

    /// Voltage of a branch.
    #[inline]
    pub(crate) fn across(&self, k: usize) -> f64 {
        let [from, to] = self.ends(k);
        self.factor.volts[from as usize] - self.factor.volts[to as usize]
    }

    /// Sets every voltage to zero.
    pub(crate) fn go_dark(&mut self) {
        self.factor.volts.fill(0.0);
    }

    /// Finds the voltages of the columns that no branch waits for.
    pub(crate) fn finish(&mut self) {
        // With links the voltages of all columns are there already.
        if self.unfinished && !self.dense && self.links.is_empty() {
            self.factor.finish(&self.plan);
            self.unfinished = false;
        }
    }

    /// Conductance that a column looks into which a source of [`LEAST_OHMS`] holds, the other such columns held, in
    /// siemens.
    pub(crate) fn held_siemens(&self, column: u32) -> f64 {
        let volt = self.factor.respond(&self.plan, column, 1.0 / LEAST_OHMS.value());
        (1.0 - volt[column as usize]) / LEAST_OHMS.value()
    }

    /// Solves by the sparse factors; `false` where they can't be trusted. With `careful` the residual is checked.
    pub(crate) fn solve(&mut self, careful: bool) -> bool {
        (self.dense, self.unfinished) = (false, true);
        self.factor.solve(&self.plan, &self.slope, &self.offset) && self.join_links() && (!careful || self.is_trusted())
    }

    /// Lets the links carry current: from the voltages without them, and the response of all voltages to a current
    /// through each (Woodbury's formula).
    fn join_links(&mut self) -> bool {
        if self.links.is_empty() {
            return true;
        }
        self.factor.finish(&self.plan);
        let links = self.links.clone();
        let joined = Joined::new(&links, &self.factor, &self.plan);
        // A current into a node that only a link holds gives millions of volts without the link, and their rounding
        // stays.
        let is_lost = self.factor.volts.iter().any(|volts| volts.abs() > LOST_VOLTS);
        let mut solved = joined.join(&mut self.factor.volts);
        if is_lost {
            // One step of iterative refinement (Higham, on the accuracy of linear solvers).
            let amps: Vec<f64> = self.balance().iter().map(|at| -at.residual).collect();
            let mut volts = self.factor.respond_to(&self.plan, amps);
            solved &= joined.join(&mut volts);
            self.factor.volts.iter_mut().zip(&volts).for_each(|(volts, by)| *volts += by);
        }
        solved
    }

    /// Whether the solution fulfils Kirchhoff's current law. The sparse factors do so unless an entry is negative.
    pub(crate) fn is_trusted(&mut self) -> bool {
        if self.dense {
            return true;
        }
        if self.falling == 0 && self.links.is_empty() {
            return true;
        }
        self.finish();
        self.residual_share() <= RESIDUAL_SHARE
    }

    /// The largest residual of Kirchhoff's current law at a node, as a share of its currents.
    fn residual_share(&mut self) -> f64 {
        let columns = self.plan.columns;
        let shares = self.balance()[..columns].iter().map(|at| at.residual.abs() / at.size);
        shares.fold(0.0, f64::max)
    }

    /// The currents at each column, the last one being the battery's negative.
    fn balance(&mut self) -> &[Balance] {
        let n = self.plan.columns;
        let (volts, balance) = (self.factor.volts.as_slice(), &mut self.balance);
        balance.clear();
        balance.resize(n + 1, Balance { residual: 0.0, size: 1e-6 });
        let mut add = |[from, to]: [u32; 2], slope: f64, offset: f64| {
            let [at, other] = [volts[from as usize], volts[to as usize]];
            let amps = slope * (at - other) + offset;
            // Against the terms of the sum, not the sum: a wire without current has two large terms that cancel, and
            // their rounding is no fault of the solution (Higham, the componentwise backward error).
            let size = (slope * (at.abs() + other.abs())).abs() + offset.abs();
            for (column, amps) in [(from, amps), (to, -amps)] {
                let balance = &mut balance[column as usize];
                balance.residual += amps;
                balance.size += size;
            }
        };
        let lines = self.slope.iter().zip(&self.offset);
        for (ends, (slope, offset)) in self.ends.iter().zip(lines).filter(|(_, line)| line != &(&0.0, &0.0)) {
            add(*ends, *slope, *offset);
        }
        self.links.iter().for_each(|link| add([link.from, link.to], 1.0 / link.ohms, 0.0));
        balance.iter_mut().zip(volts).for_each(|(balance, volts)| balance.residual += volts / LEAK.value());
        // The battery's negative takes whatever comes.
        balance[n].residual = 0.0;
        balance
    }

    /// Solves by elimination of the whole matrix with pivoting; `false` where it is singular.
    pub(crate) fn solve_dense(&mut self) -> bool {
        self.dense = true;
        let n = self.plan.columns;
        let (mut matrix, mut right) = (vec![0.0; n * n], vec![0.0; n]);
        (0..n).for_each(|i| matrix[i * n + i] = 1.0 / LEAK.value());
        for (k, stamp) in self.stamps.iter().enumerate() {
            let ends = [(stamp.from, 1.0), (stamp.to, -1.0)];
            for (a, factor) in ends.into_iter().filter(|end| end.0 != NONE) {
                right[a as usize] -= factor * self.offset[k];
                for (b, other) in ends.into_iter().filter(|end| end.0 != NONE) {
                    matrix[a as usize * n + b as usize] += self.slope[k] * factor * other;
                }
            }
        }
        for link in &self.links {
            for (a, factor) in [(link.from as usize, 1.0), (link.to as usize, -1.0)] {
                for (b, other) in [(link.from as usize, 1.0), (link.to as usize, -1.0)] {
                    if a < n && b < n {
                        matrix[a * n + b] += factor * other / link.ohms;
                    }
                }
            }
        }
        let solved = dense::solve(&mut matrix, &mut right);
        self.factor.volts[..n].copy_from_slice(&right);
        solved
    }
}
