//! What a part does while the voltages that it hangs on move within bounds.
//!
//! With every branch on its piece, all voltages go in straight lines with those of the terminals, so their ranges follow
//! from one solution for each terminal. Where a branch might leave its piece, this still holds: in a network of laws that
//! never fall no node moves by more than the terminals do.

use super::circuit::{LEAST_OHMS, Position};
use super::laws::Curve;
use super::settle::Solver;

/// How far the terminals of a part may be off, and where they are.
#[derive(Debug, Clone, Default)]
pub(super) struct Bounds {
    /// Columns of the terminals.
    pub terminals: Vec<u32>,
    /// For each combination of master positions, how far each terminal may be off, either way.
    pub off: Vec<Vec<f64>>,
    /// How many positions each master has; masters are a part's first inputs.
    pub masters: Vec<usize>,
}

/// How a part answers at one state, with its terminals held.
#[derive(Debug, Clone, Default)]
pub(super) struct Answer {
    /// Current into the part at each terminal.
    pub amps: Vec<f64>,
    /// Least and greatest conductance of each terminal while the terminals move within their bounds.
    pub least: Vec<f64>,
    pub greatest: Vec<f64>,
    /// How far constant-power loads may move the current at each terminal.
    pub bend: Vec<f64>,
}

impl Bounds {
    /// The combination of master positions.
    pub(super) fn combination(&self, positions: &[Position]) -> usize {
        let mut factor = 1;
        let each = self.masters.iter().zip(positions).map(|(count, position)| {
            let place = factor * usize::from(*position);
            factor *= count;
            place
        });
        each.sum()
    }
}

impl Bounds {
    /// How far any two nodes come apart at most. Every node stays between the extremes of the terminals and the battery's
    /// negative, so at most the two that are furthest off move apart.
    pub(super) fn most(&self, positions: &[Position]) -> f64 {
        two_largest(&self.off[self.combination(positions)])
    }
}

fn two_largest(off: &[f64]) -> f64 {
    let [first, second] = off.iter().fold([0.0, 0.0], |[a, b]: [f64; 2], off| match *off > a {
        true => [*off, a],
        false => [a, b.max(*off)],
    });
    first + second
}

/// Of branches that may leave their piece, so many are tried in every combination of slopes.
const MOST_TURNED: usize = 5;

/// A branch that answers to a volt at a terminal by no more than this hardly matters to any other.
const SMALL_ANSWER: f64 = 1e-6;

/// How far voltages may be off in one state.
pub(super) struct Spread {
    /// For each terminal, how every column answers to one volt there.
    pub answers: Vec<Vec<f64>>,
    /// The same with other slopes of the branches that might leave their piece.
    turned: Vec<Vec<Vec<f64>>>,
    /// For each terminal, what those that hardly matter may add to an answer between any two columns.
    rest: Vec<f64>,
    /// Columns of the terminals.
    terminals: Vec<u32>,
    off: Vec<f64>,
    /// What bends of constant-power laws may add.
    slack: f64,
    /// Whatever the branches do, no two columns come further apart; with too many that may turn nothing else is known.
    most: f64,
    unknown: bool,
}

impl Spread {
    fn new(answers: Vec<Vec<f64>>, terminals: Vec<u32>, off: Vec<f64>) -> Spread {
        let most = two_largest(&off);
        Spread {
            rest: vec![0.0; answers.len()],
            answers,
            turned: vec![],
            terminals,
            off,
            slack: 0.0,
            most,
            unknown: false,
        }
    }

    /// How far the voltage between two columns may be off.
    pub(super) fn between(&self, plus: u32, minus: u32) -> f64 {
        let each = (0..self.off.len()).map(|t| (self.greatest(t, plus, minus) + self.rest[t]) * self.off[t]);
        self.slack + if self.unknown { self.most } else { each.sum::<f64>().min(self.most) }
    }

    /// How far any voltage may be off.
    pub(super) fn most(&self) -> f64 {
        self.slack + self.most
    }

    /// The same while every branch stays on its piece.
    fn straight(&self, plus: u32, minus: u32) -> f64 {
        let each = self.answers.iter().zip(&self.off);
        each.map(|(answer, off)| across(answer, plus, minus) * off).sum()
    }

    /// How far apart two columns come by one volt at a terminal, at most.
    ///
    /// On the way from where it is held to where it goes, every branch is on one piece or another; and of each
    /// conductance by itself an answer goes one way only, so it is greatest where all slopes are at one end or the other.
    fn greatest(&self, terminal: usize, plus: u32, minus: u32) -> f64 {
        let turned = self.turned.iter().map(|answers| across(&answers[terminal], plus, minus));
        turned.fold(across(&self.answers[terminal], plus, minus), f64::max)
    }

    /// The greatest answer of a branch to any terminal.
    fn of(&self, [from, to]: [u32; 2]) -> f64 {
        (0..self.off.len()).map(|terminal| self.greatest(terminal, from, to)).fold(0.0, f64::max)
    }

    /// Bounds what these branches may add that hardly matter, told by their columns, whatever slope they have.
    ///
    /// Another conductance of a branch takes from its own answer at most all of it, and moves the voltage between any two
    /// nodes by no more than that: a current through a branch moves none further than the branch's own ends. So it is for
    /// one branch after the other; those after find their own answer moved by those before, so the smallest come first.
    fn bound_rest(&mut self, branches: &[[u32; 2]]) {
        for terminal in 0..self.off.len() {
            let mut own: Vec<f64> = branches.iter().map(|[f, t]| self.greatest(terminal, *f, *t)).collect();
            own.sort_by(f64::total_cmp);
            self.rest[terminal] = own.iter().fold(0.0, |sum, own| 2.0 * sum + own);
        }
    }
}

/// What the current of a constant-power branch may do.
pub(super) struct PowerMoves {
    /// Amperes that it may be off its straight line.
    pub bend: f64,
    /// Amperes that it may move at all.
    whole: f64,
    /// Siemens, either way, wherever on its law.
    steepest: f64,
    /// Whether it may come past its least voltage.
    pub turns: bool,
}

/// How far apart two columns come by one volt at a terminal.
fn across(answer: &[f64], plus: u32, minus: u32) -> f64 {
    (answer[plus as usize] - answer[minus as usize]).abs()
}

impl Solver<'_> {
    /// Works out how far voltages may be off in the state as solved, and which branches might leave their piece.
    pub(super) fn spread(&mut self, uncertain: &mut Vec<usize>) -> Option<Spread> {
        let bounds = self.bounds.take()?;
        let off = bounds.off[bounds.combination(&self.state.positions.0)].clone();
        let answers = bounds.terminals.iter().map(|t| self.factor.respond(&self.plan, *t, 1.0 / LEAST_OHMS.value()));
        let mut spread = Spread::new(answers.collect(), bounds.terminals.clone(), off);
        self.bounds = Some(bounds);
        self.bends(&mut spread);
        // With some that may turn, others may too.
        loop {
            let before = uncertain.len();
            uncertain.clear();
            uncertain.extend((0..self.curved.len()).filter(|at| !self.is_sure(*at, &spread)));
            if uncertain.len() == before {
                break;
            }
            self.turn(&mut spread, uncertain);
        }
        Some(spread)
    }

    /// Whether a curved branch stays on its piece.
    fn is_sure(&self, at: usize, spread: &Spread) -> bool {
        let one = self.curved[at];
        let k = one.branch as usize;
        // What constant power does is reckoned with as a bend.
        if !self.there[k] || matches!(self.curves[k], Curve::Power { .. }) {
            return true;
        }
        let volts = self.factor.volts[one.from as usize] - self.factor.volts[one.to as usize];
        let off = spread.between(one.from, one.to);
        volts - off >= one.low && volts + off <= one.high
    }

    /// Answers with these branches on any of their pieces.
    fn turn(&mut self, spread: &mut Spread, uncertain: &[usize]) {
        let ends = |solver: &Self, at: usize| [solver.curved[at].from, solver.curved[at].to];
        let (matter, rest): (Vec<usize>, Vec<usize>) =
            uncertain.iter().partition(|at| spread.of(ends(self, **at)) > SMALL_ANSWER);
        // The dense solver's voltages are not the factors', and would be lost.
        if matter.len() > MOST_TURNED || self.dense {
            spread.unknown = true;
            return;
        }
        let branches: Vec<usize> = matter.iter().map(|at| self.curved[*at].branch as usize).collect();
        let kept: Vec<f64> = branches.iter().map(|k| self.slope[*k]).collect();
        spread.turned.clear();
        for combination in 0..(1usize << branches.len()) * usize::from(!branches.is_empty()) {
            for (i, k) in branches.iter().enumerate() {
                self.force_slope(*k, self.curves[*k].slope_range()[combination >> i & 1]);
            }
            self.factor.solve(&self.plan, &self.slope, &self.offset);
            let volt = 1.0 / LEAST_OHMS.value();
            let answers = spread.terminals.iter().map(|t| self.factor.respond(&self.plan, *t, volt));
            spread.turned.push(answers.collect());
        }
        if !branches.is_empty() {
            branches.iter().zip(kept).for_each(|(k, slope)| self.force_slope(*k, slope));
            self.factor.solve(&self.plan, &self.slope, &self.offset);
        }
        spread.bound_rest(&rest.iter().map(|at| ends(self, *at)).collect::<Vec<_>>());
    }

    /// Bounds what the bend of constant-power laws adds to straight lines: a current at the load which moves no node by
    /// more than that times the resistance that the load looks into.
    fn bends(&mut self, spread: &mut Spread) {
        if !self.doubtful {
            return;
        }
        // Loads taken as constant currents say nothing of how they answer.
        self.doubtful_load |= self.chords;
        for at in 0..self.curved.len() {
            let one = self.curved[at];
            let k = one.branch as usize;
            let off = spread.straight(one.from, one.to);
            let Some(moves) = self.power_moves(at, off) else { continue };
            let looks_into = self.looks_into(one.from, one.to);
            // Where it may come to its least voltage, only a stiff feed leaves it no second solution.
            self.doubtful_load |= moves.turns && moves.steepest * looks_into > 0.5;
            self.turning_load |= moves.turns;
            let mut amps = moves.bend;
            if let Curve::Power { output: Some((of, factor)), least, .. } = &self.curves[k] {
                // What the converter gives moves with its own terminals.
                let [from, to] = self.column_ends(*of);
                let moved = spread.straight(from, to);
                amps += factor * (self.amps(*of).abs() + self.slope[*of] * moved) * moved / least;
            }
            spread.slack += 2.0 * amps * looks_into;
        }
    }

    /// What the current of a constant-power branch that is there may do while its voltage moves by `off`.
    pub(super) fn power_moves(&self, at: usize, off: f64) -> Option<PowerMoves> {
        let one = self.curved[at];
        let k = one.branch as usize;
        let watts = self.power_watts(k)?;
        let Curve::Power { least, amps, .. } = &self.curves[k] else { return None };
        let volts = self.factor.volts[one.from as usize] - self.factor.volts[one.to as usize];
        let steepest = (watts / least + amps) / least;
        Some(match volts {
            // All on the falling curve: Taylor's remainder.
            v if v - off >= *least => PowerMoves {
                bend: watts * off * off / (v * v * (v - off)),
                whole: watts * off / (v * (v - off)),
                steepest,
                turns: false,
            },
            // All on the line below.
            v if v + off <= *least => PowerMoves { bend: 0.0, whole: steepest * off, steepest, turns: false },
            _ => PowerMoves {
                bend: (self.slope[k].abs() + steepest) * off,
                whole: steepest * off,
                steepest,
                turns: true,
            },
        })
    }

    /// Currents into the part and the range of its conductances, in the state as solved. `loose` are curved branches that
    /// may leave their piece.
    pub(super) fn answer(&mut self, spread: &Spread, mut loose: Vec<usize>) -> Answer {
        let terminals = &spread.terminals;
        self.finish();
        let mut answer =
            Answer { amps: self.terminal_amps(terminals), bend: vec![0.0; terminals.len()], ..Answer::default() };
        // Constant power has no conductance to speak of; how far its current moves is told apart.
        for at in 0..self.curved.len() {
            let one = self.curved[at];
            if let Some(moves) = self.power_moves(at, spread.between(one.from, one.to)) {
                // By reciprocity a terminal gets of a current what the branch gets of its voltage.
                for (bend, terminal) in answer.bend.iter_mut().zip(&spread.answers) {
                    *bend += moves.whole * across(terminal, one.from, one.to);
                }
                loose.push(at);
            }
        }
        let conductance = |answers: &[Vec<f64>]| -> Vec<f64> {
            let each = terminals.iter().zip(answers);
            each.map(|(column, answer)| (1.0 - answer[*column as usize]) / LEAST_OHMS.value()).collect()
        };
        if loose.is_empty() {
            answer.least = conductance(&spread.answers);
            answer.greatest = answer.least.clone();
            return answer;
        }
        let kept: Vec<f64> = loose.iter().map(|at| self.slope[self.curved[*at].branch as usize]).collect();
        for greatest in [false, true] {
            for at in &loose {
                let k = self.curved[*at].branch as usize;
                let slope = match &self.curves[k] {
                    Curve::Power { .. } => 0.0,
                    curve => curve.slope_range()[usize::from(greatest)],
                };
                self.force_slope(k, slope);
            }
            self.factor.solve(&self.plan, &self.slope, &self.offset);
            let volt = 1.0 / LEAST_OHMS.value();
            let answers: Vec<_> = terminals.iter().map(|t| self.factor.respond(&self.plan, *t, volt)).collect();
            *(if greatest { &mut answer.greatest } else { &mut answer.least }) = conductance(&answers);
        }
        for (at, slope) in loose.iter().zip(kept) {
            self.force_slope(self.curved[*at].branch as usize, slope);
        }
        self.factor.solve(&self.plan, &self.slope, &self.offset);
        answer
    }

    /// Resistance, at most, that a branch between two columns looks into.
    pub(super) fn looks_into(&self, from: u32, to: u32) -> f64 {
        let last = self.plan.columns as u32;
        let ends = [from, to].into_iter().filter(|column| *column != last);
        ends.map(|column| self.factor.resistance(&self.plan, column)).sum()
    }

    fn force_slope(&mut self, k: usize, slope: f64) {
        self.slope[k] = slope;
        self.factor.mark(&self.plan, &self.stamps[k]);
    }

    /// Power of a constant-power branch that is there.
    pub(super) fn power_watts(&self, k: usize) -> Option<f64> {
        match &self.curves[k] {
            Curve::Power { watts, output, .. } if self.there[k] => {
                Some(watts + output.map_or(0.0, |(of, factor)| factor * self.output_watts[of]))
            }
            _ => None,
        }
    }

    /// Current into the part at each terminal: what all branches there but the holding sources draw.
    pub(super) fn terminal_amps(&mut self, terminals: &[u32]) -> Vec<f64> {
        let last = self.plan.columns as u32;
        let mut amps = vec![0.0; terminals.len()];
        for k in 0..self.own_branches {
            let [from, to] = self.column_ends(k);
            if (!terminals.contains(&from) && !terminals.contains(&to)) || !self.there[k] {
                continue;
            }
            let through = self.amps(k);
            for (place, terminal) in terminals.iter().enumerate().filter(|(_, t)| **t != last) {
                let [out, into] = [from, to].map(|end| if end == *terminal { through } else { 0.0 });
                amps[place] += out - into;
            }
        }
        amps
    }
}
