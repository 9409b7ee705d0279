//! Every state that can be reached from rest, one change at a time.

use super::circuit::{ActorId, BranchId, Circuit, InputId, Logic, NodeId};
use super::corner::Corner;
use super::settle::Solver;
use super::state::{Chatter, Memory, Outcome, Positions, Solution, State, Unsolved};
use std::collections::BTreeMap;

/// A state of an [`Exploration`], by its place in the order found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
struct StateId(u32);

/// One change, after which everything settles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Move {
    /// The battery is connected, every input at rest.
    Connect,
    /// An input goes to a position. Inputs that need its old position fall to rest with it.
    Input(InputId, u8),
    /// The time of a pending hold, delay or pulse runs out.
    Elapsed(ActorId),
    /// The supply goes and comes back, the inputs staying where they are.
    PowerLoss,
}

/// A reachable state.
#[derive(Debug, Clone, PartialEq)]
struct Reached {
    state: State,
    /// The state before it on a shortest way from rest; none for the first.
    from: Option<StateId>,
    by: Move,
}

/// One combination of positions in which the circuit stands differently, depending on how it got there.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Where the inputs are.
    pub positions: Positions,
    /// The states, at least two.
    pub states: Vec<State>,
    /// The actors that differ between them although no latch, toggle or timer does. Empty: the memory is declared.
    pub undeclared: Vec<ActorId>,
}

/// Combinations of positions that the spec excludes, by what excludes them.
#[derive(Debug, Clone, PartialEq)]
pub struct Excluded {
    /// The input that may not be away from rest there.
    pub input: InputId,
    /// The input that excludes it; none where it is what the input needs.
    pub by: Option<InputId>,
}

/// Every state that can be reached from rest at one corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Exploration {
    /// At which corner.
    pub corner: Corner,
    /// What doesn't come to rest, or where a race decides: one for each round.
    pub chatter: Vec<Chatter>,
    /// States that could not be solved.
    pub unsolved: Vec<Unsolved>,
    /// Combinations of positions with more than one state.
    pub history: Vec<History>,
    /// What the spec excludes.
    pub excluded: Vec<Excluded>,
    /// Each after the one it is reached from; the first is every input at rest.
    states: Vec<Reached>,
    known: BTreeMap<State, StateId>,
}

struct Explorer<'c> {
    circuit: &'c Circuit,
    solver: Solver<'c>,
    exploration: Exploration,
}

/// Finds every state that can be reached from every input at rest, one change at a time.
pub fn explore(circuit: &Circuit, corner: Corner) -> Exploration {
    let exploration = Exploration {
        corner,
        states: vec![],
        known: BTreeMap::new(),
        chatter: vec![],
        unsolved: vec![],
        history: vec![],
        excluded: excluded(circuit),
    };
    let mut explorer = Explorer { circuit, solver: Solver::new(circuit, corner), exploration };
    explorer.settle(State::at_rest(circuit), None, Move::Connect);
    let mut next = 0;
    while next < explorer.exploration.states.len() {
        explorer.leave(StateId(next as u32));
        next += 1;
    }
    explorer.exploration.history = explorer.history();
    explorer.exploration
}

fn excluded(circuit: &Circuit) -> Vec<Excluded> {
    let mut all = vec![];
    for (i, input) in circuit.inputs.iter().enumerate() {
        let id = InputId(i as u32);
        if input.needs != Logic::Always {
            all.push(Excluded { input: id, by: None });
        }
        all.extend(input.excludes.iter().map(|other| Excluded { input: id, by: Some(*other) }));
    }
    all
}

impl Explorer<'_> {
    /// All changes out of one state.
    fn leave(&mut self, from: StateId) {
        let state = self.exploration.states[from.0 as usize].state.clone();
        for (i, input) in self.circuit.inputs.iter().enumerate() {
            let id = InputId(i as u32);
            for position in (0..input.positions.len() as u8).filter(|p| *p != state.positions.of(id)) {
                if let Some(positions) = state.positions.moved(self.circuit, id, position) {
                    let start = State { positions, memory: state.memory.clone() };
                    self.settle(start, Some(from), Move::Input(id, position));
                }
            }
        }
        for id in state.pending(self.circuit) {
            let mut start = state.clone();
            start.elapse(id);
            self.settle(start, Some(from), Move::Elapsed(id));
        }
    }

    fn settle(&mut self, start: State, from: Option<StateId>, by: Move) {
        match self.solver.settle(&start) {
            Outcome::Settled(solution) => self.reach(solution.state, from, by),
            Outcome::Unsolved(unsolved) => {
                if !self.exploration.unsolved.iter().any(|one| one.state == unsolved.state) {
                    self.exploration.unsolved.push(*unsolved);
                }
            }
            Outcome::Chatter(chatter) => {
                // Whatever position the actors are caught in when the next change comes.
                let positions = &chatter.started.positions;
                let caught: Vec<Memory> = match chatter.rests.is_empty() {
                    true => chatter.round.iter().map(|one| one.state.memory.clone()).collect(),
                    false => chatter.rests.clone(),
                };
                for memory in caught {
                    self.reach(State { positions: positions.clone(), memory }, from, by);
                }
                let same = |one: &Chatter| {
                    one.started.positions == *positions && one.round.iter().any(|s| s.state == chatter.round[0].state)
                };
                if !self.exploration.chatter.iter().any(same) {
                    self.exploration.chatter.push(*chatter);
                }
            }
        }
    }

    fn reach(&mut self, state: State, from: Option<StateId>, by: Move) {
        if !self.exploration.known.contains_key(&state) {
            let id = StateId(self.exploration.states.len() as u32);
            self.exploration.known.insert(state.clone(), id);
            self.exploration.states.push(Reached { state, from, by });
        }
    }

    /// Groups states by positions, and tells meant memory from the other.
    fn history(&self) -> Vec<History> {
        let mut groups: BTreeMap<&Positions, Vec<StateId>> = BTreeMap::new();
        for (state, id) in &self.exploration.known {
            groups.entry(&state.positions).or_default().push(*id);
        }
        groups.retain(|_, states| states.len() > 1);
        let each = groups.into_iter();
        each.map(|(positions, states)| History {
            positions: positions.clone(),
            undeclared: self.undeclared(&states),
            states: states.iter().map(|id| self.exploration.states[id.0 as usize].state.clone()).collect(),
        })
        .collect()
    }

    /// Actors that differ between states whose declared memory is the same.
    fn undeclared(&self, states: &[StateId]) -> Vec<ActorId> {
        let memory = |id: &StateId| &self.exploration.states[id.0 as usize].state.memory;
        let actors = || (0..self.circuit.actors.len() as u32).map(ActorId);
        let declared = |id: &ActorId| self.circuit.actors[id.index()].rule.is_memory();
        let meant = |state: &StateId| -> Vec<(bool, bool)> {
            actors().filter(declared).map(|a| (memory(state).on(a), memory(state).was(a))).collect()
        };
        let mut first_with: BTreeMap<Vec<(bool, bool)>, StateId> = BTreeMap::new();
        let mut differ = vec![false; self.circuit.actors.len()];
        for state in states {
            let first = *first_with.entry(meant(state)).or_insert(*state);
            actors().for_each(|a| differ[a.index()] |= memory(&first).on(a) != memory(state).on(a));
        }
        actors().filter(|a| differ[a.index()]).collect()
    }
}

/// What a question is about, for [`Exploration::visit_about`].
#[derive(Debug, Clone, Default)]
pub struct About {
    /// Inputs whose positions the question names.
    pub inputs: Vec<InputId>,
    /// Actors that it asks whether they are on.
    pub actors: Vec<ActorId>,
    /// Nodes whose voltage it asks for.
    pub nodes: Vec<NodeId>,
    /// Branches whose current or voltage it asks for.
    pub branches: Vec<BranchId>,
}

impl Exploration {
    /// How many states can be reached.
    pub fn count(&self) -> u128 {
        self.states.len() as u128
    }

    /// Every input at rest, settled.
    pub fn first(&self) -> &State {
        &self.states[0].state
    }

    /// Shows solved, reachable states of the whole circuit in a steady order.
    ///
    /// Where the circuit doesn't split into parts these are all of them. Where it does, each part is shown in all of its
    /// own states, with the rest of the circuit at its least and at its greatest draw: so whatever is asked of one node,
    /// branch or actor, its worst is among what is shown. A question about several at once goes through
    /// [`visit_about`](Self::visit_about).
    pub fn visit(&self, circuit: &Circuit, each: &mut dyn FnMut(&Solution)) {
        let mut solver = Solver::new(circuit, self.corner);
        for reached in &self.states {
            if let Outcome::Settled(solution) = solver.settle(&reached.state) {
                each(&solution);
            }
        }
    }

    /// Like [`visit`](Self::visit), for a question about several things at once: every combination of states that the
    /// parts with these things in them can be in together is shown.
    pub fn visit_about(&self, circuit: &Circuit, about: &About, each: &mut dyn FnMut(&Solution)) {
        let _ = about; // One part: it has everything.
        self.visit(circuit, each);
    }

    /// A shortest way from rest to a reachable state: the changes, in order, each after all has settled. Empty for the
    /// first state; `None` if it can't be reached.
    pub fn way_to(&self, state: &State) -> Option<Vec<Move>> {
        let mut moves = vec![];
        let mut at = &self.states[self.known.get(state)?.0 as usize];
        while let Some(from) = at.from {
            moves.push(at.by);
            at = &self.states[from.0 as usize];
        }
        moves.reverse();
        Some(moves)
    }
}
