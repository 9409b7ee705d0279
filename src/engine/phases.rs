//! What pulses do: the circuit solved in each phase of them, in a state that has a pulse-width driven feed on.
//!
//! Pulses are some hundred a second: too quick for a contact, a thermal or a set time, too slow for a trigger input not to
//! see each. So whatever has a delay of its own stands still through all phases, and each [`Senses`] what it can see. All
//! feeds are taken to begin their on-time together, one module being what usually drives them; each then ends after its
//! own share. In the first phase all of them are on, in the last none is.

use super::circuit_ref::CircuitRef;
use super::plan::EliminationPlan;
use super::settle::{NoEnd, Solver};
use super::step::Threshold;
use circuit::{
    ActorId, Branch, Corner, Curve, Law, Logic, Memory, Phase, Pulse, Senses, State, Variant, on_time_share,
};
use std::sync::Arc;

/// The phases of a circuit with pulsed feeds; nothing of a circuit without.
#[derive(Default)]
pub(crate) struct Phases<'c> {
    /// Branches of the feeds.
    feeds: Vec<usize>,
    /// Whether one of them is on, so that the rest are solved too.
    live: bool,
    /// Share of the first phase, which is what the solver itself solves.
    first: f64,
    rest: Vec<Later<'c>>,
}

/// A phase after the first.
struct Later<'c> {
    share: f64,
    solver: Solver<'c>,
}

impl<'c> Phases<'c> {
    pub fn new(circuit: &CircuitRef<'c>, plan: &Arc<EliminationPlan>, corner: Corner, curves: &[Curve]) -> Self {
        let pulsed = |(k, branch): (usize, &Branch)| match &branch.law {
            Law::Pulsed { duty: span, .. } => Some((k, on_time_share(*span, corner))),
            _ => None,
        };
        let feeds: Vec<(usize, f64)> = circuit.branches.iter().enumerate().filter_map(pulsed).collect();
        if corner.pulse == Pulse::Off || feeds.is_empty() {
            return Phases::default();
        }
        let mut ends: Vec<f64> = feeds.iter().map(|feed| feed.1).filter(|share| *share < 1.0).collect();
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        let next = |n: usize| ends.get(n).copied().unwrap_or(1.0);
        let later = |n: usize| {
            let mut curves = curves.to_vec();
            feeds.iter().filter(|feed| feed.1 <= ends[n]).for_each(|feed| curves[feed.0] = Curve::Open);
            Later {
                share: next(n + 1) - ends[n],
                solver: Solver::with_curves(circuit.clone(), plan.clone(), corner, curves),
            }
        };
        Phases {
            rest: (0..ends.len()).map(later).collect(),
            feeds: feeds.into_iter().map(|feed| feed.0).collect(),
            live: false,
            first: next(0),
        }
    }
}

impl<'c> Solver<'c> {
    /// Solves the phases after the first, if any feed that has them is on.
    pub fn solve_phases(&mut self) -> Result<(), NoEnd> {
        self.phases.live = self.phases.feeds.iter().any(|k| self.there[*k]);
        if !self.phases.live {
            return Ok(());
        }
        self.phases.rest.iter_mut().try_for_each(|phase| phase.solver.solve_phase(&self.state))
    }

    pub fn set_variant_in_phases(&mut self, variant: &Variant) {
        self.phases.rest.iter_mut().for_each(|phase| phase.solver.set_variant(variant));
    }

    pub fn start_phases_afresh(&mut self) {
        self.phases.rest.iter_mut().for_each(|phase| phase.solver.start_afresh());
    }

    /// Without voltage there are no pulses.
    pub fn leave_phases(&mut self) {
        self.phases.live = false;
    }

    /// Solves this phase: what senses each pulse moves within it, everything else is held.
    fn solve_phase(&mut self, state: &State) -> Result<(), NoEnd> {
        self.go_to(state);
        // Each may wait for another; more rounds than there are of them mean that they chase each other.
        for _ in 0..=self.watches.len() {
            self.solve()?;
            self.next.words.copy_from_slice(&self.state.memory.words);
            for watch in self.watches.iter().filter(|watch| watch.senses == Senses::Each) {
                let was_on = self.state.memory.on(watch.id());
                let on = watch.decides(self.own_volts(watch), was_on) && self.is_powered(watch);
                self.next.set_on(watch.id(), on);
            }
            if self.next == self.state.memory {
                break;
            }
            self.take_next();
        }
        Ok(())
    }

    fn live_phases(&self) -> impl Iterator<Item = &Later<'c>> {
        self.phases.rest.iter().take(if self.phases.live { usize::MAX } else { 0 })
    }

    /// The voltage that a threshold goes by.
    pub fn seen_volts(&self, watch: &Threshold) -> f64 {
        let volts = |phase: usize| match phase {
            0 => self.own_volts(watch),
            later => self.phases.rest[later - 1].solver.own_volts(watch),
        };
        self.senses(watch, &volts)
    }

    /// What a threshold goes by, with these voltages in the phases, counted from 0.
    pub fn senses(&self, watch: &Threshold, volts: &dyn Fn(usize) -> f64) -> f64 {
        let own = volts(0);
        if !self.phases.live {
            return own;
        }
        let later = self.live_phases().enumerate().map(|(n, phase)| (phase.share, volts(n + 1)));
        match watch.senses {
            Senses::Each => own,
            Senses::Coil | Senses::Mean => {
                later.fold(self.phases.first * own, |sum, (share, volts)| sum + share * volts)
            }
            Senses::Least => later.fold(own, |least, (_, volts)| least.min(volts)),
        }
    }

    /// Whether an actor stands otherwise in a later phase.
    pub fn changes_in_phases(&self, id: ActorId, on: bool) -> bool {
        self.live_phases().any(|phase| phase.solver.state.memory.on(id) != on)
    }

    /// Whether a condition holds in any phase.
    pub fn holds_once(&self, logic: &Logic) -> bool {
        self.state.holds(logic) || self.live_phases().any(|phase| phase.solver.state.holds(logic))
    }

    /// Whether a condition holds in every phase.
    pub fn holds_throughout(&self, logic: &Logic) -> bool {
        self.state.holds(logic) && self.live_phases().all(|phase| phase.solver.state.holds(logic))
    }

    /// What everything stands like in each phase after the first.
    pub fn later_memories(&self) -> impl Iterator<Item = &Memory> {
        self.live_phases().map(|phase| &phase.solver.state.memory)
    }

    /// The voltages of all thresholds in each phase.
    pub fn volts_in_phases(&self) -> Vec<Vec<f64>> {
        let of = |solver: &Self| solver.watches.iter().map(|watch| solver.own_volts(watch)).collect();
        std::iter::once(of(self)).chain(self.live_phases().map(|phase| of(&phase.solver))).collect()
    }

    /// The solvers of the phases: this one's first, then the later ones.
    pub fn each_phase(&mut self, each: &mut dyn FnMut(&mut Solver<'c>)) {
        each(self);
        let live = self.phases.live;
        self.phases.rest.iter_mut().filter(|_| live).for_each(|phase| each(&mut phase.solver));
    }

    /// What a solution tells of its phases, the first among them.
    pub fn phases_into(&mut self, into: &mut Vec<Phase>) {
        into.clear();
        if !self.phases.live {
            return;
        }
        let own = Phase { share: self.phases.first, volts: self.volts(), memory: self.state.memory.clone() };
        into.push(own);
        into.extend(self.phases.rest.iter_mut().map(|Later { share, solver }| Phase {
            share: *share,
            volts: solver.volts(),
            memory: solver.state.memory.clone(),
        }));
    }

    fn volts(&mut self) -> Vec<f64> {
        let mut volts = vec![0.0; self.circuit.nodes.len()];
        self.volts_into(&mut volts);
        volts
    }
}
