//! States and what they settle to.

use super::circuit::{ActorRule, Circuit};
use super::corner::Corner;
use super::ids::{ActorId, BranchId, InputId, NodeId, Position};
use super::logic::Logic;
use quantity::{Amps, Volts, Watts};

/// The position of every input, counted from 0, the one at rest.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Positions(pub Vec<Position>);

impl Positions {
    /// Every input at rest.
    pub fn at_rest(circuit: &Circuit) -> Self {
        Positions(vec![0; circuit.inputs.len()])
    }

    /// The position of an input.
    pub fn of(&self, input: InputId) -> Position {
        self.0[input.index()]
    }

    /// How many inputs are away from rest.
    pub fn away(&self) -> usize {
        self.0.iter().filter(|at| **at != 0).count()
    }

    /// With one input moved.
    pub fn with(mut self, input: InputId, position: Position) -> Self {
        self.0[input.index()] = position;
        self
    }

    /// Whether all that the spec asks of positions holds: what inputs need and what they exclude.
    pub fn allowed(&self, circuit: &Circuit) -> bool {
        circuit.inputs.iter().enumerate().all(|(i, input)| {
            self.0[i] == 0
                || (input.needs.holds(&|id| self.of(id), &|_| false)
                    && input.excludes.iter().all(|other| self.of(*other) == 0))
        })
    }

    /// With one input moved, and those that fall to rest because what they need has gone. `None` when the new position
    /// isn't allowed: it needs what isn't there, or something that it excludes is away from rest.
    pub fn moved(&self, circuit: &Circuit, input: InputId, position: Position) -> Option<Positions> {
        let mut next = self.clone().with(input, position);
        // Each round puts at least one more input to rest, so it ends.
        loop {
            let falls: Vec<usize> = (0..next.0.len())
                .filter(|&i| next.0[i] != 0 && !circuit.inputs[i].needs.holds(&|id| next.of(id), &|_| false))
                .collect();
            if falls.contains(&input.index()) {
                return None;
            }
            if falls.is_empty() {
                break;
            }
            falls.into_iter().for_each(|i| next.0[i] = 0);
        }
        next.allowed(circuit).then_some(next)
    }
}

/// What every actor has: whether it is on, and whether its trigger was on when it last looked; of a threshold instead,
/// whether it goes on and off with pulses.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Memory {
    /// A bit each: in the first half whether an actor is on, in the second whether its trigger was.
    pub words: Vec<u64>,
}

impl Memory {
    /// Every actor off, as before the battery is connected.
    pub fn empty(circuit: &Circuit) -> Self {
        Memory { words: vec![0; 2 * circuit.actors.len().div_ceil(64)] }
    }

    fn bit(&self, index: usize) -> bool {
        self.words[index / 64] >> (index % 64) & 1 == 1
    }

    fn put(&mut self, index: usize, value: bool) {
        let mask = 1 << (index % 64);
        if value { self.words[index / 64] |= mask } else { self.words[index / 64] &= !mask }
    }

    /// Whether the actor is on.
    pub fn on(&self, actor: ActorId) -> bool {
        self.bit(actor.index())
    }

    /// Whether the actor's trigger was on.
    pub fn was(&self, actor: ActorId) -> bool {
        self.bit(self.words.len() * 32 + actor.index())
    }

    /// Whether the actor is on, and whether its trigger was.
    pub fn place(&self, actor: ActorId) -> [bool; 2] {
        [self.on(actor), self.was(actor)]
    }

    /// Puts the actor where [`place`](Self::place) told.
    pub fn set_place(&mut self, actor: ActorId, [on, was]: [bool; 2]) {
        self.set_on(actor, on);
        self.set_was(actor, was);
    }

    /// Puts the actor on or off.
    pub fn set_on(&mut self, actor: ActorId, value: bool) {
        self.put(actor.index(), value);
    }

    /// Notes whether the actor's trigger was on.
    pub fn set_was(&mut self, actor: ActorId, value: bool) {
        self.put(self.words.len() * 32 + actor.index(), value);
    }
}

/// Where a circuit stands: what someone has done, and what it remembers.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct State {
    /// Of the inputs.
    pub positions: Positions,
    /// Of the actors.
    pub memory: Memory,
}

impl State {
    /// Before the battery is connected: every input at rest, every actor off.
    pub fn at_rest(circuit: &Circuit) -> Self {
        State { positions: Positions::at_rest(circuit), memory: Memory::empty(circuit) }
    }

    /// Whether a condition holds in it.
    pub fn holds(&self, logic: &Logic) -> bool {
        logic.holds(&|input| self.positions.of(input), &|actor| self.memory.on(actor))
    }

    /// Whether a condition holds and goes on doing so between pulses.
    fn lasts(&self, circuit: &Circuit, logic: &Logic) -> bool {
        let between = |id: ActorId| self.memory.on(id) ^ self.pulses(circuit, id);
        self.holds(logic) && logic.holds(&|input| self.positions.of(input), &between)
    }

    /// Whether an actor senses the pulses of a pulsed feed and goes on and off with them.
    pub fn pulses(&self, circuit: &Circuit, id: ActorId) -> bool {
        matches!(circuit.actors[id.index()].rule, ActorRule::Threshold { .. }) && self.memory.was(id)
    }

    /// Actors that time alone will still move: a hold that runs, a delay that waits, a pulse.
    pub fn pending(&self, circuit: &Circuit) -> Vec<ActorId> {
        (0..circuit.actors.len() as u32).map(ActorId).filter(|id| self.is_pending(circuit, *id)).collect()
    }

    fn is_pending(&self, circuit: &Circuit, id: ActorId) -> bool {
        match &circuit.actors[id.index()].rule {
            ActorRule::Hold { start } => self.memory.on(id) && !self.holds(start),
            ActorRule::Delay { start } => !self.memory.on(id) && self.lasts(circuit, start),
            ActorRule::Pulse { .. } => self.memory.on(id),
            _ => false,
        }
    }

    /// Lets the time of a pending actor run out.
    pub fn elapse(&mut self, actor: ActorId) {
        let on = self.memory.on(actor);
        self.memory.set_on(actor, !on);
    }
}

/// A settled state with every voltage and every current.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Where the circuit stands.
    pub state: State,
    /// At which corner.
    pub corner: Corner,
    pub volts: Vec<f64>,
    pub amps: Vec<f64>,
    pub ends: Vec<[u32; 2]>,
    /// The phases of pulses, none where no pulsed feed is on.
    pub phases: Vec<Phase>,
}

/// One phase of the pulses in a state.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Of the time.
    pub share: f64,
    pub volts: Vec<f64>,
    /// What senses each pulse stands here as it does in this phase.
    pub memory: Memory,
}

impl Solution {
    /// A node against the battery's negative.
    pub fn volts(&self, node: NodeId) -> Volts {
        Volts::new(self.volts[node.index()])
    }

    /// Current through a branch, counted from `from` to `to`.
    pub fn amps(&self, branch: BranchId) -> Amps {
        Amps::new(self.amps[branch.index()])
    }

    /// Voltage of a branch, `from` against `to`.
    pub fn across(&self, branch: BranchId) -> Volts {
        let [from, to] = self.ends[branch.index()];
        Volts::new(self.volts[from as usize] - self.volts[to as usize])
    }

    /// Whether a pulsed feed is on. Voltages and currents are then those of its on-time.
    pub fn has_pulses(&self) -> bool {
        !self.phases.is_empty()
    }

    /// A node against the battery's negative: the mean over pulses, where there are any.
    pub fn mean(&self, node: NodeId) -> Volts {
        let mean = self.phases.iter().map(|phase| phase.volts[node.index()] * phase.share).sum();
        if self.has_pulses() { Volts::new(mean) } else { self.volts(node) }
    }

    /// A node against the battery's negative after all pulsed feeds have gone off.
    pub fn between_pulses(&self, node: NodeId) -> Volts {
        Volts::new(self.phases.last().map_or(&self.volts, |phase| &phase.volts)[node.index()])
    }

    /// The states that the circuit goes through with each pulse, in which only what senses each differs: itself alone where
    /// there are none.
    pub fn in_turn(&self) -> Vec<State> {
        let positions = &self.state.positions;
        let phase = |phase: &Phase| State { positions: positions.clone(), memory: phase.memory.clone() };
        if self.has_pulses() { self.phases.iter().map(phase).collect() } else { vec![self.state.clone()] }
    }

    /// Power that a branch takes; negative where it gives.
    pub fn watts(&self, branch: BranchId) -> Watts {
        self.across(branch) * self.amps(branch)
    }

    /// Whether an actor is on.
    pub fn on(&self, actor: ActorId) -> bool {
        self.state.memory.on(actor)
    }

    /// Position of an input.
    pub fn position(&self, input: InputId) -> Position {
        self.state.positions.of(input)
    }
}

/// The circuit at one moment, its actors held where they are.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// Every voltage and every current.
    pub solution: Solution,
    /// What every actor would be if it moved now, one step on. The same as the solution's own memory when all has settled.
    pub wants: Memory,
}

/// What settling comes to.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// A fixed point.
    Settled(Box<Solution>),
    /// No fixed point.
    Chatter(Box<Chatter>),
    /// The solver gave up on this state; never silently.
    Unsolved(Box<Unsolved>),
}

impl Outcome {
    /// The fixed point, if there is one.
    pub fn settled(self) -> Option<Solution> {
        match self {
            Outcome::Settled(solution) => Some(*solution),
            _ => None,
        }
    }
}

/// Actors that move each other round and round.
#[derive(Debug, Clone, PartialEq)]
pub struct Chatter {
    /// Where the inputs were put, and what the actors were when that was done.
    pub started: State,
    /// The actors that take part.
    pub actors: Vec<ActorId>,
    /// One round of it, each step solved.
    pub round: Vec<Solution>,
    /// Where it comes to rest if the actors move one after the other instead of together. Not empty means a race: which
    /// of these it is depends on which moves first. Empty means real chatter, a buzzer.
    pub rests: Vec<Memory>,
}

/// A state that the solver could not bring to an end.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsolved {
    /// Where.
    pub state: State,
    /// At which corner.
    pub corner: Corner,
    /// Branches that found no piece of their law, or actors that still moved.
    pub branches: Vec<BranchId>,
    /// What was tried, for people.
    pub why: String,
}
