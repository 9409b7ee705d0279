//! The phases of pulse-width driven feeds: the circuit solved in each of them, in a state that has such a feed on.
//!
//! Pulses are some hundred a second: too quick for a contact, a thermal fuse or a set time, too slow for a trigger
//! input to miss one. So everything with a delay of its own keeps its position through all phases, and each [`Senses`]
//! what it can see. All feeds are taken to begin their on-time together, since usually one module drives them; each
//! then ends after its own share. In the first phase all of them are on, in the last none is.

use super::circuit_ref::CircuitRef;
use super::network::{Network, NoSolution};
use super::plan::EliminationPlan;
use super::switched::{Switched, Switches};
use super::threshold::Threshold;
use circuit::{ActorId, Corner, Curve, Law, Logic, Memory, Phase, Pulse, Senses, State, Variant, curve, on_time_share};
use quantity::Share;
use std::sync::Arc;

/// A circuit at a corner, in every phase of its pulses. Without pulsed feeds there is one phase.
pub(crate) struct Pulses<'c> {
    thresholds: Vec<Threshold>,
    first: Switched<'c>,
    /// Share of the time of the first phase.
    first_share: f64,
    later: Vec<Later<'c>>,
    /// Branches of the pulsed feeds.
    feeds: Vec<usize>,
    /// Whether one of them is on, so that the later phases are solved too.
    live: bool,
}

/// A phase after the first.
struct Later<'c> {
    share: f64,
    switched: Switched<'c>,
}

impl<'c> Pulses<'c> {
    pub(crate) fn new(circuit: &CircuitRef<'c>, plan: &Arc<EliminationPlan>, corner: Corner) -> Self {
        let curves: Vec<Curve> = circuit.branches.iter().map(|branch| curve(branch, circuit, corner)).collect();
        let shares = circuit.branches.iter().enumerate().filter_map(|(k, branch)| match &branch.law {
            Law::Pulsed { duty, .. } => Some((k, on_time_share(*duty, corner))),
            _ => None,
        });
        let mut feeds: Vec<(usize, f64)> = shares.collect();
        if corner.pulse == Pulse::Off {
            feeds.clear();
        }
        let mut ends: Vec<f64> = feeds.iter().map(|feed| feed.1).filter(|share| *share < 1.0).collect();
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        let next = |n: usize| ends.get(n).copied().unwrap_or(1.0);
        let switches = Arc::new(Switches::new(circuit));
        let phase = |curves| Switched::new(circuit.clone(), switches.clone(), plan.clone(), curves);
        let later = |n: usize| {
            let mut curves = curves.clone();
            feeds.iter().filter(|feed| feed.1 <= ends[n]).for_each(|feed| curves[feed.0] = Curve::Open);
            Later { share: next(n + 1) - ends[n], switched: phase(curves) }
        };
        Pulses {
            thresholds: Threshold::all(circuit, corner, plan),
            later: (0..ends.len()).map(later).collect(),
            first_share: next(0),
            feeds: feeds.iter().map(|feed| feed.0).collect(),
            live: false,
            first: phase(curves),
        }
    }

    pub(crate) fn thresholds(&self) -> &[Threshold] {
        &self.thresholds
    }

    /// The first phase.
    pub(crate) fn first(&self) -> &Switched<'c> {
        &self.first
    }

    pub(crate) fn first_mut(&mut self) -> &mut Switched<'c> {
        &mut self.first
    }

    pub(crate) fn set_variant(&mut self, variant: &Variant) {
        self.first.set_variant(variant);
        self.later.iter_mut().for_each(|phase| phase.switched.set_variant(variant));
    }

    /// Forgets the last solution of every phase.
    pub(crate) fn start_afresh(&mut self) {
        self.first.start_afresh();
        self.later.iter_mut().for_each(|phase| phase.switched.start_afresh());
    }

    /// Solves with every actor held; the later phases too if a feed that has them is on.
    pub(crate) fn solve(&mut self) -> Result<(), NoSolution> {
        self.first.solve()?;
        self.live = self.feeds.iter().any(|k| self.first.network().is_there(*k));
        if !self.live {
            return Ok(());
        }
        let (state, thresholds) = (self.first.state(), &self.thresholds);
        self.later.iter_mut().try_for_each(|phase| phase.switched.solve_phase(state, thresholds))
    }

    /// Sets every voltage to zero: then there are no pulses.
    pub(crate) fn go_dark(&mut self) {
        self.first.network_mut().go_dark();
        self.live = false;
    }

    fn live_phases(&self) -> impl Iterator<Item = &Later<'c>> {
        self.later.iter().take(if self.live { usize::MAX } else { 0 })
    }

    /// The voltage that a threshold follows.
    pub(crate) fn seen_volts(&self, threshold: &Threshold) -> f64 {
        let volts = |phase: usize| match phase {
            0 => self.first.own_volts(threshold),
            later => self.later[later - 1].switched.own_volts(threshold),
        };
        self.sees(threshold, &volts)
    }

    /// The voltage that a threshold follows, from these voltages in the phases, counted from 0.
    pub(crate) fn sees(&self, threshold: &Threshold, volts: &dyn Fn(usize) -> f64) -> f64 {
        let own = volts(0);
        if !self.live {
            return own;
        }
        let later = self.live_phases().enumerate().map(|(n, phase)| (phase.share, volts(n + 1)));
        match threshold.senses {
            Senses::Each => own,
            Senses::Coil | Senses::Mean => {
                later.fold(self.first_share * own, |sum, (share, volts)| sum + share * volts)
            }
            Senses::Least => later.fold(own, |least, (_, volts)| least.min(volts)),
        }
    }

    /// Whether an actor differs from this in a later phase.
    pub(crate) fn changes(&self, id: ActorId, on: bool) -> bool {
        self.live_phases().any(|phase| phase.switched.state().memory.on(id) != on)
    }

    /// Whether a condition holds in any phase.
    pub(crate) fn holds_once(&self, logic: &Logic) -> bool {
        self.first.state().holds(logic) || self.live_phases().any(|phase| phase.switched.state().holds(logic))
    }

    /// Whether a condition holds in every phase.
    pub(crate) fn holds_throughout(&self, logic: &Logic) -> bool {
        self.first.state().holds(logic) && self.live_phases().all(|phase| phase.switched.state().holds(logic))
    }

    /// The actors in each phase after the first.
    pub(crate) fn later_memories(&self) -> impl Iterator<Item = &Memory> {
        self.live_phases().map(|phase| &phase.switched.state().memory)
    }

    /// The voltages of all thresholds in each phase.
    pub(crate) fn threshold_volts(&self) -> Vec<Vec<f64>> {
        let of = |phase: &Switched| self.thresholds.iter().map(|threshold| phase.own_volts(threshold)).collect();
        std::iter::once(of(&self.first)).chain(self.live_phases().map(|phase| of(&phase.switched))).collect()
    }

    /// The networks of the phases, the first one first.
    pub(crate) fn each_network(&mut self, each: &mut dyn FnMut(&mut Network)) {
        each(self.first.network_mut());
        let live = self.live;
        self.later.iter_mut().filter(|_| live).for_each(|phase| each(phase.switched.network_mut()));
    }

    /// The phases of a solution; empty without pulses.
    pub(crate) fn phases(&mut self) -> Vec<Phase> {
        if !self.live {
            return vec![];
        }
        let phase = |share: f64, switched: &mut Switched| Phase {
            share: Share::new(share),
            volts: switched.volts(),
            memory: switched.state().memory.clone(),
        };
        let mut phases = vec![phase(self.first_share, &mut self.first)];
        phases.extend(self.later.iter_mut().map(|later| phase(later.share, &mut later.switched)));
        phases
    }

    /// The state, as it is in the first phase.
    pub(crate) fn state(&self) -> &State {
        self.first.state()
    }
}
