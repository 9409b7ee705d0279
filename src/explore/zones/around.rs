//! How the rest of the circuit may change a zone's decisions.

use super::apart::{Zone, Zones};
use super::combinations::Combinations;
use super::ends::Ends;
use super::falling::FallingLoads;
use super::in_doubt::InDoubt;
use super::trunk::Levels;
use crate::reach::Alternatives;
use circuit::{ActorId, Branch, NodeId, Senses, State};
use engine::{EliminationPlan, Observer, Settler};
use std::collections::BTreeSet;

/// A state, and the amperes that the zone draws from some terminal in it.
type Widest = Option<(f64, State)>;

/// The surroundings of a zone that is solved with its terminals in the middle of the levels.
pub(crate) struct Around<'e> {
    ends: Ends<'e>,
    falling: FallingLoads,
    /// By combination of the masters, how far the voltage between two nodes changes at most (corollary of the zone
    /// lemma).
    moves: Vec<f64>,
    masters: Combinations,
    /// Whether some feed of the circuit is driven with pulses.
    pulsed: bool,
    found: InDoubt,
    /// The zone's branches on its terminals, and for each combination and terminal the states that draw least and most
    /// in the middle, of all states that the zone has been in or passed through.
    touching: Vec<u32>,
    columns: Vec<u32>,
    widest: Vec<Vec<[Widest; 2]>>,
}

impl<'e> Around<'e> {
    /// For a zone between these levels; with `follow` decisions in doubt are taken both ways.
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

    /// Finds the zone's branches on its terminals, in the columns of the plan of its middle.
    fn on(mut self, zone: &Zone, middle: &EliminationPlan) -> Self {
        let terminals: Vec<NodeId> = zone.terminals.iter().map(|(node, _)| *node).collect();
        let branches = &zone.circuit.branches[..zone.branches.len()];
        let touches = |branch: &Branch| terminals.contains(&branch.from) || terminals.contains(&branch.to);
        self.touching = (0..branches.len()).filter(|k| touches(&branches[*k])).map(|k| k as u32).collect();
        self.columns = terminals.iter().map(|node| middle.column_of[node.index()]).collect();
        self
    }

    /// Notes what the zone draws in a state that it is in or passes through: the states that it passes through count
    /// for the trunk's levels as well.
    fn note_draw(&mut self, middle: &mut Settler) {
        middle.network_mut().finish();
        let (state, network) = (middle.state(), middle.network());
        let widest = &mut self.widest[self.masters.number(&state.positions.0)];
        for (column, [least, most]) in self.columns.iter().zip(widest) {
            let mut amps = 0.0;
            for k in self.touching.iter().map(|k| *k as usize).filter(|k| network.is_there(*k)) {
                let [from, to] = network.ends(k);
                if (from == *column) != (to == *column) {
                    amps += if from == *column { network.amps(k) } else { -network.amps(k) };
                }
            }
            if least.as_ref().is_none_or(|(other, _)| amps < *other) {
                *least = Some((amps, state.clone()));
            }
            if most.as_ref().is_none_or(|(other, _)| amps > *other) {
                *most = Some((amps, state.clone()));
            }
        }
    }

    /// How far the voltage between two nodes changes at most in the state that `middle` has solved, by the corollary.
    fn moves(&self, middle: &Settler) -> f64 {
        self.moves[self.masters.number(&middle.state().positions.0)]
    }

    /// Actors in doubt if their voltages in each phase are anywhere within `between`: those in doubt by the voltage
    /// that they follow, and those that only another phase of the pulses puts in doubt.
    fn doubts(&self, middle: &Settler, between: &dyn Fn(usize, usize) -> [f64; 2]) -> [Vec<ActorId>; 2] {
        let mut all = [vec![], vec![]];
        let thresholds = middle.thresholds().iter().enumerate();
        for (n, threshold) in thresholds.filter(|(_, threshold)| middle.is_powered(threshold)) {
            let was_on = middle.state().memory.on(threshold.id());
            let ends = [0, 1].map(|end: usize| middle.sees(threshold, &|phase| between(n, phase)[end]));
            if threshold.may_decide_both(ends, was_on) {
                // Pulses in another zone may be in the trunk's voltages; an actor that follows each pulse may then go
                // on and off with them.
                all[usize::from(self.pulsed && threshold.senses == Senses::Each)].push(threshold.id());
            } else if threshold.senses == Senses::Each {
                let later = middle.later_memories().enumerate();
                let doubt = |(phase, on): (usize, bool)| threshold.may_decide_both(between(n, phase + 1), on);
                if later.map(|(phase, memory)| (phase, memory.on(threshold.id()))).any(doubt) {
                    all[1].push(threshold.id());
                }
            }
        }
        all
    }

    /// The actors whose decision in the state as solved depends on the rest of the circuit.
    fn in_doubt(&mut self, middle: &mut Settler) -> Vec<ActorId> {
        self.note_draw(middle);
        let moves = self.moves(middle);
        if moves == 0.0 {
            return vec![];
        }
        if let Some(most) = self.falling.most_off(middle, moves) {
            let own = middle.threshold_volts();
            let near = |n: usize, phase: usize| [own[phase][n] - most, own[phase][n] + most];
            if self.doubts(middle, &near).iter().all(Vec::is_empty) {
                self.found.volts = most;
                return vec![];
            }
        }
        if !self.ends.solve(middle, moves) {
            self.found.unknown = true;
            return vec![];
        }
        self.found.turning_load |= self.ends.turning_load;
        self.found.volts = self.ends.most_off(middle);
        let columns: Vec<[u32; 2]> =
            middle.thresholds().iter().map(|threshold| threshold.nodes.map(|node| self.ends.column(node))).collect();
        let ends = &self.ends;
        let [in_doubt, in_other_phases] =
            self.doubts(middle, &|n, phase| ends.between(phase, columns[n][0], columns[n][1]));
        // What an actor does in one phase alone can't be taken both ways.
        self.found.too_many |= !in_other_phases.is_empty();
        self.found.doubted.extend(in_other_phases);
        in_doubt
    }

    /// What the zone draws at both ends, in the state that `middle` has solved: by end, phase of pulses and terminal.
    /// `None` if that isn't known.
    pub(crate) fn drawn(&mut self, middle: &mut Settler) -> Option<[Vec<Vec<f64>>; 2]> {
        let known = self.ends.solve(middle, self.moves(middle));
        self.found.unknown |= !known;
        known.then(|| self.ends.drawn())
    }

    /// Whether a branch carries no more than this at either end, as solved last.
    pub(crate) fn carries_at_most(&mut self, branch: usize, amps: f64) -> bool {
        self.ends.carries_at_most(branch, amps)
    }

    /// The states that draw least and most from some terminal, of all that were looked at, passing ones among them.
    pub(crate) fn widest(&self) -> Vec<State> {
        let widest = self.widest.iter().flatten().flatten().flatten();
        widest.map(|(_, state)| state.clone()).collect::<BTreeSet<State>>().into_iter().collect()
    }

    /// What it has found so far.
    pub(crate) fn found(&mut self) -> &mut InDoubt {
        &mut self.found
    }
}

impl Observer for Around<'_> {
    fn stepped(&mut self, middle: &mut Settler) {
        let in_doubt = self.in_doubt(middle);
        if !in_doubt.is_empty() {
            self.found.doubt(&in_doubt, middle.state(), middle.next());
        }
    }
}

impl Alternatives for Around<'_> {
    fn take(&mut self) -> (Option<State>, Vec<State>) {
        (self.found.next.pop(), std::mem::take(&mut self.found.stand))
    }
}
