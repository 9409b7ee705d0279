//! Every reachable state with one branch open: the effect of a lost ground.
//!
//! A circuit explored as a whole is solved for each state and each branch. In one explored in zones, a branch inside a
//! zone is first opened in that zone alone. If every decision is sure, and the zone draws at both levels no more and no
//! less than in some state with the branch closed, then the trunk lemma holds as before and the other zones stay as
//! explored: the effect of opening the branch is its effect in the zone, within the zone lemma's bounds. A state in
//! which an effect is possible within these bounds is solved as a whole, with the other zones at their extremes.

use super::exploration::{Exploration, Inside};
use super::zones::{Around, Ends, EndsPlan, Levels, Zone, Zoned};
use circuit::{
    ActorId, BranchId, Circuit, CircuitInput, InputId, Law, Logic, Outcome, Solution, State, Variant, place_in,
    position,
};
use engine::{EliminationPlan, Ending, Settler, Solver};
use quantity::{Amps, Volts};
use std::cell::OnceCell;
use std::collections::BTreeSet;
use std::sync::Arc;

/// Most branches that are opened in turn in one copy of a zone, so that its equations stay small.
const MOST_AT_ONCE: usize = 250;

/// Currents up to this are rounding, in amperes.
const ROUNDING_AMPS: f64 = 1e-6;

/// A state with a branch open, to be compared with the same state with it closed.
pub enum Without<'w, 'c> {
    /// Known within bounds. Every decision in this state is the same within them. Ask for a closer look if an effect is
    /// possible within them.
    Within {
        /// The voltages and currents of the zone with the branch, the rest as in some state of it.
        lost: &'w Solution,
        /// How far any voltage between two nodes may be from `lost` (the zone lemma).
        most: Volts,
    },
    /// Solved, with the solver that did it.
    Solved(Outcome, &'w mut Solver<'c>),
}

/// Called with the index of the branch, the state with it closed, and the state with it open; returns whether to look
/// closer.
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
    /// Shows the effect of opening each of these branches on the states of this exploration, in a steady order for each
    /// branch. The work is divided into `shares` shares, for a thread each; this is the `share`th, counted from 0.
    pub fn visit_without(&self, circuit: &Circuit, branches: &[BranchId], [share, shares]: [usize; 2], look: Look) {
        let [closed, open] = [(); 2].map(|()| Solver::with_plan(circuit, &self.plan, self.corner));
        let mut wholes = Wholes { closed, open, circuit, branches, any: !self.doubtful().is_empty() };
        let mut plain: Vec<usize> = (0..branches.len()).collect();
        if let Inside::Zones(zoned) = &self.inside {
            for (at, zone) in zoned.zones.zones.iter().enumerate() {
                let inside = |i: &usize| zone.branches.binary_search(&branches[*i]).is_ok();
                let mine = |i: &usize| i % shares == share;
                let (own, others): (Vec<usize>, Vec<usize>) = plain.into_iter().partition(inside);
                plain = others;
                let own: Vec<usize> = own.into_iter().filter(mine).collect();
                for own in own.chunks(MOST_AT_ONCE) {
                    ZoneWithout::new(zoned, at, &mut wholes).visit(own, look);
                }
            }
        }
        if !plain.is_empty() {
            let mut number = 0;
            self.visit(circuit, &mut |closed| {
                number += 1;
                // A branch without current changes nothing when it opens.
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
        // Where decisions were taken both ways, the state to which the whole then settles counts.
        let closed = self.closed.settle(state).settled().filter(|closed| self.any || closed.state == *state);
        if let Some(closed) = closed {
            let solver = self.opened(i);
            let outcome = solver.settle(&closed.state);
            look(i, &closed, Without::Solved(outcome, solver));
        }
    }
}

/// A zone solved with its terminals in the middle of the levels, and what the rest of the circuit may change in it.
struct Middle<'e> {
    settler: Settler<'e>,
    around: Around<'e>,
}

impl Middle<'_> {
    /// Settles a state; `true` if it settles.
    fn run(&mut self, state: &State) -> bool {
        self.settler.run_observed(state, &mut self.around) == Ending::Settled
    }

    /// What the zone draws at both ends, in the state solved last.
    fn drawn(&mut self) -> Option<[Vec<Vec<f64>>; 2]> {
        self.around.drawn(&mut self.settler)
    }

    /// Solves a state, at both ends too, and whether it settles to itself.
    fn settles_to_itself(&mut self, state: &State) -> bool {
        self.run(state) && self.settler.state() == state && self.drawn().is_some()
    }

    /// Whether a branch carries nothing in the state as solved: then the zone is the same without it.
    fn carries_nothing(&mut self, branch: usize) -> bool {
        let network = self.settler.network_mut();
        network.finish();
        network.amps(branch).abs() <= ROUNDING_AMPS && self.around.carries_at_most(branch, ROUNDING_AMPS)
    }
}

/// One zone whose branches are opened.
struct ZoneWithout<'s, 'w, 'c> {
    zoned: &'s Zoned,
    at: usize,
    zone: &'s Zone,
    wholes: &'w mut Wholes<'c>,
}

impl<'s, 'w, 'c> ZoneWithout<'s, 'w, 'c> {
    fn new(zoned: &'s Zoned, at: usize, wholes: &'w mut Wholes<'c>) -> Self {
        ZoneWithout { zoned, at, zone: &zoned.zones.zones[at], wholes }
    }

    /// Gives the zone's circuit one more input, each of whose positions but the first opens a branch.
    fn with_opener(&self, mut circuit: Circuit, own: &[usize]) -> Circuit {
        let lost = InputId(circuit.inputs.len() as u32);
        for (n, i) in own.iter().enumerate() {
            let closed = Logic::Not(Box::new(Logic::At(lost, position(n + 1))));
            let when = &mut circuit.branches[self.local(*i)].when;
            *when = std::mem::replace(when, Logic::Always).and(closed);
        }
        circuit.inputs.push(CircuitInput {
            name: String::new(),
            positions: vec![String::new(); own.len() + 1],
            momentary: false,
            needs: Logic::Always,
            excludes: vec![],
        });
        circuit
    }

    fn visit(&mut self, own: &[usize], look: Look) {
        let (zones, levels) = (&self.zoned.zones, &self.zoned.levels);
        let circuit = self.with_opener(self.zone.circuit.clone(), own);
        let volts: Vec<Vec<f64>> = levels.iter().map(Levels::middle).collect();
        let held = self.zone.held(circuit.clone(), &volts);
        let ends_plan = EndsPlan::new(circuit);
        let ends = ends_plan.held(self.zone, levels);
        let corner = self.wholes.closed.corner();
        let ends = Ends::new(zones, self.zone, &ends_plan, &ends, corner);
        let plan = Arc::new(EliminationPlan::new(&held));
        let around = Around::new(zones, self.zone, levels, ends, &plan, false);
        let mut middle = Middle { settler: Settler::new(&held, &plan, corner), around };
        for combination in (0..self.zoned.trunks.len()).filter(|c| !self.zoned.empty(*c)) {
            self.at_combination(combination, &mut middle, own, look);
        }
    }

    fn at_combination(&mut self, combination: usize, middle: &mut Middle, own: &[usize], look: Look) {
        let (zoned, at) = (self.zoned, self.at);
        let one = &zoned.explored[at];
        let mut numbers: Vec<u32> = zoned.explored.iter().map(|one| one.by_combination[combination][0]).collect();
        let rest = self.wholes.closed.settle(&zoned.whole_state(self.wholes.circuit, &numbers)).settled();
        // Only the whole shows the effect of pulses.
        let is_pulsed = self.zone.circuit.branches.iter().any(|branch| matches!(branch.law, Law::Pulsed { .. }));
        let rest = rest.filter(|rest| !rest.has_pulses() && !is_pulsed);
        let extremes = OnceCell::new();
        for number in &one.by_combination[combination] {
            numbers[at] = *number;
            let mut state = one.reach.states[*number as usize].state.clone();
            state.positions.0.push(0);
            let closed = rest.clone().filter(|_| middle.settles_to_itself(&state)).map(|mut closed| {
                closed.state = zoned.whole_state(self.wholes.circuit, &numbers);
                self.fill(&mut middle.settler, &mut closed);
                closed
            });
            let idle: Vec<bool> =
                own.iter().map(|i| closed.is_some() && middle.carries_nothing(self.local(*i))).collect();
            for (n, &i) in own.iter().enumerate() {
                if let Some(last) = state.positions.0.last_mut() {
                    *last = position(n + 1);
                }
                let surely = closed.as_ref().and_then(|closed| {
                    let lost =
                        if idle[n] { Some(closed.clone()) } else { self.opened(middle, &state, closed, combination) };
                    Some((closed, lost?))
                });
                let closer = surely.is_none_or(|(closed, lost)| {
                    let most = Volts::new(middle.around.found().volts);
                    look(i, closed, Without::Within { lost: &lost, most })
                });
                if closer {
                    for pick in self.picks(extremes.get_or_init(|| zoned.extremes(combination)), *number) {
                        let whole = zoned.whole_state(self.wholes.circuit, &pick);
                        self.wholes.look(i, &whole, look);
                    }
                }
            }
        }
    }

    /// The number, in the zone, of a branch that is opened.
    fn local(&self, i: usize) -> usize {
        place_in(&self.zone.branches, &self.wholes.branches[i])
    }

    /// The zone with a branch open; `None` if a decision is in doubt, or the zone draws too much or too little for the
    /// trunk lemma to hold.
    fn opened(&self, middle: &mut Middle, state: &State, closed: &Solution, combination: usize) -> Option<Solution> {
        middle.around.found().clear();
        if !middle.run(state) || !middle.around.found().is_sure() {
            return None;
        }
        if !self.zoned.explored[self.at].draws_as_much(combination, &middle.drawn()?) {
            return None;
        }
        let mut lost = closed.clone();
        self.fill(&mut middle.settler, &mut lost);
        Some(lost)
    }

    /// Puts the zone's voltages, currents and memory in their places of the whole.
    fn fill(&self, settler: &mut Settler, whole: &mut Solution) {
        settler.network_mut().finish();
        let (network, state) = (settler.network(), settler.state());
        let plan = network.plan();
        for (local, id) in self.zone.nodes.iter().enumerate().skip(1) {
            let column = (plan.column_of[local] as usize).min(plan.columns);
            whole.set_volts(*id, Volts::new(network.volts()[column]));
        }
        for (local, id) in self.zone.branches.iter().enumerate() {
            whole.set_amps(*id, Amps::new(network.amps(local)));
        }
        for (local, id) in self.zone.actors.iter().enumerate() {
            whole.state.memory.set_place(*id, state.memory.place(ActorId(local as u32)));
        }
    }

    /// The states of the whole with this zone in one of its own, the others at the extremes for its terminals.
    fn picks(&self, extremes: &[[Vec<u32>; 2]], number: u32) -> BTreeSet<Vec<u32>> {
        let felt: Vec<&Vec<u32>> = match self.zone.terminals.is_empty() {
            true => extremes.first().map(|e| &e[0]).into_iter().collect(),
            false => self.zone.terminals.iter().flat_map(|(_, node)| &extremes[*node]).collect(),
        };
        let with_own = |rest: &Vec<u32>| {
            let mut pick = rest.clone();
            pick[self.at] = number;
            pick
        };
        felt.into_iter().map(with_own).collect()
    }
}
