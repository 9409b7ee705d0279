//! The electrical part of settling: straight pieces of every law until they fit together, with the actors held.

use super::dense;
use super::plan::NONE;
use super::settle::{Link, NoEnd, Solver};
use circuit::{BranchId, Curve, LEAK, LinePiece, piece_at};

/// A piece is kept while its voltage is at most this far outside, the rounding of a difference of two supply voltages. It
/// is so little that the currents it leaves open don't count even against those of [`LEAK`].
const PIECE_SLACK: f64 = 1e-14;

/// The same in the last half of [`SINGLE_PASSES`], so that rounding can't turn pieces over for ever.
const WIDE_PIECE_SLACK: f64 = 1e-9;

/// Change of voltage below which a constant-power load counts as found; what is left is its square, relative.
const POWER_SLACK: f64 = 1e-6;

/// The same where the load was taken as a constant current, so that what is left goes with the change itself.
const CHORD_SLACK: f64 = 1e-10;

/// A load of constant power with less than this share of its lowest voltage is off, not starved: no source that could
/// feed it in full gives it so little (of two solutions the lower has x / (1 + x²/4) of the lowest voltage or more, x being
/// the source's voltage over the least one).
const STARVED_SHARE: f64 = 0.05;

/// Passes in which every branch may change its piece.
const FREE_PASSES: usize = 40;

/// Passes after those, in which only the first branch that has to change does.
const SINGLE_PASSES: usize = 2000;

/// Passes in a row in which a constant-power load may move by the whole step; Newton's method needs some five.
const SWINGING_PASSES: usize = 15;

/// Of a node's currents, the most that may be left over before the dense solver is asked.
const RESIDUAL_SHARE: f64 = 1e-9;

impl Solver<'_> {
    /// Slope and offset of a branch that is there.
    pub fn line(&self, k: usize, piece: usize) -> [f64; 2] {
        match &self.curves[k] {
            Curve::Straight { slope, offset } => [*slope, *offset],
            Curve::Pieces(pieces) => [pieces[piece].slope, pieces[piece].offset],
            Curve::Open => [0.0; 2],
            Curve::Power { watts, amps, least, output } => {
                let watts = watts + output.map_or(0.0, |(of, factor)| factor * self.output_watts[of]);
                let at = self.operating[k];
                if at <= 0.0 {
                    [0.0, 0.0]
                } else if at < *least {
                    [(watts / least + amps) / least, 0.0]
                } else if at.is_infinite() {
                    [0.0, *amps]
                } else if self.chords {
                    [0.0, watts / at + amps]
                } else {
                    [-watts / (at * at), 2.0 * watts / at + amps]
                }
            }
        }
    }

    /// Starts afresh: no branch conducts that needn't, loads of constant power draw nothing.
    pub fn forget(&mut self) {
        self.operating.fill(f64::INFINITY);
        self.output_watts.fill(0.0);
        for at in 0..self.curved.len() {
            let piece = match &self.curves[self.curved[at].branch as usize] {
                Curve::Pieces(pieces) => piece_at(pieces, 0.0),
                _ => 0,
            };
            self.put(at, piece);
        }
    }

    /// Puts a branch on a piece.
    pub fn put(&mut self, at: usize, piece: usize) {
        let k = self.curved[at].branch as usize;
        if let Curve::Pieces(pieces) = &self.curves[k] {
            let low = if piece == 0 { f64::NEG_INFINITY } else { pieces[piece - 1].upto };
            let one = &mut self.curved[at];
            (one.piece, one.low, one.high) = (piece as u32, low, pieces[piece].upto);
        }
        self.set_line(k, piece);
    }

    /// Brings the laws of all branches that are there together, with the actors held.
    pub fn electrical(&mut self) -> Result<(), NoEnd> {
        self.stale = true;
        if self.passes().is_ok() && !self.starved() {
            return Ok(());
        }
        // From the highest voltages down, so that the solution found with loads that starve is always the same one.
        self.forget();
        self.passes()
    }

    /// Whether a constant-power load has less than its lowest voltage: another solution may then exist.
    fn starved(&self) -> bool {
        (0..self.curved.len()).any(|at| match &self.curves[self.curved[at].branch as usize] {
            Curve::Power { least, .. } => {
                let volts = self.volts_of(at);
                self.there[self.curved[at].branch as usize] && volts < *least && volts > STARVED_SHARE * least
            }
            _ => false,
        })
    }

    fn passes(&mut self) -> Result<(), NoEnd> {
        let mut changed: Vec<BranchId> = vec![];
        let (mut streak, mut careful) = (0, false);
        for pass in 0..FREE_PASSES + SINGLE_PASSES {
            if !self.linear(careful) {
                return Err(NoEnd(changed));
            }
            // Loads of constant power that swing to and fro are brought together by halves.
            let swinging = changed.iter().any(|b| matches!(self.curves[b.index()], Curve::Power { .. }));
            streak = if swinging { streak + 1 } else { 0 };
            changed.clear();
            let slack = if pass < FREE_PASSES + SINGLE_PASSES / 2 { PIECE_SLACK } else { WIDE_PIECE_SLACK };
            self.relinearise(pass >= FREE_PASSES, streak > SWINGING_PASSES, slack, &mut changed);
            if changed.is_empty() {
                if careful || self.dense || self.can_be_trusted() {
                    self.stale = false;
                    return Ok(());
                }
                careful = true;
            }
        }
        Err(NoEnd(changed))
    }

    /// Solves the straightened circuit for the voltages that matter to it.
    ///
    /// Loads of constant power are taken by their tangents (Newton's method), which are negative conductances. Where the
    /// circuit can't stand those, because nothing feeds such a load or not well enough, they are constant currents for
    /// this pass: that is slower, but it comes down to the highest voltages from wherever it starts above them.
    ///
    /// With `careful` what is left over is looked at, and too much of it counts as not standing them.
    fn linear(&mut self, careful: bool) -> bool {
        self.dense = false;
        self.take_loads_by(false);
        if self.sparse(careful) {
            return true;
        }
        if self.take_loads_by(true) && self.sparse(careful) {
            return true;
        }
        self.dense = true;
        self.solve_dense()
    }

    /// Takes constant-power loads by constant currents, or by tangents. Whether any line changed.
    fn take_loads_by(&mut self, chords: bool) -> bool {
        if self.chords == chords {
            return false;
        }
        self.chords = chords;
        let mut any = false;
        for at in 0..self.curved.len() {
            let k = self.curved[at].branch as usize;
            if matches!(self.curves[k], Curve::Power { .. }) {
                let before = self.slope[k];
                self.set_line(k, 0);
                any |= self.slope[k] != before;
            }
        }
        any
    }

    /// Solves by the sparse factors; `false` where they can't be trusted.
    fn sparse(&mut self, careful: bool) -> bool {
        let good = self.factor.solve(&self.plan, &self.slope, &self.offset)
            && self.join_links()
            && (!careful || self.can_be_trusted());
        if !good {
            self.factor.mark_all(&self.plan);
        }
        good
    }

    /// Lets the links carry current: of the voltages without them, by how all voltages answer to a current through each
    /// (Woodbury's formula; a resistance that is added makes its system more definite, so nothing cancels).
    fn join_links(&mut self) -> bool {
        if self.links.is_empty() {
            return true;
        }
        self.factor.finish(&self.plan);
        let column = |column: u32| if column as usize == self.plan.columns { NONE } else { column };
        let answer = |link: &Link| self.factor.respond_between(&self.plan, column(link.from), column(link.to), 1.0);
        let answers: Vec<Vec<f64>> = self.links.iter().map(answer).collect();
        let across = |volts: &[f64], link: &Link| volts[link.from as usize] - volts[link.to as usize];
        let mut matrix = vec![];
        for (row, link) in self.links.iter().enumerate() {
            let own = |at: usize| if at == row { link.ohms } else { 0.0 };
            matrix.extend(answers.iter().enumerate().map(|(at, answer)| across(answer, link) + own(at)));
        }
        let mut amps: Vec<f64> = self.links.iter().map(|link| across(&self.factor.volts, link)).collect();
        let solved = dense::solve(&mut matrix, &mut amps);
        for (answer, amps) in answers.iter().zip(&amps) {
            self.factor.volts.iter_mut().zip(answer).for_each(|(volts, answer)| *volts -= answer * amps);
        }
        solved
    }

    /// Whether the sparse factors have kept Kirchhoff's current law. Without a negative entry they can't but do so.
    fn can_be_trusted(&mut self) -> bool {
        let negative = self.doubtful && self.slope.iter().any(|slope| *slope < 0.0);
        if !negative && self.links.is_empty() {
            return true;
        }
        if self.links.is_empty() {
            self.factor.finish(&self.plan);
        }
        self.residual_share() <= RESIDUAL_SHARE
    }

    /// What is left over of Kirchhoff's current law in the straightened circuit, as a share of the currents, at worst.
    fn residual_share(&mut self) -> f64 {
        let n = self.plan.columns;
        let [mut sum, mut size] = std::mem::take(&mut self.left_over);
        for (list, value) in [(&mut sum, 0.0), (&mut size, 1e-6)] {
            list.clear();
            list.resize(n + 1, value);
        }
        for (k, stamp) in self.stamps.iter().enumerate() {
            let [from, to] = [stamp.from, stamp.to].map(|c| (c as usize).min(n));
            let volts = self.factor.volts[from] - self.factor.volts[to];
            let amps = self.slope[k] * volts + self.offset[k];
            // Against what the sum is made of, not what is left of it: a wire without current has two large terms that
            // cancel, and their rounding is no fault of the solution (Higham, the componentwise backward error).
            let terms = self.factor.volts[from].abs() + self.factor.volts[to].abs();
            let size_here = (self.slope[k] * terms).abs() + self.offset[k].abs();
            for (column, factor) in [(from, 1.0), (to, -1.0)] {
                sum[column] += factor * amps;
                size[column] += size_here;
            }
        }
        for link in &self.links {
            let [from, to] = [link.from, link.to].map(|column| column as usize);
            let amps = (self.factor.volts[from] - self.factor.volts[to]) / link.ohms;
            let terms = (self.factor.volts[from].abs() + self.factor.volts[to].abs()) / link.ohms;
            for (column, factor) in [(from, 1.0), (to, -1.0)] {
                sum[column] += factor * amps;
                size[column] += terms;
            }
        }
        let shares = (0..n).map(|c| (sum[c] + self.factor.volts[c] / LEAK.value()).abs() / size[c]);
        let worst = shares.fold(0.0, f64::max);
        self.left_over = [sum, size];
        worst
    }

    fn solve_dense(&mut self) -> bool {
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

    /// Moves the operating points of all constant-power loads, and puts branches on the piece that their voltage asks for.
    /// With `single` pieces stay while a load still moves, and then only the first branch that has to change does, one
    /// piece towards it: the least-index rule, which ends for laws that never fall (Murty 1974, on complementary pivots).
    fn relinearise(&mut self, single: bool, damped: bool, slack: f64, changed: &mut Vec<BranchId>) {
        for at in 0..self.curved.len() {
            let k = self.curved[at].branch as usize;
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
            let k = one.branch as usize;
            let volts = self.volts_of(at);
            let Curve::Pieces(pieces) = &self.curves[k] else { continue };
            if !self.there[k] || (volts >= one.low - slack && volts <= one.high + slack) {
                continue;
            }
            // What a constant current makes of a node that nothing feeds is no voltage to go on with, so it only comes to
            // the piece beside.
            let LinePiece { slope, offset, .. } = pieces[one.piece as usize];
            let piece = match single || (slope == 0.0 && offset != 0.0) {
                true if volts < one.low => one.piece as usize - 1,
                true => one.piece as usize + 1,
                false => piece_at(pieces, volts),
            };
            self.put(at, piece);
            changed.push(BranchId(k as u32));
            if single {
                return;
            }
        }
    }

    /// Voltage of a branch with a curved law.
    fn volts_of(&self, at: usize) -> f64 {
        let one = self.curved[at];
        self.factor.volts[one.from as usize] - self.factor.volts[one.to as usize]
    }

    /// Moves a constant-power load's operating point, and takes up its converter's output.
    fn operate(&mut self, k: usize, volts: f64, damped: bool) -> bool {
        let Curve::Power { least, output, .. } = &self.curves[k] else { return false };
        let (least, output) = (*least, *output);
        let mut moved = false;
        if let Some((of, factor)) = output {
            let watts = (-self.across(of) * self.amps(of)).max(0.0);
            moved = (watts - self.output_watts[of]).abs() * factor > POWER_SLACK * 1e-3 * (1.0 + watts);
            if moved {
                self.output_watts[of] = watts;
            }
        }
        let at = self.operating[k];
        // Around nought both lines carry almost nothing: which of them it is on must not turn with the last digit.
        let reversed = if damped { WIDE_PIECE_SLACK * 1e-3 } else { PIECE_SLACK };
        let same_line = (at <= 0.0 && volts <= POWER_SLACK)
            || (at > 0.0 && at < least && volts > -reversed && volts < least + POWER_SLACK);
        let slack = if self.chords { CHORD_SLACK * (1.0 + volts.abs()) } else { POWER_SLACK };
        if !same_line && (volts - at).abs() > slack {
            moved = true;
            self.operating[k] = match at.is_finite() {
                // From the falling line it may only come to the rising one: what a constant current makes of a load that
                // nothing feeds is no voltage to go on with.
                true if at >= least && volts < least => {
                    if damped {
                        0.5 * (at + volts.max(0.0))
                    } else {
                        0.5 * least
                    }
                }
                true if damped => 0.5 * (at + volts),
                _ => volts,
            };
        }
        if moved {
            self.set_line(k, 0);
        }
        moved
    }
}
