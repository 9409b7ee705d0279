//! Every reachable state again with one branch open: what a lost ground does.
//!
//! A circuit explored as a whole is solved anew for each state and each branch. In one explored in parts a branch inside a
//! part is opened in that part alone first, its terminals held and let off by what the others may move them. Where
//! nothing can come of it then, nothing can come of it in any state of the whole: the part draws no more and no less than
//! in one state or another with the branch closed, so the trunk stays within the bounds that all parts were explored in.
//! What may show something is solved as a whole, with the others at their extremes.

use super::circuit::{BranchId, Circuit, Input, InputId, Law, Logic, NodeId, place_in, position};
use super::explore::{Exploration, Inside};
use super::parts::Part;
use super::plan::Plan;
use super::settle::{End, Solver};
use super::split::{Split, bounds};
use super::state::{Outcome, Solution, State};
use super::variant::Variant;
use quantity::Volts;
use std::cell::OnceCell;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Most branches that are opened in turn in one copy of a part: positions of an input are told apart by a byte.
const MOST_AT_ONCE: usize = 250;

/// More than rounding makes of a current.
const ROUNDING_AMPS: f64 = 1e-6;

/// A state with a branch open, to be compared with the same state with it closed.
pub enum Without<'w, 'c> {
    /// Known within bounds. Nothing in this state decides otherwise within them. Ask for a closer look where anything that
    /// matters might be seen within them.
    Within {
        /// The voltages and currents of the part with the branch, the rest as in some state of it.
        lost: &'w Solution,
        /// How far any voltage between two nodes may be from what it is there.
        most: Volts,
        /// The same of two nodes, which takes a moment to find.
        off: &'w mut dyn FnMut(NodeId, NodeId) -> Volts,
    },
    /// Solved, with the solver that did it.
    Solved(Outcome, &'w mut Solver<'c>),
}

/// Told the place of the branch, the state with it closed, and what comes of opening it; asks for a closer look or not.
pub type Look<'l> = &'l mut dyn FnMut(usize, &Solution, Without) -> bool;

/// Solvers of the whole: as it is, and with one branch or another open.
struct Wholes<'c> {
    closed: Solver<'c>,
    open: Solver<'c>,
    circuit: &'c Circuit,
    branches: &'c [BranchId],
    any: bool,
}

impl Exploration {
    /// Shows what opening each of these branches does to the states of this exploration, in a steady order for each: one of
    /// `shares` shares of it, for a thread each, the `share`th counted from 0.
    pub fn visit_without(&self, circuit: &Circuit, branches: &[BranchId], [share, shares]: [usize; 2], look: Look) {
        let [closed, open] = [(); 2].map(|()| Solver::with_plan(circuit, self.plan.clone(), self.corner));
        let mut wholes = Wholes { closed, open, circuit, branches, any: !self.doubtful().is_empty() };
        let mut plain: Vec<usize> = (0..branches.len()).collect();
        if let Inside::Parts(split) = &self.inside {
            for (at, part) in split.parts.parts.iter().enumerate() {
                let inside = |i: &usize| part.branches.binary_search(&branches[*i]).is_ok();
                let mine = |i: &usize| i % shares == share;
                let (own, others): (Vec<usize>, Vec<usize>) = plain.into_iter().partition(inside);
                plain = others;
                let own: Vec<usize> = own.into_iter().filter(mine).collect();
                for own in own.chunks(MOST_AT_ONCE) {
                    PartWithout::new(split, at, &mut wholes).visit(own, look);
                }
            }
        }
        if !plain.is_empty() {
            let mut number = 0;
            self.visit(circuit, &mut |closed| {
                number += 1;
                // Where a branch carries nothing, nothing changes without it.
                let carries =
                    |i: &&usize| closed.has_pulses() || closed.amps(branches[**i]).value().abs() > ROUNDING_AMPS;
                let mine = |i: &&usize| (*i + number) % shares == share;
                for &i in plain.iter().filter(mine).filter(carries) {
                    let solver = wholes.opened(i);
                    let outcome = solver.settle(&closed.state);
                    look(i, closed, Without::Solved(outcome, solver));
                }
            });
        }
    }
}

impl<'c> Wholes<'c> {
    fn opened(&mut self, i: usize) -> &mut Solver<'c> {
        self.open.set_variant(&Variant::open([self.branches[i]]));
        &mut self.open
    }

    /// The whole in a state, with a branch closed and with it open. A state caught in a chatter has no solution.
    fn look(&mut self, i: usize, state: &State, look: Look) {
        // Where decisions were taken both ways, what the whole then settles to counts.
        if self.closed.run(state) == End::Settled && (self.any || self.closed.state == *state) {
            let closed = self.closed.solution();
            let solver = self.opened(i);
            let outcome = solver.settle(&closed.state);
            look(i, &closed, Without::Solved(outcome, solver));
        }
    }
}

/// One part whose branches are opened.
struct PartWithout<'s, 'w, 'c> {
    split: &'s Split,
    at: usize,
    part: &'s Part,
    wholes: &'w mut Wholes<'c>,
}

/// What the part draws at each terminal at least and at most, at one combination of master positions.
type Range = Vec<[f64; 2]>;

impl<'s, 'w, 'c> PartWithout<'s, 'w, 'c> {
    fn new(split: &'s Split, at: usize, wholes: &'w mut Wholes<'c>) -> Self {
        PartWithout { split, at, part: &split.parts.parts[at], wholes }
    }

    /// The part with one more input, each of whose positions but the first opens a branch.
    fn circuit(&self, own: &[usize]) -> Circuit {
        let mut circuit = self.part.circuit.clone();
        let lost = InputId(circuit.inputs.len() as u32);
        for (n, i) in own.iter().enumerate() {
            let local = place_in(&self.part.branches, &self.wholes.branches[*i]);
            let closed = Logic::Not(Box::new(Logic::At(lost, position(n + 1))));
            let when = &mut circuit.branches[local].when;
            *when = std::mem::replace(when, Logic::Always).and(closed);
        }
        circuit.inputs.push(Input {
            name: String::new(),
            positions: vec![String::new(); own.len() + 1],
            momentary: false,
            needs: Logic::Always,
            excludes: vec![],
        });
        circuit
    }

    fn visit(&mut self, own: &[usize], look: Look) {
        let circuit = self.circuit(own);
        let plan = Arc::new(Plan::new(&circuit));
        let bounds = bounds(self.wholes.circuit, &self.split.parts.masters, self.part, &plan, &self.split.off);
        let mut solver = Solver::with_plan(&circuit, plan, self.wholes.closed.corner());
        solver.bound(bounds, self.part.branches.len());
        for combination in (0..self.split.trunks.len()).filter(|c| !self.split.empty(*c)) {
            self.at_combination(combination, &mut solver, own, look);
        }
    }

    fn at_combination(&mut self, combination: usize, solver: &mut Solver, own: &[usize], look: Look) {
        let (split, at) = (self.split, self.at);
        let one = &split.explored[at];
        let mut numbers: Vec<u32> = split.explored.iter().map(|one| one.by_combination[combination][0]).collect();
        let rest = self.wholes.closed.settle(&split.whole_state(self.wholes.circuit, &numbers)).settled();
        // What pulses do is for the whole to say.
        let is_pulsed = self.part.circuit.branches.iter().any(|branch| matches!(branch.law, Law::Pulsed { .. }));
        let rest = rest.filter(|rest| rest.phases.is_empty() && !is_pulsed);
        let range = self.range(combination);
        let extremes = OnceCell::new();
        for number in &one.by_combination[combination] {
            numbers[at] = *number;
            let mut state = one.reach.states[*number as usize].state.clone();
            state.positions.0.push(0);
            let settled = solver.run(&state) == End::Settled && solver.state == state;
            let closed = rest.clone().filter(|_| settled).map(|mut closed| {
                closed.state = split.whole_state(self.wholes.circuit, &numbers);
                self.fill(solver, &mut closed);
                closed
            });
            for (n, &i) in own.iter().enumerate() {
                if let Some(last) = state.positions.0.last_mut() {
                    *last = position(n + 1);
                }
                let surely =
                    closed.as_ref().and_then(|closed| Some((closed, self.opened(solver, &state, closed, &range)?)));
                let closer = surely.is_none_or(|(closed, lost)| {
                    let most = Volts::new(solver.most_off);
                    let off = &mut |plus, minus| self.off(solver, plus, minus);
                    look(i, closed, Without::Within { lost: &lost, most, off })
                });
                if closer {
                    for pick in self.picks(extremes.get_or_init(|| split.extremes(combination)), *number) {
                        let whole = split.whole_state(self.wholes.circuit, &pick);
                        self.wholes.look(i, &whole, look);
                    }
                }
            }
        }
    }

    /// The part with a branch open; `None` if it may do anything else within its bounds, or leaves what the trunk was
    /// found to bear.
    fn opened(&self, solver: &mut Solver, state: &State, closed: &Solution, range: &Range) -> Option<Solution> {
        solver.doubts.words.fill(0);
        solver.doubtful_load = false;
        let settled = solver.run(state) == End::Settled;
        if !settled || solver.doubtful_load || solver.doubts.words.iter().any(|word| *word != 0) {
            return None;
        }
        let mut lost = closed.clone();
        self.fill(solver, &mut lost);
        let terminals = solver.bounds.as_ref()?.terminals.clone();
        let drawn = solver.terminal_amps(&terminals);
        let inside =
            |(amps, [low, high]): (&f64, &[f64; 2])| *amps >= low - ROUNDING_AMPS && *amps <= high + ROUNDING_AMPS;
        drawn.iter().zip(range).all(inside).then_some(lost)
    }

    fn range(&self, combination: usize) -> Range {
        let one = &self.split.explored[self.at];
        let amps = |terminal: usize| {
            let each = one.by_combination[combination].iter();
            each.map(move |number| one.answers[*number as usize].amps[terminal])
        };
        let each = (0..self.part.terminals.len()).map(|t| {
            amps(t).fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], amps| [low.min(amps), high.max(amps)])
        });
        each.collect()
    }

    /// Puts the part's voltages, currents and memory in their places of the whole.
    fn fill(&self, solver: &mut Solver, whole: &mut Solution) {
        solver.finish();
        let last = solver.plan.columns;
        for (local, id) in self.part.nodes.iter().enumerate().skip(1) {
            let column = (solver.plan.column_of[local] as usize).min(last);
            whole.volts[id.index()] = solver.factor.volts[column];
        }
        for (local, id) in self.part.branches.iter().enumerate() {
            whole.amps[id.index()] = solver.amps(local);
        }
        for (local, id) in self.part.actors.iter().enumerate() {
            whole.state.memory.set_place(*id, solver.state.memory.place(super::ActorId(local as u32)));
        }
    }

    /// How far the voltage between two nodes of the whole may be off.
    fn off(&self, solver: &mut Solver, plus: NodeId, minus: NodeId) -> Volts {
        let local = |id: NodeId| self.part.nodes.iter().position(|node| *node == id);
        // Elsewhere nothing changes.
        let (Some(plus), Some(minus)) = (local(plus), local(minus)) else { return Volts::new(0.0) };
        let last = solver.plan.columns as u32;
        let [plus, minus] = [plus, minus].map(|node| solver.plan.column_of[node].min(last));
        if solver.spread.is_none() {
            solver.spread = solver.spread(&mut vec![]);
        }
        Volts::new(solver.spread.as_ref().map_or(f64::INFINITY, |spread| spread.between(plus, minus)))
    }

    /// The states of the whole with this part in one of its own, the others at the extremes that its terminals feel.
    fn picks(&self, extremes: &[[Vec<u32>; 2]], number: u32) -> BTreeSet<Vec<u32>> {
        let felt: Vec<&Vec<u32>> = match self.part.terminals.is_empty() {
            true => extremes.first().map(|e| &e[0]).into_iter().collect(),
            false => self.part.terminals.iter().flat_map(|(_, node)| &extremes[*node]).collect(),
        };
        let with_own = |rest: &Vec<u32>| {
            let mut pick = rest.clone();
            pick[self.at] = number;
            pick
        };
        felt.into_iter().map(with_own).collect()
    }
}
