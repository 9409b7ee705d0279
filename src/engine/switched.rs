//! A network whose branches follow a state: which contacts are closed, which feeds are on.

use super::circuit_ref::CircuitRef;
use super::network::{Network, NoSolution};
use super::plan::{EliminationPlan, Lists};
use super::threshold::Threshold;
use circuit::{BranchId, Curve, Memory, NodeId, Senses, State, Variant};
use quantity::Volts;
use std::sync::Arc;

/// The branches to look at again when an input or an actor has moved.
pub(crate) struct Switches {
    by_input: Lists<u32>,
    by_actor: Lists<u32>,
}

impl Switches {
    pub(crate) fn new(circuit: &circuit::Circuit) -> Switches {
        let (mut by_input, mut by_actor) = (vec![], vec![]);
        for (k, branch) in circuit.branches.iter().enumerate() {
            branch.when.visit(&mut |i| by_input.push((i.0, k as u32)), &mut |a| by_actor.push((a.0, k as u32)));
        }
        Switches {
            by_input: Lists::new(circuit.inputs.len(), &by_input),
            by_actor: Lists::new(circuit.actors.len(), &by_actor),
        }
    }
}

/// A network with the state that its branches are in.
pub(crate) struct Switched<'c> {
    circuit: CircuitRef<'c>,
    switches: Arc<Switches>,
    network: Network,
    state: State,
    /// The variant of the circuit that it solves.
    variant: Variant,
    touched: Vec<u32>,
}

impl<'c> Switched<'c> {
    /// In the state at rest.
    pub(crate) fn new(
        circuit: CircuitRef<'c>,
        switches: Arc<Switches>,
        plan: Arc<EliminationPlan>,
        curves: Vec<Curve>,
    ) -> Self {
        let mut switched = Switched {
            network: Network::new(&circuit, plan, curves),
            state: State::at_rest(&circuit),
            variant: Variant::NONE,
            touched: vec![],
            switches,
            circuit,
        };
        (0..switched.circuit.branches.len()).for_each(|k| switched.look(k));
        switched
    }

    pub(crate) fn network(&self) -> &Network {
        &self.network
    }

    pub(crate) fn network_mut(&mut self) -> &mut Network {
        &mut self.network
    }

    pub(crate) fn state(&self) -> &State {
        &self.state
    }

    /// Solves a variant of the circuit from now on, instead of the one before.
    pub(crate) fn set_variant(&mut self, variant: &Variant) {
        let before = std::mem::replace(&mut self.variant, variant.clone());
        for k in self.network.set_curves(&self.circuit, variant, &before) {
            self.network.take_up(k, self.is_there(k));
        }
    }

    /// Forgets the last solution.
    pub(crate) fn start_afresh(&mut self) {
        self.network.forget();
        self.network.set_stale();
    }

    /// Puts inputs and actors where `start` has them.
    pub(crate) fn go_to(&mut self, start: &State) {
        for (i, position) in start.positions.0.iter().enumerate() {
            if self.state.positions.0[i] != *position {
                self.state.positions.0[i] = *position;
                self.touched.extend_from_slice(self.switches.by_input.of(i));
            }
        }
        self.set_memory(&start.memory);
    }

    /// Puts the actors where `memory` has them.
    pub(crate) fn set_memory(&mut self, memory: &Memory) {
        let (touched, switches) = (&mut self.touched, &self.switches);
        memory.each_moved(&self.state.memory, |actor| touched.extend_from_slice(switches.by_actor.of(actor.index())));
        self.state.memory.copy_from(memory);
        let mut touched = std::mem::take(&mut self.touched);
        touched.iter().for_each(|k| self.look(*k as usize));
        touched.clear();
        self.touched = touched;
    }

    fn look(&mut self, k: usize) {
        self.network.set_there(k, self.is_there(k));
    }

    fn is_there(&self, k: usize) -> bool {
        let forced = if self.variant.is_none() { None } else { self.variant.presence(BranchId(k as u32)) };
        forced.unwrap_or_else(|| self.state.holds(&self.circuit.branches[k].when))
    }

    /// Solves with every actor held.
    pub(crate) fn solve(&mut self) -> Result<(), NoSolution> {
        self.network.solve()
    }

    /// Solves a later phase of pulses: what sees each pulse moves within it, everything else is held as in `state`.
    pub(crate) fn solve_phase(&mut self, state: &State, thresholds: &[Threshold]) -> Result<(), NoSolution> {
        self.go_to(state);
        let mut next = state.memory.clone();
        // Each may wait for another; more rounds than there are thresholds mean that they move each other endlessly.
        for _ in 0..=thresholds.len() {
            self.solve()?;
            next.copy_from(&self.state.memory);
            for threshold in thresholds.iter().filter(|threshold| threshold.senses == Senses::Each) {
                let was_on = self.state.memory.on(threshold.id());
                let on = threshold.decides(self.own_volts(threshold), was_on) && self.is_powered(threshold);
                next.set_on(threshold.id(), on);
            }
            if next == self.state.memory {
                break;
            }
            self.set_memory(&next);
        }
        Ok(())
    }

    /// The voltage of a threshold in this phase.
    #[inline]
    pub(crate) fn own_volts(&self, threshold: &Threshold) -> f64 {
        threshold.volts(self.network.volts())
    }

    /// Whether the actor of a threshold has its supply.
    pub(crate) fn is_powered(&self, threshold: &Threshold) -> bool {
        threshold.is_always_powered() || self.state.holds(&self.circuit.actors[threshold.id().index()].powered)
    }

    /// Calls `each` with the voltage of every node.
    pub(crate) fn each_volts(&mut self, each: &mut dyn FnMut(NodeId, Volts)) {
        self.network.finish();
        let plan = self.network.plan();
        let (n, columns) = (plan.columns, self.network.volts());
        for (node, column) in plan.column_of.iter().enumerate() {
            each(NodeId(node as u32), Volts::new(columns[(*column as usize).min(n)]));
        }
    }

    /// The voltages of all nodes.
    pub(crate) fn volts(&mut self) -> Vec<Volts> {
        let mut all = Vec::with_capacity(self.circuit.nodes.len());
        self.each_volts(&mut |_, volts| all.push(volts));
        all
    }
}
