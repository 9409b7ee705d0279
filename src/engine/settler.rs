//! From a state to a settled one: solve, let every actor that has reason to move do so, solve again.

use super::circuit_ref::CircuitRef;
use super::network::{Network, NoSolution};
use super::plan::EliminationPlan;
use super::pulses::Pulses;
use super::threshold::Threshold;
use circuit::{ActorId, ActorRule, BranchId, Circuit, Corner, Logic, Memory, Senses, Solution, State, Variant};
use quantity::Amps;
use std::sync::Arc;

/// Steps of actors after which settling is given up.
const ACTOR_STEPS: usize = 2000;

/// How a run ended.
#[derive(Debug, PartialEq)]
pub enum Ending {
    /// No actor has reason to move.
    Settled,
    /// The observer ended it.
    Met,
    /// The actors repeat the same positions endlessly.
    Round,
    /// These branches found no piece of their law, or the actors kept moving; with the reason.
    Unsolved(Vec<BranchId>, &'static str),
}

/// Why a state has no solution.
pub(crate) const NO_PIECE: &str = "no piece of every law fits together";

/// Looks on while a state settles, step by step.
pub trait Observer {
    /// The state is solved, and the actors' [next positions](Settler::next) are known.
    fn stepped(&mut self, _settler: &mut Settler) {}

    /// Whether the run goes on from this state; if not, it ends as [`Ending::Met`].
    fn goes_on(&mut self, _state: &State) -> bool {
        true
    }
}

/// Nobody looks on.
pub struct Unobserved;

impl Observer for Unobserved {}

/// Settles states of one circuit at one corner: relays, triggers, timers and memory around a network. Each run starts
/// from the solution of the last, which is fastest when few branches change.
pub struct Settler<'c> {
    circuit: CircuitRef<'c>,
    corner: Corner,
    pulses: Pulses<'c>,
    /// Where the actors go next.
    next: Memory,
    /// Positions of the actors in this run, one after the other.
    seen: Vec<u64>,
    variant: Variant,
    /// A solution without values yet, once there is one: a copy costs less than a new one.
    blank: Option<Solution>,
}

impl<'c> Settler<'c> {
    /// With the elimination plan of the circuit.
    pub fn new(circuit: impl Into<CircuitRef<'c>>, plan: &Arc<EliminationPlan>, corner: Corner) -> Self {
        let circuit = circuit.into();
        Settler {
            corner,
            pulses: Pulses::new(&circuit, plan, corner),
            next: Memory::empty(&circuit),
            seen: vec![],
            variant: Variant::NONE,
            blank: None,
            circuit,
        }
    }

    /// The circuit.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// The circuit, as a reference that outlives the borrow of the settler.
    pub fn circuit_ref(&self) -> CircuitRef<'c> {
        self.circuit.clone()
    }

    /// The corner.
    pub fn corner(&self) -> Corner {
        self.corner
    }

    /// The state that it is in.
    pub fn state(&self) -> &State {
        self.pulses.state()
    }

    /// Where the actors go next.
    pub fn next(&self) -> &Memory {
        &self.next
    }

    /// The thresholds, at the corner.
    pub fn thresholds(&self) -> &[Threshold] {
        self.pulses.thresholds()
    }

    /// Whether the actor of a threshold has its supply.
    pub fn is_powered(&self, threshold: &Threshold) -> bool {
        self.pulses.first().is_powered(threshold)
    }

    /// The voltage that a threshold follows, from these voltages in the phases of pulses, counted from 0.
    pub fn sees(&self, threshold: &Threshold, volts: &dyn Fn(usize) -> f64) -> f64 {
        self.pulses.sees(threshold, volts)
    }

    /// The voltages of all thresholds in each phase of pulses.
    pub fn threshold_volts(&self) -> Vec<Vec<f64>> {
        self.pulses.threshold_volts()
    }

    /// The actors in each phase of pulses after the first.
    pub fn later_memories(&self) -> impl Iterator<Item = &Memory> {
        self.pulses.later_memories()
    }

    /// The network, in the first phase of pulses.
    pub fn network(&self) -> &Network {
        self.pulses.first().network()
    }

    /// The network, in the first phase of pulses.
    pub fn network_mut(&mut self) -> &mut Network {
        self.pulses.first_mut().network_mut()
    }

    /// The networks of all phases of pulses, the first one first.
    pub fn each_network(&mut self, each: &mut dyn FnMut(&mut Network)) {
        self.pulses.each_network(each);
    }

    /// Solves a variant of the circuit from now on, instead of the one before. Only what the two change is eliminated
    /// again.
    ///
    /// # Panics
    /// When the variant [needs a circuit of its own](Variant::is_in_place).
    pub fn set_variant(&mut self, variant: &Variant) {
        if *variant == self.variant {
            return;
        }
        assert!(variant.is_in_place(&self.circuit), "a variant that needs a circuit of its own");
        self.variant = variant.clone();
        self.pulses.set_variant(variant);
    }

    /// Forgets the last solution. Answers then don't depend on the questions before.
    pub fn start_afresh(&mut self) {
        self.pulses.start_afresh();
    }

    /// Puts inputs and actors where `start` has them.
    pub fn go_to(&mut self, start: &State) {
        self.pulses.first_mut().go_to(start);
    }

    /// Solves with every actor held.
    ///
    /// # Errors
    /// When no piece of every law fits together.
    pub fn solve(&mut self) -> Result<(), NoSolution> {
        self.pulses.solve()
    }

    /// Settles from `start`: the inputs are where they are, the actors move from where they are until none has reason
    /// to.
    pub fn run(&mut self, start: &State) -> Ending {
        self.run_observed(start, &mut Unobserved)
    }

    /// Settles from `start` while an observer looks on.
    pub fn run_observed(&mut self, start: &State, observer: &mut dyn Observer) -> Ending {
        self.go_to(start);
        self.follow(Pulses::solve, observer)
    }

    /// Settles with every source dead. Then there is no voltage anywhere, so there is nothing to solve.
    pub fn run_dark(&mut self, start: &State) -> Ending {
        self.go_to(start);
        self.pulses.go_dark();
        let ending = self.follow(|_| Ok(()), &mut Unobserved);
        self.network_mut().set_stale();
        ending
    }

    /// Lets the actors move, one step after the other, with the voltages that `solve` finds.
    fn follow(&mut self, solve: fn(&mut Pulses<'c>) -> Result<(), NoSolution>, observer: &mut dyn Observer) -> Ending {
        self.seen.clear();
        for _ in 0..ACTOR_STEPS {
            if let Err(NoSolution(branches)) = solve(&mut self.pulses) {
                return Ending::Unsolved(branches, NO_PIECE);
            }
            self.step();
            observer.stepped(self);
            if self.next == self.state().memory {
                return Ending::Settled;
            }
            let length = self.next.words().len();
            if self.seen.chunks(length).any(|words| words == self.next.words()) {
                return Ending::Round;
            }
            self.seen.extend_from_slice(self.pulses.state().memory.words());
            self.take_next();
            if !observer.goes_on(self.state()) {
                return Ending::Met;
            }
        }
        Ending::Unsolved(vec![], "actors kept moving without coming round")
    }

    /// Moves the actors to their next positions.
    pub(crate) fn take_next(&mut self) {
        self.pulses.first_mut().set_memory(&self.next);
    }

    /// Finds where every actor goes next, with the voltages and the actors as they are.
    pub(crate) fn step(&mut self) {
        let (pulses, next) = (&self.pulses, &mut self.next);
        let state = pulses.state();
        next.copy_from(&state.memory);
        for threshold in pulses.thresholds() {
            let id = threshold.id();
            let was_on = state.memory.on(id);
            let on = threshold.decides(pulses.seen_volts(threshold), was_on) && pulses.first().is_powered(threshold);
            next.set_on(id, on);
            next.set_was(id, threshold.senses == Senses::Each && pulses.changes(id, on));
        }
        if pulses.thresholds().len() == self.circuit.actors.len() {
            return;
        }
        for (i, actor) in self.circuit.actors.iter().enumerate() {
            let id = ActorId(i as u32);
            if !matches!(actor.rule, ActorRule::Threshold { .. }) {
                let (on, was) =
                    if state.holds(&actor.powered) { moved(pulses, id, &actor.rule) } else { (false, false) };
                next.set_on(id, on);
                next.set_was(id, was);
            }
        }
    }

    /// The solution of the state that it is in.
    pub fn solution(&mut self) -> Solution {
        let state = self.pulses.state();
        let blank = || Solution::empty(&self.circuit, self.corner, state.clone());
        let mut solution = self.blank.get_or_insert_with(blank).clone();
        self.solution_into(&mut solution);
        solution
    }

    /// The solution of the state that it is in, in place of another solution of the same circuit.
    pub fn solution_into(&mut self, solution: &mut Solution) {
        solution.state.clone_from(self.state());
        solution.corner = self.corner;
        self.pulses.first_mut().each_volts(&mut |node, volts| solution.set_volts(node, volts));
        solution.set_each_amps(self.network().each_amps().map(Amps::new));
        solution.set_phases(self.pulses.phases());
    }
}

/// Whether an actor with memory is on next, and whether its trigger is.
fn moved(pulses: &Pulses, id: ActorId, rule: &ActorRule) -> (bool, bool) {
    let (on, was) = (pulses.state().memory.on(id), pulses.state().memory.was(id));
    // A pulse is enough to start or to set; a trigger that has to last must hold between pulses as well.
    let comes = |logic: &Logic| pulses.holds_once(logic);
    match rule {
        ActorRule::Threshold { .. } => (on, false),
        ActorRule::Latch { set, reset } => (!comes(reset) && (on || comes(set)), false),
        ActorRule::Toggle { start } => (on ^ (comes(start) && !was), comes(start)),
        ActorRule::Hold { start } => (on || comes(start), false),
        ActorRule::Delay { start } => (on && pulses.holds_throughout(start), false),
        ActorRule::Pulse { start } => (on || (comes(start) && !was), comes(start)),
    }
}
