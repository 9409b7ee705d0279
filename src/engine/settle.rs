//! From a state to its fixed point: pieces of the laws, then actors, then again.

use super::circuit_ref::CircuitRef;
use super::factor::{Factor, Stamp};
use super::phases::Phases;
use super::plan::{EliminationPlan, Lists, changes};
use super::step::Threshold;
use super::surroundings::Surroundings;
use circuit::{BranchId, Circuit, Corner, Curve, Held, Memory, NodeId, Outcome, State, Unsolved, Variant, curve};
use std::sync::Arc;

/// Steps of actors after which settling is given up.
const ACTOR_STEPS: usize = 2000;

/// Why a state has no solution.
const NO_PIECE: &str = "no piece of every law fits together";

/// Solves states of one circuit at one corner, each starting from the last, which is fastest when few things change.
///
/// The result doesn't depend on that start: laws that never fall have one solution, and of the several that
/// constant-power loads may have, the one with the highest voltages is taken.
pub struct Solver<'c> {
    pub circuit: CircuitRef<'c>,
    pub plan: Arc<EliminationPlan>,
    pub corner: Corner,
    pub curves: Vec<Curve>,
    pub(crate) stamps: Vec<Stamp>,
    /// Branches whose law is not straight.
    pub(crate) curved: Vec<Curved>,
    /// Branches to look at again when an input or an actor has moved.
    pub by_input: Lists<u32>,
    pub by_actor: Lists<u32>,
    pub watches: Vec<Threshold>,
    pub there: Vec<bool>,
    pub slope: Vec<f64>,
    pub offset: Vec<f64>,
    /// Voltage at which a constant-power load was last made straight.
    pub operating: Vec<f64>,
    /// Power out of a regulated branch, for the converter's input.
    pub output_watts: Vec<f64>,
    pub factor: Factor,
    /// Lines have changed since the last solution.
    pub stale: bool,
    /// The last solution came from the dense solver.
    pub dense: bool,
    /// Some law can bring a negative entry, so that solutions are checked.
    pub doubtful: bool,
    /// Constant-power loads are taken as constant currents, not by their tangents.
    pub chords: bool,
    /// Room for what is left over at each node.
    pub left_over: [Vec<f64>; 2],
    /// The variant of the circuit that it solves, and the curves of what it changes as they are without it.
    variant: Variant,
    unchanged: Vec<(usize, Curve)>,
    /// What the variant puts between nodes.
    pub(crate) links: Vec<Link>,
    /// Where the circuit is only a piece of a larger one: what hangs on the rest.
    pub surroundings: Option<Box<dyn Surroundings + 'c>>,
    /// Where pulsed feeds are on: what their pulses do.
    pub(crate) phases: Phases<'c>,
    pub state: State,
    pub next: Memory,
    pub touched: Vec<u32>,
    pub seen: Vec<u64>,
}

/// A branch whose law is not straight, and the piece it is on.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Curved {
    pub branch: u32,
    /// Columns, the last one being the battery's negative.
    pub from: u32,
    pub to: u32,
    pub piece: u32,
    pub low: f64,
    pub high: f64,
}

/// A resistance between two columns that the plan knows nothing of. The last column is the battery's negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Link {
    pub from: u32,
    pub to: u32,
    pub ohms: f64,
}

/// What a run came to.
#[derive(Debug, PartialEq)]
pub enum Ending {
    Settled,
    /// It came to a state that was met before.
    Met,
    Round,
    Unsolved(Vec<BranchId>, &'static str),
}

/// Why the electrical part found no end.
pub struct NoEnd(pub Vec<BranchId>);

impl<'c> Solver<'c> {
    /// Sets up for one corner.
    pub fn new(circuit: &'c Circuit, corner: Corner) -> Self {
        Solver::with_plan(circuit, Arc::new(EliminationPlan::new(circuit)), corner)
    }

    /// With a plan made before for the same circuit.
    pub fn with_plan(circuit: impl Into<CircuitRef<'c>>, plan: Arc<EliminationPlan>, corner: Corner) -> Self {
        let circuit = circuit.into();
        let curves: Vec<Curve> = circuit.branches.iter().map(|b| curve(b, &circuit, corner)).collect();
        let phases = Phases::new(&circuit, &plan, corner, &curves);
        Solver { phases, ..Solver::with_curves(circuit, plan, corner, curves) }
    }

    /// With every law in the numbers of the corner, and no phases of pulses.
    pub fn with_curves(
        circuit: CircuitRef<'c>,
        plan: Arc<EliminationPlan>,
        corner: Corner,
        curves: Vec<Curve>,
    ) -> Self {
        let n = circuit.branches.len();
        let column = |node: u32| plan.column_of[node as usize];
        let (mut stamps, mut curved) = (Vec::with_capacity(n), vec![]);
        let (mut slope, mut offset) = (vec![0.0; n], vec![0.0; n]);
        let (mut by_input, mut by_actor) = (vec![], vec![]);
        for (k, (branch, curve)) in circuit.branches.iter().zip(&curves).enumerate() {
            let (from, to) = (column(branch.from.0), column(branch.to.0));
            let changes = changes(&circuit, k);
            stamps.push(Stamp { from, to, changes });
            match curve {
                Curve::Pieces(_) | Curve::Power { .. } => {
                    let [from, to] = [from, to].map(|c| c.min(plan.columns as u32));
                    curved.push(Curved { branch: k as u32, from, to, piece: 0, low: 0.0, high: 0.0 });
                }
                Curve::Straight { slope: own, offset: driven } if !changes => (slope[k], offset[k]) = (*own, *driven),
                _ => {}
            }
            branch.when.visit(&mut |i| by_input.push((i.0, k as u32)), &mut |a| by_actor.push((a.0, k as u32)));
        }
        let factor = Factor::new(&plan, &stamps, &slope, &offset);
        let doubtful = curves.iter().any(|curve| matches!(curve, Curve::Power { .. }));
        let mut solver = Solver {
            corner,
            watches: Threshold::all(&circuit, corner, &plan),
            curves,
            stamps,
            curved,
            by_input: Lists::new(circuit.inputs.len(), &by_input),
            by_actor: Lists::new(circuit.actors.len(), &by_actor),
            there: vec![false; n],
            slope,
            offset,
            operating: vec![f64::INFINITY; n],
            output_watts: vec![0.0; n],
            factor,
            stale: true,
            dense: false,
            doubtful,
            chords: false,
            left_over: [vec![], vec![]],
            variant: Variant::NONE,
            unchanged: vec![],
            links: vec![],
            surroundings: None,
            phases: Phases::default(),
            state: State::at_rest(&circuit),
            next: Memory::empty(&circuit),
            touched: vec![],
            seen: vec![],
            plan,
            circuit,
        };
        solver.forget();
        (0..n).for_each(|k| solver.look(k));
        solver
    }

    /// The corner.
    pub fn corner(&self) -> Corner {
        self.corner
    }

    /// Solves a variant of the circuit from now on, in place of the one before. Only what the two change is eliminated anew.
    ///
    /// # Panics
    /// When the variant [needs a circuit of its own](Variant::is_in_place).
    pub fn set_variant(&mut self, variant: &Variant) {
        if *variant == self.variant {
            return;
        }
        assert!(variant.is_in_place(&self.circuit), "a variant that needs a circuit of its own");
        let mut changed = self.variant.branches();
        changed.extend(variant.branches());
        self.unchanged.drain(..).for_each(|(k, curve)| self.curves[k] = curve);
        self.variant = variant.clone();
        for id in changed {
            let k = id.index();
            if !self.unchanged.iter().any(|(there, _)| *there == k) {
                let curve = variant.curve(id, &self.circuit.branches[k].law, self.curves[k].clone());
                self.unchanged.push((k, std::mem::replace(&mut self.curves[k], curve)));
            }
            self.take_curve(k);
        }
        let column = |node: NodeId| self.plan.column_of[node.index()].min(self.plan.columns as u32);
        self.links = variant
            .links()
            .map(|(from, to, ohms)| Link { from: column(from), to: column(to), ohms: ohms.value() })
            .collect();
        self.stale = true;
        self.set_variant_in_phases(variant);
    }

    /// Forgets where loads and actors stood, as if it were new. Answers then don't depend on the questions before.
    pub fn start_afresh(&mut self) {
        self.forget();
        self.stale = true;
        self.start_phases_afresh();
    }

    /// Takes up a branch whose curve or whose condition a variant has changed.
    fn take_curve(&mut self, k: usize) {
        let at = self.curved.binary_search_by_key(&(k as u32), |one| one.branch).ok();
        if let (Some(at), Curve::Pieces(pieces)) = (at, &self.curves[k]) {
            let piece = (self.curved[at].piece as usize).min(pieces.len() - 1);
            self.put(at, piece);
        }
        self.look(k);
        self.set_line(k, at.map_or(0, |at| self.curved[at].piece as usize));
    }

    /// Solves from `start`: the inputs are where they are, the actors move from where they are until none has reason to.
    pub fn settle(&mut self, start: &State) -> Outcome {
        match self.run(start) {
            // OK because nothing counts as met in a run of its own.
            Ending::Settled | Ending::Met => Outcome::Settled(Box::new(self.solution())),
            Ending::Round => self.chatter(start),
            Ending::Unsolved(branches, why) => Outcome::Unsolved(Box::new(self.unsolved(branches, why))),
        }
    }

    /// Solves with every actor held as `state` has it, and tells what each actor would be next. What stands still between
    /// two events of a timeline is this; a state that wants itself has settled.
    ///
    /// # Errors
    /// When no piece of every law fits together.
    pub fn hold(&mut self, state: &State) -> Result<Held, Box<Unsolved>> {
        self.go_to(state);
        match self.solve() {
            Ok(()) => {
                self.step();
                Ok(Held { wants: self.next.clone(), solution: self.solution() })
            }
            Err(NoEnd(branches)) => Err(Box::new(self.unsolved(branches, NO_PIECE))),
        }
    }

    fn unsolved(&self, branches: Vec<BranchId>, why: &str) -> Unsolved {
        Unsolved { state: self.state.clone(), corner: self.corner, branches, why: why.into() }
    }

    /// Solves if anything has changed since the last time.
    pub fn solve(&mut self) -> Result<(), NoEnd> {
        if self.stale {
            self.electrical()?;
        }
        self.solve_phases()
    }

    /// Settles and leaves the result in the solver.
    pub fn run(&mut self, start: &State) -> Ending {
        self.run_past(start, &mut |_| true)
    }

    /// Like [`run`](Self::run), but asks before each step whether the state that it comes to is `new`. If it isn't, the
    /// rest of the way has been gone before, and it ends there.
    pub fn run_past(&mut self, start: &State, new: &mut dyn FnMut(&State) -> bool) -> Ending {
        self.go_to(start);
        self.follow(Self::solve, new)
    }

    /// Settles with every source dead. Then there is no voltage anywhere, so there is nothing to solve.
    pub fn run_dark(&mut self, start: &State) -> Ending {
        let surroundings = self.surroundings.take();
        self.go_to(start);
        self.factor.volts.fill(0.0);
        self.leave_phases();
        let end = self.follow(|_| Ok(()), &mut |_| true);
        self.stale = true;
        self.surroundings = surroundings;
        end
    }

    /// Lets the actors move, one step after the other, with the voltages that `solve` finds.
    fn follow(&mut self, solve: fn(&mut Self) -> Result<(), NoEnd>, new: &mut dyn FnMut(&State) -> bool) -> Ending {
        self.seen.clear();
        for _ in 0..ACTOR_STEPS {
            if let Err(NoEnd(branches)) = solve(self) {
                return Ending::Unsolved(branches, NO_PIECE);
            }
            self.step();
            if self.next == self.state.memory {
                return Ending::Settled;
            }
            let length = self.next.words.len();
            if self.seen.chunks(length).any(|words| words == self.next.words) {
                return Ending::Round;
            }
            self.seen.extend_from_slice(&self.state.memory.words);
            self.take_next();
            if !new(&self.state) {
                return Ending::Met;
            }
        }
        Ending::Unsolved(vec![], "actors kept moving without coming round")
    }

    /// Puts inputs and actors where `start` has them.
    pub fn go_to(&mut self, start: &State) {
        for (i, position) in start.positions.0.iter().enumerate() {
            if self.state.positions.0[i] != *position {
                self.state.positions.0[i] = *position;
                self.touched.extend_from_slice(self.by_input.of(i));
            }
        }
        self.next.words.copy_from_slice(&start.memory.words);
        self.take_next();
    }

    /// Makes the next memory the present one.
    pub fn take_next(&mut self) {
        let half = self.next.words.len() / 2;
        for word in 0..half {
            let mut moved = self.next.words[word] ^ self.state.memory.words[word];
            while moved != 0 {
                let actor = word * 64 + moved.trailing_zeros() as usize;
                moved &= moved - 1;
                self.touched.extend_from_slice(self.by_actor.of(actor));
            }
        }
        self.state.memory.words.copy_from_slice(&self.next.words);
        let mut touched = std::mem::take(&mut self.touched);
        touched.iter().for_each(|k| self.look(*k as usize));
        touched.clear();
        self.touched = touched;
    }

    /// Senses whether a branch is there.
    pub fn look(&mut self, k: usize) {
        let forced = if self.variant.is_none() { None } else { self.variant.presence(BranchId(k as u32)) };
        let there = forced.unwrap_or_else(|| self.state.holds(&self.circuit.branches[k].when));
        let there = there && !matches!(self.curves[k], Curve::Open);
        // Its line may be nought, but its voltage hasn't been looked at.
        self.stale |= there != self.there[k];
        self.there[k] = there;
        if self.stamps[k].changes {
            let piece =
                self.curved.binary_search_by_key(&(k as u32), |c| c.branch).map_or(0, |at| self.curved[at].piece);
            self.set_line(k, piece as usize);
        }
    }

    /// Puts a branch's slope and offset into the equations.
    pub fn set_line(&mut self, k: usize, piece: usize) {
        let [slope, offset] = if self.there[k] { self.line(k, piece) } else { [0.0; 2] };
        if slope != self.slope[k] || offset != self.offset[k] {
            (self.slope[k], self.offset[k]) = (slope, offset);
            self.factor.mark(&self.plan, &self.stamps[k]);
            self.stale = true;
        }
    }

    /// Voltage of a column.
    pub fn column_volts(&self, column: u32) -> f64 {
        self.factor.volts[column as usize]
    }

    /// Voltage of a branch.
    pub fn across(&self, k: usize) -> f64 {
        let [from, to] = self.column_ends(k);
        self.column_volts(from) - self.column_volts(to)
    }

    /// Columns of a branch, the last one being the battery's negative.
    pub fn column_ends(&self, k: usize) -> [u32; 2] {
        [self.stamps[k].from, self.stamps[k].to].map(|column| column.min(self.plan.columns as u32))
    }

    /// Current that leaves a branch at `to`, by its law at the voltages found.
    pub fn amps(&self, k: usize) -> f64 {
        if !self.there[k] {
            return 0.0;
        }
        match &self.curves[k] {
            Curve::Straight { slope, offset } => slope * self.across(k) + offset,
            Curve::Power { output: Some((of, _)), .. } => self.curves[k].amps(self.across(k), self.output_watts[*of]),
            curve => curve.amps(self.across(k), 0.0),
        }
    }
}
