//! From a state to its fixed point: pieces of the laws, then actors, then again.

use super::circuit::{ActorId, BranchId, Circuit, LEAK, Rule};
use super::corner::Corner;
use super::dense;
use super::laws::{Curve, curve, piece_at};
use super::state::{Chatter, Held, Memory, Outcome, Solution, State, Unsolved};

/// A piece is kept while its voltage is at most this far outside, so that rounding can't turn pieces over for ever.
const PIECE_SLACK: f64 = 1e-9;

/// A threshold counts as reached when this little is missing, so that rounding doesn't decide.
const THRESHOLD_SLACK: f64 = 1e-6;

/// Change of voltage below which a constant-power load counts as found; what is left is its square, relative.
const POWER_SLACK: f64 = 1e-6;

/// Passes in which every branch may change its piece.
const FREE_PASSES: usize = 40;

/// Passes after those, in which only the first branch that has to change does.
const SINGLE_PASSES: usize = 2000;

/// Steps of actors after which settling is given up.
const ACTOR_STEPS: usize = 2000;

/// Different positions of actors looked through for where a race comes to rest.
const RACE_POSITIONS: usize = 256;

/// Solves states of one circuit at one corner, each starting from the last, which is fastest when few things change.
///
/// The result doesn't depend on that start: laws that never fall have one solution, and of the several that
/// constant-power loads may have, the one with the greatest voltages is taken.
pub struct Solver<'c> {
    circuit: &'c Circuit,
    corner: Corner,
    curves: Vec<Curve>,
    /// Voltages of a threshold, on and off, at this corner.
    thresholds: Vec<[f64; 2]>,
    there: Vec<bool>,
    piece: Vec<usize>,
    /// Voltage at which a constant-power load was last made straight.
    operating: Vec<f64>,
    /// Power out of a regulated branch, for the converter's input.
    output_watts: Vec<f64>,
    volts: Vec<f64>,
}

/// Why the electrical part found no end.
struct NoEnd(Vec<BranchId>);

impl<'c> Solver<'c> {
    /// Sets up for one corner.
    pub fn new(circuit: &'c Circuit, corner: Corner) -> Self {
        let curves: Vec<Curve> = circuit.branches.iter().map(|b| curve(&b.law, circuit, corner)).collect();
        let factor = corner.copper_factor(circuit);
        let thresholds = circuit
            .actors
            .iter()
            .map(|actor| match &actor.rule {
                Rule::Threshold { on, off, copper, .. } => {
                    let factor = if *copper { factor } else { 1.0 };
                    [on.value() * factor, off.value() * factor]
                }
                _ => [0.0; 2],
            })
            .collect();
        let n = circuit.branches.len();
        let mut solver = Solver {
            circuit,
            corner,
            curves,
            thresholds,
            there: vec![false; n],
            piece: vec![0; n],
            operating: vec![0.0; n],
            output_watts: vec![0.0; n],
            volts: vec![0.0; circuit.nodes.len()],
        };
        solver.forget();
        solver
    }

    /// The corner.
    pub fn corner(&self) -> Corner {
        self.corner
    }

    /// Starts afresh: no branch conducts that needn't, loads of constant power draw nothing.
    fn forget(&mut self) {
        for (k, curve) in self.curves.iter().enumerate() {
            self.piece[k] = match curve {
                Curve::Pieces(pieces) => piece_at(pieces, 0.0),
                _ => 0,
            };
            self.operating[k] = f64::INFINITY;
            self.output_watts[k] = 0.0;
        }
    }

    /// Solves from `start`: the inputs are where they are, the actors move from where they are until none has reason to.
    pub fn settle(&mut self, start: &State) -> Outcome {
        let mut seen: Vec<Solution> = vec![];
        let mut state = start.clone();
        for _ in 0..ACTOR_STEPS {
            if let Err(NoEnd(branches)) = self.electrical(&state) {
                return self.unsolved(state, branches, "no piece of every law fits together");
            }
            let next = self.step(&state);
            let solution = self.solution(&state);
            if next == state.memory {
                return Outcome::Settled(Box::new(solution));
            }
            seen.push(solution);
            if let Some(first) = seen.iter().position(|one| one.state.memory == next) {
                return self.chatter(start, seen.split_off(first));
            }
            state.memory = next;
        }
        self.unsolved(state, vec![], "actors kept moving without coming round")
    }

    /// Solves with every actor held as `state` has it, and tells what each actor would be next. What stands still between
    /// two events of a timeline is this; a state that wants itself has settled.
    ///
    /// # Errors
    /// When no piece of every law fits together.
    pub fn hold(&mut self, state: &State) -> Result<Held, Box<Unsolved>> {
        match self.electrical(state) {
            Ok(()) => Ok(Held { wants: self.step(state), solution: self.solution(state) }),
            Err(NoEnd(branches)) => Err(Box::new(Unsolved {
                state: state.clone(),
                corner: self.corner,
                branches,
                why: "no piece of every law fits together".into(),
            })),
        }
    }

    fn unsolved(&self, state: State, branches: Vec<BranchId>, why: &str) -> Outcome {
        Outcome::Unsolved(Box::new(Unsolved { state, corner: self.corner, branches, why: why.into() }))
    }

    fn solution(&self, state: &State) -> Solution {
        Solution {
            state: state.clone(),
            corner: self.corner,
            volts: self.volts.clone(),
            amps: (0..self.curves.len()).map(|k| self.amps(k)).collect(),
            ends: self.circuit.branches.iter().map(|b| [b.from.0, b.to.0]).collect(),
        }
    }

    fn across(&self, k: usize) -> f64 {
        let branch = &self.circuit.branches[k];
        self.volts[branch.from.index()] - self.volts[branch.to.index()]
    }

    /// Current that leaves a branch at `to`, by its law at the voltages found.
    fn amps(&self, k: usize) -> f64 {
        if !self.there[k] {
            return 0.0;
        }
        match &self.curves[k] {
            Curve::Mean { siemens, duty } => {
                let branch = &self.circuit.branches[k];
                siemens * (duty * self.volts[branch.from.index()] - self.volts[branch.to.index()])
            }
            curve => curve.amps(self.across(k), self.watts_of_output(curve)),
        }
    }

    fn watts_of_output(&self, curve: &Curve) -> f64 {
        match curve {
            Curve::Power { output: Some((of, _)), .. } => self.output_watts[*of],
            _ => 0.0,
        }
    }

    /// Slope and offset of a branch as it stands in the equations.
    fn line(&self, k: usize) -> [f64; 2] {
        match &self.curves[k] {
            Curve::Straight { slope, offset } => [*slope, *offset],
            Curve::Pieces(pieces) => [pieces[self.piece[k]].slope, pieces[self.piece[k]].offset],
            Curve::Power { watts, amps, least, output } => {
                let watts = watts + output.map_or(0.0, |(of, factor)| factor * self.output_watts[of]);
                let at = self.operating[k];
                if at <= 0.0 {
                    [0.0, 0.0]
                } else if at < *least {
                    [(watts / least + amps) / least, 0.0]
                } else if at.is_infinite() {
                    [0.0, *amps]
                } else {
                    [-watts / (at * at), 2.0 * watts / at + amps]
                }
            }
            Curve::Mean { .. } | Curve::Open => [0.0, 0.0],
        }
    }

    /// Solves the straightened circuit for all voltages.
    fn linear(&mut self) -> bool {
        let n = self.volts.len() - 1;
        let (mut matrix, mut right) = (vec![0.0; n * n], vec![0.0; n]);
        for i in 0..n {
            matrix[i * n + i] = 1.0 / LEAK.value();
        }
        for (k, branch) in self.circuit.branches.iter().enumerate().filter(|(k, _)| self.there[*k]) {
            // Ratios turn a transformer's stamp into a conductor's when they are 1.
            let [slope, offset] = self.line(k);
            let (slope, ratio) = match self.curves[k] {
                Curve::Mean { siemens, duty } => (siemens, duty),
                _ => (slope, 1.0),
            };
            let ends = [(branch.from.index(), ratio), (branch.to.index(), -1.0)];
            for (a, factor) in ends.into_iter().filter(|(a, _)| *a > 0) {
                right[a - 1] -= factor * offset;
                for (b, other) in ends.into_iter().filter(|(b, _)| *b > 0) {
                    matrix[(a - 1) * n + b - 1] += slope * factor * other;
                }
            }
        }
        let solved = dense::solve(&mut matrix, &mut right);
        self.volts[1..].copy_from_slice(&right);
        solved
    }

    /// Brings the laws of all branches that are there together, with the actors held.
    fn electrical(&mut self, state: &State) -> Result<(), NoEnd> {
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            self.there[k] = state.holds(&branch.when) && !matches!(self.curves[k], Curve::Open);
        }
        if self.passes().is_ok() && !self.starved() {
            return Ok(());
        }
        // From the greatest voltages down, so that the solution found with loads that starve is always the same one.
        self.forget();
        self.passes()
    }

    /// Whether a constant-power load has less than its least voltage: another solution may then exist.
    fn starved(&self) -> bool {
        (0..self.curves.len()).any(|k| match &self.curves[k] {
            Curve::Power { least, .. } => self.there[k] && self.operating[k] < *least,
            _ => false,
        })
    }

    fn passes(&mut self) -> Result<(), NoEnd> {
        let mut changed = vec![];
        for pass in 0..FREE_PASSES + SINGLE_PASSES {
            if !self.linear() {
                return Err(NoEnd(changed));
            }
            changed = self.relinearise(pass >= FREE_PASSES);
            if changed.is_empty() {
                return Ok(());
            }
        }
        Err(NoEnd(changed))
    }

    /// Puts branches on the piece that their voltage asks for. With `single` only the first that has to change does, one
    /// piece towards it: the least-index rule, which ends for laws that never fall (Murty 1974, on complementary pivots).
    fn relinearise(&mut self, single: bool) -> Vec<BranchId> {
        let mut changed = vec![];
        for k in 0..self.curves.len() {
            if !self.there[k] || (single && !changed.is_empty()) {
                continue;
            }
            let volts = self.across(k);
            let moved = match &self.curves[k] {
                Curve::Pieces(pieces) => {
                    let now = self.piece[k];
                    let low = if now == 0 { f64::NEG_INFINITY } else { pieces[now - 1].upto };
                    let inside = volts >= low - PIECE_SLACK && volts <= pieces[now].upto + PIECE_SLACK;
                    if !inside {
                        self.piece[k] = match single {
                            true if volts < low => now - 1,
                            true => now + 1,
                            false => piece_at(pieces, volts),
                        };
                    }
                    !inside
                }
                Curve::Power { .. } => self.operate(k, volts, single),
                _ => false,
            };
            if moved {
                changed.push(BranchId(k as u32));
            }
        }
        changed
    }

    /// Moves a constant-power load's operating point, and takes up its converter's output.
    fn operate(&mut self, k: usize, volts: f64, damped: bool) -> bool {
        let Curve::Power { least, output, .. } = &self.curves[k] else { return false };
        let (least, output) = (*least, *output);
        let mut moved = false;
        if let Some((of, factor)) = output {
            let watts = (-self.across(of) * self.amps(of)).max(0.0);
            let off = (watts - self.output_watts[of]).abs() * factor;
            moved = off > POWER_SLACK * 1e-3 * (1.0 + watts);
            self.output_watts[of] = watts;
        }
        let at = self.operating[k];
        let same_line = (at <= 0.0 && volts <= 0.0) || (at > 0.0 && at < least && volts > 0.0 && volts < least);
        moved |= !same_line && (volts - at).abs() > POWER_SLACK;
        self.operating[k] = if damped && at.is_finite() { 0.5 * (at + volts) } else { volts };
        moved
    }

    /// What every actor would be next, with the voltages and the actors as they are.
    fn step(&self, state: &State) -> Memory {
        let mut next = state.memory.clone();
        for (i, actor) in self.circuit.actors.iter().enumerate() {
            let id = ActorId(i as u32);
            let (on, was) =
                if state.holds(&actor.powered) { self.moved(state, id, &actor.rule) } else { (false, false) };
            next.set_on(id, on);
            next.set_was(id, was);
        }
        next
    }

    fn moved(&self, state: &State, id: ActorId, rule: &Rule) -> (bool, bool) {
        let (on, was) = (state.memory.on(id), state.memory.was(id));
        match rule {
            Rule::Threshold { plus, minus, copper, .. } => {
                let [above, below] = self.thresholds[id.index()];
                let volts = self.volts[plus.index()] - self.volts[minus.index()];
                let volts = if *copper { volts.abs() } else { volts };
                (volts >= above - THRESHOLD_SLACK || (on && volts > below + THRESHOLD_SLACK), false)
            }
            Rule::Latch { set, reset } => (!state.holds(reset) && (on || state.holds(set)), false),
            Rule::Toggle { start } => (on ^ (state.holds(start) && !was), state.holds(start)),
            Rule::Hold { start } => (on || state.holds(start), false),
            Rule::Delay { start } => (on && state.holds(start), false),
            Rule::Pulse { start } => (on || (state.holds(start) && !was), state.holds(start)),
        }
    }

    fn chatter(&mut self, started: &State, round: Vec<Solution>) -> Outcome {
        let differs = |id: &ActorId| {
            let first = &round[0].state.memory;
            round.iter().any(|one| one.on(*id) != first.on(*id) || one.state.memory.was(*id) != first.was(*id))
        };
        let actors: Vec<ActorId> = (0..self.circuit.actors.len() as u32).map(ActorId).filter(differs).collect();
        let rests = self.rests(&round);
        Outcome::Chatter(Box::new(Chatter { started: started.clone(), actors, round, rests }))
    }

    /// Where the actors of a round come to rest when they move one after the other, in every order.
    fn rests(&mut self, round: &[Solution]) -> Vec<Memory> {
        let mut seen: Vec<State> = round.iter().map(|one| one.state.clone()).collect();
        let mut rests = vec![];
        let mut next = 0;
        while next < seen.len() && seen.len() < RACE_POSITIONS {
            let state = seen[next].clone();
            next += 1;
            if self.electrical(&state).is_err() {
                continue;
            }
            let all = self.step(&state);
            if all == state.memory {
                rests.push(state.memory);
                continue;
            }
            for id in (0..self.circuit.actors.len() as u32).map(ActorId) {
                let mut one = state.clone();
                one.memory.set_on(id, all.on(id));
                one.memory.set_was(id, all.was(id));
                if one != state && !seen.contains(&one) {
                    seen.push(one);
                }
            }
        }
        rests.sort();
        rests
    }
}
