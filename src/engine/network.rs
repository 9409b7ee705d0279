//! The electrical network of one state: which branches are there is given; every branch is put on the straight piece of
//! its law that its voltage asks for, until all pieces fit together.

mod variant;

use super::curved::Curved;
use super::factor::Stamp;
use super::linear::Linear;
use super::pass::{MOST_PASSES, Pass, Turns};
use super::plan::{EliminationPlan, changes};
use super::power::{self, PowerCurve, PowerLoads};
use circuit::{BranchId, Circuit, Curve, LinePiece, NodeId, piece_at};
use std::ops::Range;
use std::sync::Arc;

/// Shares of their power that constant-power loads draw one after the other, where they starve at once.
const POWER_SHARES: [f64; 3] = [0.0, 0.5, 1.0];

/// The branches whose laws found no pieces that fit together.
pub struct NoSolution(pub Vec<BranchId>);

/// The voltages and currents of one state at one corner, in one phase of pulses. Each solution starts from the one
/// before, which is fastest when few branches change.
///
/// The result doesn't depend on that start: laws that never fall have one solution. Loads of constant power may have
/// several. One in which a load starves is taken only if none is found from the highest voltages down. Two sources of
/// different resistance can give a load two solutions above its least voltage; which of them is found may depend on the
/// start.
pub struct Network {
    linear: Linear,
    curves: Vec<Curve>,
    /// Curves that a variant has replaced, by branch.
    unchanged: Vec<(usize, Curve)>,
    curved: Vec<Curved>,
    /// Which of the curved branches are loads of constant power.
    loads: Vec<usize>,
    /// How often each of the curved branches has changed its piece in this solution.
    turns: Turns,
    there: Vec<bool>,
    power: PowerLoads,
    /// Whether lines have changed since the last solution.
    stale: bool,
    /// The branches that have changed their lines in a pass.
    changed: Vec<BranchId>,
}

impl Network {
    /// With every law as a curve at the corner. No branch is there yet.
    pub(crate) fn new(circuit: &Circuit, plan: Arc<EliminationPlan>, curves: Vec<Curve>) -> Network {
        let n = circuit.branches.len();
        let column = |node: NodeId| plan.column_of[node.index()];
        let (mut stamps, mut curved) = (Vec::with_capacity(n), vec![]);
        let (mut slope, mut offset) = (vec![0.0; n], vec![0.0; n]);
        for (k, (branch, curve)) in circuit.branches.iter().zip(&curves).enumerate() {
            let (from, to) = (column(branch.from), column(branch.to));
            let changes = changes(circuit, k);
            stamps.push(Stamp { from, to, changes });
            match curve {
                Curve::Pieces(_) | Curve::Power { .. } => {
                    let [from, to] = [from, to].map(|c| c.min(plan.columns as u32));
                    curved.push(Curved::new(k, [from, to]));
                }
                Curve::Straight { slope: own, offset: driven } if !changes => (slope[k], offset[k]) = (*own, *driven),
                _ => {}
            }
        }
        let is_load = |one: &Curved| matches!(curves[one.branch()], Curve::Power { .. });
        let loads = (0..curved.len()).filter(|at| is_load(&curved[*at])).collect();
        let mut network = Network {
            linear: Linear::new(plan, stamps, slope, offset),
            curves,
            unchanged: vec![],
            turns: Turns::new(curved.len()),
            curved,
            loads,
            there: vec![false; n],
            power: PowerLoads::new(n),
            stale: true,
            changed: vec![],
        };
        network.forget();
        network
    }

    /// The elimination plan.
    pub fn plan(&self) -> &Arc<EliminationPlan> {
        self.linear.plan()
    }

    /// The curve of a branch.
    #[inline]
    pub fn curve(&self, k: usize) -> &Curve {
        &self.curves[k]
    }

    /// Whether a branch is there.
    #[inline]
    pub fn is_there(&self, k: usize) -> bool {
        self.there[k]
    }

    /// Columns of a branch, the last one being the battery's negative.
    #[inline]
    pub fn ends(&self, k: usize) -> [u32; 2] {
        self.linear.ends(k)
    }

    /// Voltages by column, the last one being the battery's negative; all of them are found after
    /// [`finish`](Self::finish).
    #[inline]
    pub fn volts(&self) -> &[f64] {
        self.linear.volts()
    }

    /// Voltage of a branch.
    #[inline]
    pub fn across(&self, k: usize) -> f64 {
        self.linear.across(k)
    }

    /// Current that leaves a branch at `to`, by its law at the voltages found.
    pub fn amps(&self, k: usize) -> f64 {
        if !self.there[k] {
            return 0.0;
        }
        match &self.curves[k] {
            Curve::Straight { slope, offset } => slope * self.across(k) + offset,
            Curve::Power { output: Some((of, _)), .. } => {
                self.curves[k].amps(self.across(k), self.power.output_watts(*of))
            }
            curve => curve.amps(self.across(k), 0.0),
        }
    }

    /// Currents that leave the branches at `to`, by their laws at the voltages found, branch by branch.
    pub(crate) fn each_amps(&self) -> impl Iterator<Item = f64> {
        let branches = self.there.iter().zip(&self.curves).zip(self.linear.each_across()).enumerate();
        branches.map(|(k, ((there, curve), across))| match curve {
            _ if !there => 0.0,
            Curve::Straight { slope, offset } => slope * across + offset,
            _ => self.amps(k),
        })
    }

    /// Finds the voltages that no branch waits for.
    pub fn finish(&mut self) {
        self.linear.finish();
    }

    /// Currents from these columns into all branches but those that hold them, in amperes.
    pub fn drawn(&mut self, columns: &[u32], holding: &Range<usize>) -> Vec<f64> {
        self.finish();
        let mut amps = vec![0.0; columns.len()];
        for k in (0..self.there.len()).filter(|k| self.there[*k] && !holding.contains(k)) {
            let [from, to] = self.ends(k);
            if from == to || (!columns.contains(&from) && !columns.contains(&to)) {
                continue;
            }
            let through = if k < holding.end { self.amps(k) } else { self.linear.line_amps(k) };
            for (amps, column) in amps.iter_mut().zip(columns) {
                *amps += if from == *column { through } else { 0.0 } - if to == *column { through } else { 0.0 };
            }
        }
        amps
    }

    /// Conductance that a held column looks into, the other held columns held, in siemens.
    pub fn held_siemens(&self, column: u32) -> f64 {
        self.linear.held_siemens(column)
    }

    /// Gives a straight branch this current in amperes, until it is switched.
    pub fn impose(&mut self, k: usize, amps: f64) {
        self.stale |= self.linear.set(k, [self.linear.slope(k), amps]);
    }

    /// Starts from no solution: no branch conducts that needn't, loads of constant power draw nothing.
    pub(crate) fn forget(&mut self) {
        self.power.forget();
        for at in 0..self.curved.len() {
            let piece = match &self.curves[self.curved[at].branch()] {
                Curve::Pieces(pieces) => piece_at(pieces, 0.0),
                _ => 0,
            };
            self.put(at, piece);
        }
    }

    /// Sets every voltage to zero, for a circuit without supply.
    pub(crate) fn go_dark(&mut self) {
        self.linear.go_dark();
        self.stale = true;
    }

    /// Has the next solution found again.
    pub(crate) fn set_stale(&mut self) {
        self.stale = true;
    }

    /// Connects or opens a branch.
    pub(crate) fn set_there(&mut self, k: usize, there: bool) {
        let there = there && !matches!(self.curves[k], Curve::Open);
        // Its line may be zero in both cases, but then its voltage hasn't been compared with its piece yet.
        self.stale |= there != self.there[k];
        self.there[k] = there;
        if self.linear.changes(k) {
            self.set_line(k, self.piece_of(k));
        }
    }

    fn place_of(&self, k: usize) -> Option<usize> {
        self.curved.binary_search_by_key(&(k as u32), |one| one.branch() as u32).ok()
    }

    fn piece_of(&self, k: usize) -> usize {
        self.place_of(k).map_or(0, |at| self.curved[at].piece())
    }

    /// Puts a curved branch on a piece.
    fn put(&mut self, at: usize, piece: usize) {
        let k = self.curved[at].branch();
        if let Curve::Pieces(pieces) = &self.curves[k] {
            self.curved[at].set_piece(pieces, piece);
        }
        self.set_line(k, piece);
    }

    /// Puts a branch's slope and offset into the linear network.
    fn set_line(&mut self, k: usize, piece: usize) {
        let line = if self.there[k] { self.line(k, piece) } else { [0.0; 2] };
        self.stale |= self.linear.set(k, line);
    }

    /// Slope and offset of a branch that is there.
    fn line(&self, k: usize, piece: usize) -> [f64; 2] {
        match &self.curves[k] {
            Curve::Straight { slope, offset } => [*slope, *offset],
            Curve::Pieces(pieces) => [pieces[piece].slope, pieces[piece].offset],
            Curve::Open => [0.0; 2],
            Curve::Power { watts, amps, least, output } => {
                self.power.line(k, PowerCurve { watts: *watts, amps: *amps, least: *least, output: *output })
            }
        }
    }

    /// Finds the solution, if anything has changed since the last one.
    pub(crate) fn solve(&mut self) -> Result<(), NoSolution> {
        if !self.stale {
            return Ok(());
        }
        if self.passes().is_ok() && !self.is_starved() {
            return Ok(());
        }
        // From the highest voltages down: without power there is one solution, and each further share of the power
        // starts from the solution before (continuation; Allgower and Georg 1990). So the solution found with loads
        // that starve is always the same one.
        self.forget();
        let mut solved = Ok(());
        for share in POWER_SHARES {
            self.power.set_share(share);
            self.reline_loads();
            solved = self.passes();
        }
        solved
    }

    /// Whether a constant-power load has less than its least voltage: another solution may then exist.
    fn is_starved(&self) -> bool {
        self.loads.iter().any(|&at| match &self.curves[self.curved[at].branch()] {
            Curve::Power { least, .. } => {
                let volts = self.volts_of(at);
                self.there[self.curved[at].branch()] && power::is_starved(volts, *least)
            }
            _ => false,
        })
    }

    fn passes(&mut self) -> Result<(), NoSolution> {
        self.stale = true;
        self.turns.begin();
        self.power.begin();
        let mut changed = std::mem::take(&mut self.changed);
        changed.clear();
        let solved = self.solve_passes(&mut changed);
        self.stale = !solved;
        let result = if solved { Ok(()) } else { Err(NoSolution(changed.clone())) };
        self.changed = changed;
        result
    }

    /// Whether the pieces of all laws fit together in the end; if not, `changed` has those of the last pass that didn't.
    fn solve_passes(&mut self, changed: &mut Vec<BranchId>) -> bool {
        let (mut streak, mut careful) = (0, false);
        for pass in 0..MOST_PASSES {
            if !self.solve_lines(careful) {
                return false;
            }
            // Loads of constant power that swing to and fro are brought together by halves.
            let swinging = changed.iter().any(|b| matches!(self.curves[b.index()], Curve::Power { .. }));
            streak = if swinging { streak + 1 } else { 0 };
            changed.clear();
            self.relinearise(&Pass::new(pass, streak, &self.turns), changed);
            if changed.is_empty() {
                if careful || self.linear.is_trusted() {
                    return true;
                }
                careful = true;
            }
        }
        false
    }

    /// Solves the network with every branch on its line.
    ///
    /// Loads of constant power are taken by their tangents (Newton's method), which are negative conductances. Where
    /// the network has no solution with those, because nothing feeds such a load or its feed has too much resistance,
    /// they are constant currents for this pass: slower, but it converges to the highest voltages from any start above
    /// them.
    ///
    /// With `careful` the residual is checked, and too much of it counts as no solution.
    fn solve_lines(&mut self, careful: bool) -> bool {
        self.take_loads_by(false);
        if self.linear.solve(careful) {
            return true;
        }
        if self.take_loads_by(true) && self.linear.solve(careful) {
            return true;
        }
        self.linear.solve_dense()
    }

    /// Takes constant-power loads by constant currents, or by tangents. Whether any line changed.
    fn take_loads_by(&mut self, chords: bool) -> bool {
        self.power.take_by(chords) && self.reline_loads()
    }

    /// Takes the lines of constant-power loads again. Whether any slope changed.
    fn reline_loads(&mut self) -> bool {
        let mut any = false;
        for i in 0..self.loads.len() {
            let k = self.curved[self.loads[i]].branch();
            if matches!(self.curves[k], Curve::Power { .. }) {
                let before = self.linear.slope(k);
                self.set_line(k, 0);
                any |= self.linear.slope(k) != before;
            }
        }
        any
    }

    /// Moves the operating points of all constant-power loads, and puts branches on the piece that their voltage asks
    /// for. With `single` pieces stay while a load still moves, and then only the first branch that has to change does,
    /// one piece towards it: the least-index rule, which ends for laws that never fall (Murty 1974, on complementary
    /// pivots).
    fn relinearise(&mut self, pass: &Pass, changed: &mut Vec<BranchId>) {
        let Pass { single, damped, slack } = *pass;
        for i in 0..self.loads.len() {
            let at = self.loads[i];
            let k = self.curved[at].branch();
            let power = matches!(self.curves[k], Curve::Power { .. });
            if power && self.there[k] && self.operate(k, self.volts_of(at), damped) {
                changed.push(BranchId(k as u32));
            }
        }
        if single && !changed.is_empty() {
            return;
        }
        for at in 0..self.curved.len() {
            let one = self.curved[at];
            let k = one.branch();
            let volts = self.volts_of(at);
            if one.holds_at(volts, slack) || !self.there[k] {
                continue;
            }
            let Curve::Pieces(pieces) = &self.curves[k] else { continue };
            // A constant current into a node that nothing feeds gives a voltage that means nothing, so the branch only
            // goes to the next piece.
            let LinePiece { slope, offset, .. } = pieces[one.piece()];
            let piece = match single || (slope == 0.0 && offset != 0.0) {
                true if one.is_above(volts) => one.piece() - 1,
                true => one.piece() + 1,
                false => piece_at(pieces, volts),
            };
            self.put(at, piece);
            self.turns.count(at);
            changed.push(BranchId(k as u32));
            if single {
                return;
            }
        }
    }

    /// Voltage of a branch with a curved law.
    fn volts_of(&self, at: usize) -> f64 {
        self.curved[at].volts(self.linear.volts())
    }

    /// Takes the line of a constant-power load at the voltage found, and takes up its converter's output. Whether it
    /// moved.
    fn operate(&mut self, k: usize, volts: f64, damped: bool) -> bool {
        let Curve::Power { least, output, .. } = &self.curves[k] else { return false };
        let (least, output) = (*least, *output);
        let mut moved = false;
        if let Some((of, factor)) = output {
            let watts = (-self.across(of) * self.amps(of)).max(0.0);
            moved = self.power.take_output(of, factor, watts);
        }
        moved |= self.power.operate(k, least, volts, damped);
        if moved {
            self.set_line(k, 0);
        }
        moved
    }
}
