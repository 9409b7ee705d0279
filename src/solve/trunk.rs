//! The trunk that parts hang on: its voltages for given currents, and how far they may move.

use super::circuit::{Circuit, LEAK, NodeId};
use super::corner::Corner;
use super::dense;
use super::laws::{Curve, curve};
use super::parts::Parts;

/// A trunk node that this little conductance holds is floating: its bus is switched off.
const FLOATING_SIEMENS: f64 = 1e-6;

/// More than rounding leaves over at a node.
const ROUNDING_AMPS: f64 = 1e-6;

/// The trunk at one combination of master positions, as its terminals see it: conductances · voltages = currents − what
/// the parts draw. Nodes that nothing hangs on are eliminated, and follow from the terminals.
#[derive(Debug, Clone)]
pub(super) struct Trunk {
    size: usize,
    conductance: Vec<f64>,
    current: Vec<f64>,
    floating: Vec<bool>,
    /// For each inner node how many volts a volt at each terminal adds.
    inner: Vec<Vec<f64>>,
}

impl Trunk {
    pub(super) fn new(circuit: &Circuit, corner: Corner, parts: &Parts, combination: usize) -> Trunk {
        // Inner nodes first, so that what is left of the elimination is the terminals' share.
        let (k, n) = (parts.inner.len(), parts.inner.len() + parts.trunk.len());
        let mut matrix = vec![0.0; n * n];
        let mut right = vec![0.0; n];
        (0..n).for_each(|i| matrix[i * n + i] = 1.0 / LEAK.value());
        let positions = parts.master_positions(circuit, combination);
        let at = |id| parts.masters.binary_search(&id).map_or(0, |m| positions[m]);
        let place = |node: NodeId| match (parts.inner.binary_search(&node), parts.trunk.binary_search(&node)) {
            (Ok(i), _) => Some(i),
            (_, Ok(i)) => Some(k + i),
            _ => None,
        };
        for id in &parts.trunk_branches {
            let branch = &circuit.branches[id.index()];
            if branch.from == branch.to || !branch.when.holds(&at, &|_| false) {
                continue;
            }
            let Curve::Straight { slope, offset } = curve(branch, circuit, corner) else { continue };
            let (from, to) = (place(branch.from), place(branch.to));
            for (here, there, sign) in [(from, to, -1.0), (to, from, 1.0)] {
                if let Some(i) = here {
                    matrix[i * n + i] += slope;
                    right[i] += sign * offset;
                    if let Some(j) = there {
                        matrix[i * n + j] -= slope;
                    }
                }
            }
        }
        Trunk::reduced(k, n, matrix, right)
    }

    /// Eliminates the first `k` of `n` nodes (Schur's complement).
    fn reduced(k: usize, n: usize, mut matrix: Vec<f64>, mut right: Vec<f64>) -> Trunk {
        for column in 0..k {
            for row in column + 1..n {
                let share = matrix[row * n + column] / matrix[column * n + column];
                if share != 0.0 {
                    (column..n).for_each(|j| matrix[row * n + j] -= share * matrix[column * n + j]);
                    right[row] -= share * right[column];
                }
            }
        }
        let size = n - k;
        let mut inner = vec![vec![0.0; size]; k];
        for row in (0..k).rev() {
            let mut own: Vec<f64> = (0..size).map(|j| -matrix[row * n + k + j]).collect();
            for later in row + 1..k {
                let entry = matrix[row * n + later];
                if entry != 0.0 {
                    own.iter_mut().zip(&inner[later]).for_each(|(own, later)| *own -= entry * later);
                }
            }
            own.iter_mut().for_each(|own| *own /= matrix[row * n + row]);
            inner[row] = own;
        }
        let mut trunk = Trunk {
            size,
            conductance: (0..size * size).map(|at| matrix[(k + at / size) * n + k + at % size]).collect(),
            current: right[k..].to_vec(),
            floating: vec![false; size],
            inner,
        };
        for i in 0..size {
            let mut current = vec![0.0; size];
            current[i] = 1.0;
            trunk.floating[i] = trunk.answer(&current, &vec![0.0; size])[i] > 1.0 / FLOATING_SIEMENS;
        }
        trunk
    }

    /// How the voltage of an inner node answers to a current drawn at every terminal.
    pub(super) fn inner_weights(&self, at: usize, least: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.size];
        for (i, by) in self.inner[at].iter().enumerate().filter(|(_, by)| **by != 0.0) {
            sum.iter_mut().zip(self.weights(i, least)).for_each(|(sum, weight)| *sum += by * weight);
        }
        sum
    }

    /// Voltages for given currents into the trunk, with more conductance to the battery's negative at each node.
    fn answer(&self, current: &[f64], more: &[f64]) -> Vec<f64> {
        let mut matrix = self.conductance.clone();
        (0..self.size).for_each(|i| matrix[i * self.size + i] += more[i]);
        let mut right = current.to_vec();
        // OK because every node leaks, so there is a pivot in every column.
        let _ = dense::solve(&mut matrix, &mut right);
        right
    }

    /// Conductance that holds floating nodes, by what the parts surely have there.
    fn held(&self, least: &[f64]) -> Vec<f64> {
        (0..self.size).map(|i| if self.floating[i] { least[i] } else { 0.0 }).collect()
    }

    /// Voltages while the parts draw nothing.
    pub(super) fn unloaded(&self) -> Vec<f64> {
        self.answer(&self.current, &vec![0.0; self.size])
    }

    /// What is left over at each node: current that comes, less what the trunk leads away and the parts draw.
    pub(super) fn left_over(&self, volts: &[f64], drawn: &[f64]) -> Vec<f64> {
        let row = |i: usize| (0..self.size).map(|j| self.conductance[i * self.size + j] * volts[j]).sum::<f64>();
        (0..self.size).map(|i| self.current[i] - row(i) - drawn[i]).collect()
    }

    /// Where the voltages go from `volts` with this left over.
    pub(super) fn moved(&self, volts: &[f64], left_over: &[f64], least: &[f64]) -> Vec<f64> {
        let by = self.answer(left_over, &self.held(least));
        volts.iter().zip(by).map(|(volts, by)| volts + by).collect()
    }

    /// How the voltage of one node answers to a current drawn at every other.
    pub(super) fn weights(&self, node: usize, least: &[f64]) -> Vec<f64> {
        let mut current = vec![0.0; self.size];
        current[node] = 1.0;
        // The matrix is symmetric, so a column of its inverse is a row.
        self.answer(&current, &self.held(least))
    }

    /// Bounds how far the voltages can be from where `left_over` is what is left over at worst, the parts having
    /// conductances within `least` and `greatest` at their terminals. `None` if none is found.
    ///
    /// All together the conductances are an M-matrix A (no positive entry off the diagonal, no row sum below nought), so
    /// any z ≥ 0 with A·z ≥ |left over| bounds the difference (Berman and Plemmons 1994, chapter 6). A part's row is at
    /// least its terminal's conductance times what z there is above, or below, the greatest of the others.
    pub(super) fn off(&self, left_over: &[f64], least: &[f64], greatest: &[f64]) -> Option<Vec<f64>> {
        let n = self.size;
        let held = self.held(least);
        let mut z = self.answer(left_over, &held);
        for _ in 0..30 {
            let right: Vec<f64> = (0..n)
                .map(|i| {
                    let others = greatest_but(&z, i);
                    let fed = match self.floating[i] {
                        true => held[i] * others,
                        false => ROUNDING_AMPS + greatest[i] * (others - z[i]).max(0.0),
                    };
                    left_over[i] + fed
                })
                .collect();
            let mut next: Vec<f64> = self.answer(&right, &held).iter().map(|z| z * 1.01 + 1e-9).collect();
            // What floats goes as far as what it hangs on.
            for i in (0..n).filter(|i| self.floating[*i]) {
                next[i] = next[i].max(1.001 * greatest_but(&next, i));
            }
            if !next.iter().all(|z| z.is_finite() && *z < 100.0) {
                return None;
            }
            let enough = (0..n).all(|i| {
                let row: f64 = (0..n).map(|j| self.conductance[i * n + j] * next[j]).sum();
                let others = greatest_but(&next, i);
                let part = match next[i] > others {
                    true => least[i] * (next[i] - others),
                    false => greatest[i] * (next[i] - others),
                };
                row + part >= left_over[i]
            });
            if enough {
                return Some(next);
            }
            z = next;
        }
        None
    }
}

fn greatest_but(z: &[f64], i: usize) -> f64 {
    z.iter().enumerate().filter(|(j, _)| *j != i).fold(0.0, |a, (_, b)| a.max(*b))
}
