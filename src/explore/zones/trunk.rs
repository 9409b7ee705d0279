//! The trunk that feeds the zones: its voltages for given currents, and the levels between which they stay.
//!
//! **Trunk lemma.** Let every trunk node be at its high level, and every zone draw the least that it draws there in any
//! state that it can be in or pass through. If at every node no more current then arrives than leaves, no node of the
//! trunk is ever above its high level. The same holds for the low levels with least and most, arrives and leaves, above
//! and below exchanged.
//!
//! *Proof.* Let F(v) be the current that leaves each node less the current that arrives, at voltages v. At the voltages
//! v* of the whole, F(v*) = 0; at the high levels h, F(h) ≥ 0. Between v* and h each branch acts as a conductance of at
//! least 0, so F(h) − F(v*) = A·(h − v*) with the conductance matrix A of a network in which every node leaks. Such a
//! matrix has an inverse without negative entries (an M-matrix; Berman and Plemmons 1994, chapter 6), so h − v* ≥ 0. ∎
//!
//! The fall of the current of a constant-power load counts as a current here, any within its window (see `ends.rs`).
//! Each choice of such currents puts the trunk between its levels and the loads within their windows again, so one
//! choice reproduces itself (Brouwer's fixed point).

use super::apart::Zones;
use circuit::{Circuit, Corner, Curve, LEAK, NodeId, curve};
use engine::solve_dense;

/// A trunk node that this little conductance holds is floating: its bus is switched off.
const FLOATING_SIEMENS: f64 = 1e-6;

/// Rounding of a current, as a share of the currents that it is the sum of.
const ROUNDING: f64 = 1e-12;
const ROUNDING_DRAWN: f64 = 1e-9;

/// New levels are further apart than necessary by this share and these volts, and move towards each other by only this
/// part of the way at once, so that they hold at the next try.
const SPARE_SHARE: f64 = 0.02;
const SPARE_VOLTS: f64 = 1e-3;
const NEARER_SHARE: f64 = 0.85;

/// Levels that come this much closer, or more, are worth another try.
const MUCH_CLOSER: f64 = 0.9;

/// More volts than any vehicle has: the levels are not found.
const LOST_VOLTS: f64 = 1000.0;

/// The voltages between which each node of the trunk stays.
#[derive(Debug, Clone)]
pub(crate) struct Levels {
    pub low: Vec<f64>,
    pub high: Vec<f64>,
}

impl Levels {
    /// Where the zones' terminals are held.
    pub(crate) fn middle(&self) -> Vec<f64> {
        self.low.iter().zip(&self.high).map(|(low, high)| 0.5 * (low + high)).collect()
    }

    /// Whether no node comes much closer here than between other levels.
    pub(crate) fn is_near(&self, other: &Levels) -> bool {
        self.off().iter().zip(other.off()).all(|(own, other)| *own >= MUCH_CLOSER * other - SPARE_VOLTS)
    }

    /// How far each node may be off from there.
    pub(crate) fn off(&self) -> Vec<f64> {
        self.low.iter().zip(&self.high).map(|(low, high)| 0.5 * (high - low)).collect()
    }
}

/// What all zones together draw at most at the low levels, and at least at the high ones, in amperes by trunk node.
#[derive(Debug, Clone)]
pub(crate) struct TrunkDraw {
    pub most_at_low: Vec<f64>,
    pub least_at_high: Vec<f64>,
    /// Sum of the currents' sizes.
    pub size: Vec<f64>,
    /// Least conductances that hold floating nodes: only a guess for where the levels go next.
    pub hold: Vec<f64>,
}

impl TrunkDraw {
    /// No current yet, at this number of nodes.
    pub(crate) fn none(nodes: usize) -> TrunkDraw {
        let zero = || vec![0.0; nodes];
        TrunkDraw { most_at_low: zero(), least_at_high: zero(), size: zero(), hold: zero() }
    }
}

/// The trunk at one combination of master positions, as its terminals see it: conductances · voltages = currents − what
/// the zones draw. Nodes to which no zone connects are eliminated, and follow from the terminals.
#[derive(Debug, Clone)]
pub(crate) struct Trunk {
    size: usize,
    conductance: Vec<f64>,
    current: Vec<f64>,
    pub floating: Vec<bool>,
    /// For each inner node how many volts a volt at each terminal adds.
    inner: Vec<Vec<f64>>,
}

impl Trunk {
    pub(crate) fn new(circuit: &Circuit, corner: Corner, zones: &Zones, combination: usize) -> Trunk {
        // Inner nodes first, so that their elimination leaves the equations of the terminals.
        let (k, n) = (zones.inner.len(), zones.inner.len() + zones.trunk.len());
        let mut matrix = vec![0.0; n * n];
        let mut right = vec![0.0; n];
        (0..n).for_each(|i| matrix[i * n + i] = 1.0 / LEAK.value());
        let positions = zones.combinations.positions(combination);
        let at = |id| zones.masters.binary_search(&id).map_or(0, |m| positions[m]);
        let place = |node: NodeId| match (zones.inner.binary_search(&node), zones.trunk.binary_search(&node)) {
            (Ok(i), _) => Some(i),
            (_, Ok(i)) => Some(k + i),
            _ => None,
        };
        for id in &zones.trunk_branches {
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
    pub(crate) fn inner_weights(&self, at: usize, least: &[f64]) -> Vec<f64> {
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
        let _ = solve_dense(&mut matrix, &mut right);
        right
    }

    /// Conductance that holds floating nodes: the least that the zones have there.
    fn held(&self, least: &[f64]) -> Vec<f64> {
        (0..self.size).map(|i| if self.floating[i] { least[i] } else { 0.0 }).collect()
    }

    /// Voltages while the zones draw nothing.
    pub(crate) fn unloaded(&self) -> Vec<f64> {
        self.answer(&self.current, &vec![0.0; self.size])
    }

    /// The residual of each node: current that arrives, less the current that the trunk leads away and the zones draw.
    pub(crate) fn left_over(&self, volts: &[f64], drawn: &[f64]) -> Vec<f64> {
        let row = |i: usize| (0..self.size).map(|j| self.conductance[i * self.size + j] * volts[j]).sum::<f64>();
        (0..self.size).map(|i| self.current[i] - row(i) - drawn[i]).collect()
    }

    /// The voltages after `volts` with this residual.
    pub(crate) fn moved(&self, volts: &[f64], left_over: &[f64], least: &[f64]) -> Vec<f64> {
        let by = self.answer(left_over, &self.held(least));
        volts.iter().zip(by).map(|(volts, by)| volts + by).collect()
    }

    /// How the voltage of one node answers to a current drawn at every other.
    pub(crate) fn weights(&self, node: usize, least: &[f64]) -> Vec<f64> {
        let mut current = vec![0.0; self.size];
        current[node] = 1.0;
        // The matrix is symmetric, so a column of its inverse is a row.
        self.answer(&current, &self.held(least))
    }

    /// Whether the trunk lemma holds for these levels.
    pub(crate) fn holds(&self, levels: &Levels, draw: &TrunkDraw) -> bool {
        let too_high = self.left_over(&levels.high, &draw.least_at_high);
        let too_low = self.left_over(&levels.low, &draw.most_at_low);
        let rounding = |i: usize, volts: &[f64]| {
            let row = (0..self.size).map(|j| (self.conductance[i * self.size + j] * volts[j]).abs()).sum::<f64>();
            ROUNDING * (row + self.current[i].abs()) + ROUNDING_DRAWN * draw.size[i]
        };
        (0..self.size).all(|i| too_high[i] <= rounding(i, &levels.high) && too_low[i] >= -rounding(i, &levels.low))
    }

    /// Levels to try next, as close as possible; `None` if a vehicle can't have them.
    pub(crate) fn closer(&self, levels: &Levels, draw: &TrunkDraw) -> Option<Levels> {
        let mut high = self.moved(&levels.high, &self.left_over(&levels.high, &draw.least_at_high), &draw.hold);
        let mut low = self.moved(&levels.low, &self.left_over(&levels.low, &draw.most_at_low), &draw.hold);
        for i in 0..self.size {
            // The conductance that holds a floating node changes from state to state, so its levels move by small
            // steps.
            if self.floating[i] {
                let most = 2.0 * (levels.high[i] - levels.low[i]);
                high[i] = high[i].clamp(levels.high[i] - most, levels.high[i] + most);
                low[i] = low[i].clamp(levels.low[i] - most, levels.low[i] + most);
            }
            let spare = SPARE_SHARE * (high[i] - low[i]).abs() + SPARE_VOLTS;
            let nearer = |to: f64, from: f64| NEARER_SHARE * to + (1.0 - NEARER_SHARE) * from;
            high[i] = spare + if high[i] < levels.high[i] { nearer(high[i], levels.high[i]) } else { high[i] };
            low[i] = -spare + if low[i] > levels.low[i] { nearer(low[i], levels.low[i]) } else { low[i] };
        }
        let found = low.iter().zip(&high).all(|(low, high)| low < high && low.abs().max(high.abs()) < LOST_VOLTS);
        found.then_some(Levels { low, high })
    }
}
