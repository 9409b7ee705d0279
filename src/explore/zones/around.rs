//! What the rest of the circuit may make of a zone's decisions.

use super::apart::{Zone, Zones};
use super::combinations::Combinations;
use super::ends::Ends;
use super::falling::FallingLoads;
use super::trunk::Levels;
use circuit::{ActorId, Branch, NodeId, Senses, State};
use engine::{EliminationPlan, InDoubt, Solver, Surroundings};
use std::collections::BTreeSet;

/// A state, and the amperes that the zone draws from some terminal in it.
type Widest = Option<(f64, State)>;

/// The surroundings of a zone that is solved with its terminals in the middle of the levels.
pub(crate) struct Around<'e> {
    ends: Ends<'e>,
    falling: FallingLoads,
    /// By combination of the masters, how far two nodes come apart at most (the zone lemma's corollary).
    moves: Vec<f64>,
    masters: Combinations,
    /// Whether some feed of the circuit is driven with pulses.
    pulsed: bool,
    found: InDoubt,
    /// The zone's branches on its terminals, and for each combination and terminal the state that draws least and the one
    /// that draws most, in the middle, of all that the zone has been in or passed through.
    touching: Vec<u32>,
    columns: Vec<u32>,
    widest: Vec<Vec<[Widest; 2]>>,
}

impl<'e> Around<'e> {
    /// Of a zone between these levels; with `follow` decisions in doubt are taken both ways.
    pub(crate) fn new(
        zones: &Zones,
        zone: &Zone,
        levels: &[Levels],
        ends: Ends<'e>,
        middle: &EliminationPlan,
        follow: bool,
    ) -> Self {
        let two_greatest = |levels: &Levels| {
            let off = levels.off();
            let mut own: Vec<f64> = zone.terminals.iter().map(|(_, at)| off[*at]).collect();
            own.sort_by(f64::total_cmp);
            own.iter().rev().take(2).sum()
        };
        Around {
            falling: FallingLoads::new(zone, ends.circuit(), ends.corner()),
            ends,
            moves: levels.iter().map(two_greatest).collect(),
            masters: zones.combinations.clone(),
            pulsed: zones.pulsed,
            found: InDoubt { follow, ..InDoubt::default() },
            touching: vec![],
            columns: vec![],
            widest: vec![vec![[None, None]; zone.terminals.len()]; levels.len()],
        }
        .on(zone, middle)
    }

    /// On these branches of the zone, in the columns of the plan of its middle.
    fn on(mut self, zone: &Zone, middle: &EliminationPlan) -> Self {
        let terminals: Vec<NodeId> = zone.terminals.iter().map(|(node, _)| *node).collect();
        let branches = &zone.circuit.branches[..zone.branches.len()];
        let touches = |branch: &Branch| terminals.contains(&branch.from) || terminals.contains(&branch.to);
        self.touching = (0..branches.len()).filter(|k| touches(&branches[*k])).map(|k| k as u32).collect();
        self.columns = terminals.iter().map(|node| middle.column_of[node.index()]).collect();
        self
    }

    /// Notes what the zone draws in a state that it is in or passes through: what it passes through counts for the trunk's
    /// levels as well.
    fn note_draw(&mut self, solver: &mut Solver) {
        solver.finish();
        let widest = &mut self.widest[self.masters.number(&solver.state.positions.0)];
        for (column, [least, most]) in self.columns.iter().zip(widest) {
            let mut amps = 0.0;
            for k in self.touching.iter().map(|k| *k as usize).filter(|k| solver.there[*k]) {
                let [from, to] = solver.column_ends(k);
                if (from == *column) != (to == *column) {
                    amps += if from == *column { solver.amps(k) } else { -solver.amps(k) };
                }
            }
            if least.as_ref().is_none_or(|(other, _)| amps < *other) {
                *least = Some((amps, solver.state.clone()));
            }
            if most.as_ref().is_none_or(|(other, _)| amps > *other) {
                *most = Some((amps, solver.state.clone()));
            }
        }
    }

    /// How far two nodes come apart at most in the state that `middle` has solved, by the corollary.
    fn moves(&self, middle: &Solver) -> f64 {
        self.moves[self.masters.number(&middle.state.positions.0)]
    }

    /// Actors in doubt by what `between` says of their voltages in each phase: those that go by them, and those that only
    /// another phase of the pulses puts in doubt.
    fn doubts(&self, solver: &Solver, between: &dyn Fn(usize, usize) -> [f64; 2]) -> [Vec<ActorId>; 2] {
        let mut all = [vec![], vec![]];
        for (n, watch) in solver.watches.iter().enumerate().filter(|(_, watch)| solver.is_powered(watch)) {
            let was_on = solver.state.memory.on(watch.id());
            let ends = [0, 1].map(|end: usize| solver.senses(watch, &|phase| between(n, phase)[end]));
            if watch.may_decide_both(ends, was_on) {
                // Pulses in another zone may be in the trunk's voltages, and what senses each may then go on and off with them.
                all[usize::from(self.pulsed && watch.senses == Senses::Each)].push(watch.id());
            } else if watch.senses == Senses::Each {
                let later = solver.later_memories().enumerate();
                let doubt = |(phase, on): (usize, bool)| watch.may_decide_both(between(n, phase + 1), on);
                if later.map(|(phase, memory)| (phase, memory.on(watch.id()))).any(doubt) {
                    all[1].push(watch.id());
                }
            }
        }
        all
    }
}

impl Surroundings for Around<'_> {
    fn in_doubt(&mut self, solver: &mut Solver) -> Vec<ActorId> {
        self.note_draw(solver);
        let moves = self.moves(solver);
        if moves == 0.0 {
            return vec![];
        }
        if let Some(most) = self.falling.most_off(solver, moves) {
            let own = solver.volts_in_phases();
            let near = |n: usize, phase: usize| [own[phase][n] - most, own[phase][n] + most];
            if self.doubts(solver, &near).iter().all(Vec::is_empty) {
                self.found.volts = most;
                return vec![];
            }
        }
        if !self.ends.solve(solver, moves) {
            self.found.unknown = true;
            return vec![];
        }
        self.found.turning_load |= self.ends.turning_load;
        self.found.volts = self.ends.most_off(solver);
        let columns: Vec<[u32; 2]> =
            solver.watches.iter().map(|watch| watch.nodes.map(|node| self.ends.column(node))).collect();
        let ends = &self.ends;
        let [in_doubt, in_other_phases] =
            self.doubts(solver, &|n, phase| ends.between(phase, columns[n][0], columns[n][1]));
        // What an actor does in one phase alone can't be taken both ways.
        self.found.too_many |= !in_other_phases.is_empty();
        self.found.doubted.extend(in_other_phases);
        in_doubt
    }

    fn drawn(&mut self, solver: &mut Solver) -> Option<[Vec<Vec<f64>>; 2]> {
        let known = self.ends.solve(solver, self.moves(solver));
        self.found.unknown |= !known;
        known.then(|| self.ends.drawn())
    }

    fn carries_at_most(&mut self, branch: usize, amps: f64) -> bool {
        self.ends.carries_at_most(branch, amps)
    }

    fn widest(&mut self) -> Vec<State> {
        let widest = self.widest.iter().flatten().flatten().flatten();
        widest.map(|(_, state)| state.clone()).collect::<BTreeSet<State>>().into_iter().collect()
    }

    fn found(&mut self) -> &mut InDoubt {
        &mut self.found
    }
}
