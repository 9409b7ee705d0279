//! States, and the outcome of solving them.

use super::circuit::{ActorRule, Circuit};
use super::corner::Corner;
use super::ids::{ActorId, BranchId, InputId, NodeId, Position};
use super::logic::Logic;
use quantity::{Amps, Share, Volts, Watts};
use std::sync::Arc;

/// The position of every input, counted from 0, the one at rest.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Positions(pub Vec<Position>);

impl Positions {
    /// Every input at rest.
    pub fn at_rest(circuit: &Circuit) -> Self {
        Positions(vec![0; circuit.inputs.len()])
    }

    /// The position of an input.
    #[inline]
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

    /// Whether every input has the inputs it needs, and no two inputs that exclude each other are away from rest.
    pub fn allowed(&self, circuit: &Circuit) -> bool {
        circuit.inputs.iter().enumerate().all(|(i, input)| {
            self.0[i] == 0
                || (input.needs.holds(&|id| self.of(id), &|_| false)
                    && input.excludes.iter().all(|other| self.of(*other) == 0))
        })
    }

    /// With one input moved, and the inputs at rest that lose what they need by it. `None` if the new position isn't
    /// allowed: the input lacks an input it needs, or an input it excludes is away from rest.
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

/// Two bits of every actor: whether it is on, and whether its trigger was on when it moved last. The second bit of a
/// threshold says whether it goes on and off with pulses.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Memory {
    /// A bit each: in the first half whether an actor is on, in the second whether its trigger was.
    pub(crate) words: Vec<u64>,
}

impl Memory {
    /// Every actor off, as before the battery is connected.
    pub fn empty(circuit: &Circuit) -> Self {
        Memory { words: vec![0; 2 * circuit.actors.len().div_ceil(64)] }
    }

    /// Its bits, to compare and to store: those of two memories of one circuit have the same length.
    #[inline]
    pub fn words(&self) -> &[u64] {
        &self.words
    }

    /// Becomes the same as another memory of the same circuit.
    #[inline]
    pub fn copy_from(&mut self, other: &Memory) {
        self.words.copy_from_slice(&other.words);
    }

    /// Calls `each` for every actor that is on in one of two memories and off in the other, in order.
    #[inline]
    pub fn each_moved(&self, other: &Memory, mut each: impl FnMut(ActorId)) {
        for word in 0..self.words.len() / 2 {
            let mut moved = self.words[word] ^ other.words[word];
            while moved != 0 {
                each(ActorId((word * 64) as u32 + moved.trailing_zeros()));
                moved &= moved - 1;
            }
        }
    }

    #[inline]
    fn bit(&self, index: usize) -> bool {
        self.words[index / 64] >> (index % 64) & 1 == 1
    }

    #[inline]
    fn put(&mut self, index: usize, value: bool) {
        let mask = 1 << (index % 64);
        if value { self.words[index / 64] |= mask } else { self.words[index / 64] &= !mask }
    }

    /// Whether the actor is on.
    #[inline]
    pub fn on(&self, actor: ActorId) -> bool {
        self.bit(actor.index())
    }

    /// Whether the actor's trigger was on.
    #[inline]
    pub fn was(&self, actor: ActorId) -> bool {
        self.bit(self.words.len() * 32 + actor.index())
    }

    /// Both bits of the actor: whether it is on, and whether its trigger was.
    pub fn place(&self, actor: ActorId) -> [bool; 2] {
        [self.on(actor), self.was(actor)]
    }

    /// Sets both bits of the actor, as [`place`](Self::place) returns them.
    pub fn set_place(&mut self, actor: ActorId, [on, was]: [bool; 2]) {
        self.set_on(actor, on);
        self.set_was(actor, was);
    }

    /// Puts the actor on or off.
    #[inline]
    pub fn set_on(&mut self, actor: ActorId, value: bool) {
        self.put(actor.index(), value);
    }

    /// Records whether the actor's trigger was on.
    #[inline]
    pub fn set_was(&mut self, actor: ActorId, value: bool) {
        self.put(self.words.len() * 32 + actor.index(), value);
    }
}

/// The state of a circuit: the positions of its inputs, and what its actors remember.
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
    #[inline]
    pub fn holds(&self, logic: &Logic) -> bool {
        logic.holds(&|input| self.positions.of(input), &|actor| self.memory.on(actor))
    }

    /// Whether a condition holds, between pulses as well.
    fn lasts(&self, circuit: &Circuit, logic: &Logic) -> bool {
        let between = |id: ActorId| self.memory.on(id) ^ self.pulses(circuit, id);
        self.holds(logic) && logic.holds(&|input| self.positions.of(input), &between)
    }

    /// Whether an actor senses the pulses of a pulsed feed and goes on and off with them.
    pub fn pulses(&self, circuit: &Circuit, id: ActorId) -> bool {
        matches!(circuit.actors[id.index()].rule, ActorRule::Threshold { .. }) && self.memory.was(id)
    }

    /// Actors that time alone still moves: a hold that runs, a delay that waits, a pulse.
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
    /// The state.
    pub state: State,
    /// The corner.
    pub corner: Corner,
    volts: Vec<Volts>,
    amps: Vec<Amps>,
    ends: Arc<[[NodeId; 2]]>,
    /// The phases of pulses; empty if no pulsed feed is on.
    phases: Vec<Phase>,
}

/// One phase of the pulses in a state.
#[derive(Debug, Clone, PartialEq)]
pub struct Phase {
    /// Its share of the time.
    pub share: Share,
    /// Voltages by node, in this phase.
    pub volts: Vec<Volts>,
    /// Memory in this phase: only actors that follow each pulse differ from phase to phase.
    pub memory: Memory,
}

impl Solution {
    /// Without voltages and currents yet.
    pub fn empty(circuit: &Circuit, corner: Corner, state: State) -> Solution {
        Solution {
            state,
            corner,
            volts: vec![Volts::new(0.0); circuit.nodes.len()],
            amps: vec![Amps::new(0.0); circuit.branches.len()],
            ends: circuit.branches.iter().map(|branch| [branch.from, branch.to]).collect(),
            phases: vec![],
        }
    }

    /// Sets the voltage of a node.
    #[inline]
    pub fn set_volts(&mut self, node: NodeId, volts: Volts) {
        self.volts[node.index()] = volts;
    }

    /// Sets the current of a branch.
    #[inline]
    pub fn set_amps(&mut self, branch: BranchId, amps: Amps) {
        self.amps[branch.index()] = amps;
    }

    /// Sets the currents of all branches.
    #[inline]
    pub fn set_each_amps(&mut self, amps: impl Iterator<Item = Amps>) {
        self.amps.clear();
        self.amps.extend(amps);
    }

    /// Sets the phases of pulses, the first one being that of the voltages and currents; none without pulses.
    pub fn set_phases(&mut self, phases: impl IntoIterator<Item = Phase>) {
        self.phases.clear();
        self.phases.extend(phases);
    }

    /// The voltages of all nodes.
    pub fn each_volts(&self) -> &[Volts] {
        &self.volts
    }

    /// The currents of all branches.
    pub fn each_amps(&self) -> &[Amps] {
        &self.amps
    }

    /// A node against the battery's negative.
    #[inline]
    pub fn volts(&self, node: NodeId) -> Volts {
        self.volts[node.index()]
    }

    /// Current through a branch, counted from `from` to `to`.
    #[inline]
    pub fn amps(&self, branch: BranchId) -> Amps {
        self.amps[branch.index()]
    }

    /// Voltage of a branch, `from` against `to`.
    #[inline]
    pub fn across(&self, branch: BranchId) -> Volts {
        let [from, to] = self.ends[branch.index()];
        self.volts(from) - self.volts(to)
    }

    /// Whether a pulsed feed is on. Voltages and currents are then those of its on-time.
    pub fn has_pulses(&self) -> bool {
        !self.phases.is_empty()
    }

    /// A node against the battery's negative: the mean over pulses, if there are any.
    pub fn mean(&self, node: NodeId) -> Volts {
        let of = |phase: &Phase| phase.volts[node.index()].value() * phase.share.value();
        let mean = self.phases.iter().map(of).sum();
        if self.has_pulses() { Volts::new(mean) } else { self.volts(node) }
    }

    /// A node against the battery's negative after all pulsed feeds have gone off.
    pub fn between_pulses(&self, node: NodeId) -> Volts {
        self.phases.last().map_or(&self.volts, |phase| &phase.volts)[node.index()]
    }

    /// The states that the circuit goes through with each pulse, in which only actors that follow each pulse differ;
    /// its one state if there are no pulses.
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
    /// Memory one step later, if every actor moved now. It is that of the solution if the state has settled.
    pub wants: Memory,
}

/// The outcome of settling a state.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// It settles to this.
    Settled(Box<Solution>),
    /// Its actors do not settle.
    Chatter(Box<Chatter>),
    /// The engine found no solution; this is always reported.
    Unsolved(Box<Unsolved>),
}

impl Outcome {
    /// The solution, if the state settles.
    pub fn settled(self) -> Option<Solution> {
        match self {
            Outcome::Settled(solution) => Some(*solution),
            _ => None,
        }
    }
}

/// Actors that move each other endlessly.
#[derive(Debug, Clone, PartialEq)]
pub struct Chatter {
    /// The state from which they started.
    pub started: State,
    /// The actors that take part.
    pub actors: Vec<ActorId>,
    /// One round, each step solved.
    pub round: Vec<Solution>,
    /// Where the actors settle if they move one after the other instead of together. Several mean a race: which of them
    /// it is depends on the actor that moves first. Empty means real chatter, a buzzer.
    pub rests: Vec<Memory>,
}

impl Chatter {
    /// Whether it goes on without end, in whatever order the actors move.
    pub fn is_endless(&self) -> bool {
        self.rests.is_empty()
    }
}

/// A state that the engine could not solve.
#[derive(Debug, Clone, PartialEq)]
pub struct Unsolved {
    /// The state.
    pub state: State,
    /// The corner.
    pub corner: Corner,
    /// Branches that found no piece of their law, or actors that still moved.
    pub branches: Vec<BranchId>,
    /// The reason, for people.
    pub why: String,
}
