//! The trunk that parts hang on: its voltages for given currents, and how far they may move.

use super::circuit::{Circuit, LEAK, NEGATIVE};
use super::corner::Corner;
use super::dense;
use super::laws::{Curve, curve};
use super::parts::Parts;

/// A trunk node that this little conductance holds is floating: its bus is switched off.
const FLOATING_SIEMENS: f64 = 1e-6;

/// More than rounding leaves over at a node.
const ROUNDING_AMPS: f64 = 1e-6;

/// The trunk at one combination of master positions: conductances · voltages = currents − what the parts draw.
#[derive(Debug, Clone)]
pub(super) struct Trunk {
    size: usize,
    conductance: Vec<f64>,
    current: Vec<f64>,
    floating: Vec<bool>,
}

impl Trunk {
    pub(super) fn new(circuit: &Circuit, corner: Corner, parts: &Parts, combination: usize) -> Trunk {
        let n = parts.trunk.len();
        let mut trunk =
            Trunk { size: n, conductance: vec![0.0; n * n], current: vec![0.0; n], floating: vec![false; n] };
        (0..n).for_each(|i| trunk.conductance[i * n + i] = 1.0 / LEAK.value());
        let positions = parts.master_positions(circuit, combination);
        let at = |id| parts.masters.binary_search(&id).map_or(0, |m| positions[m]);
        for id in &parts.trunk_branches {
            let branch = &circuit.branches[id.index()];
            if branch.from == branch.to || !branch.when.holds(&at, &|_| false) {
                continue;
            }
            let Curve::Straight { slope, offset } = curve(&branch.law, circuit, corner) else { continue };
            let place = |node| if node == NEGATIVE { None } else { parts.trunk.binary_search(&node).ok() };
            let (from, to) = (place(branch.from), place(branch.to));
            for (here, there, sign) in [(from, to, -1.0), (to, from, 1.0)] {
                if let Some(i) = here {
                    trunk.conductance[i * n + i] += slope;
                    trunk.current[i] += sign * offset;
                    if let Some(j) = there {
                        trunk.conductance[i * n + j] -= slope;
                    }
                }
            }
        }
        for i in 0..n {
            let mut current = vec![0.0; n];
            current[i] = 1.0;
            trunk.floating[i] = trunk.answer(&current, &vec![0.0; n])[i] > 1.0 / FLOATING_SIEMENS;
        }
        trunk
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

    /// The equations for how far the voltages move from where they were held: matrix and right side, without the parts.
    pub(super) fn equations(&self, held: &[f64]) -> (Vec<f64>, Vec<f64>) {
        (self.conductance.clone(), self.left_over(held, &vec![0.0; self.size]))
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
