//! What a press, a key-off and a power loss leave behind.

use super::exploration::Exploration;
use circuit::{ActorId, Circuit, InputId, Memory, Position, State};
use engine::{Ending, Solver};
use std::collections::BTreeSet;

/// Something that happens and is over again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Event {
    /// A momentary input is pressed to a position and let go.
    Press(InputId, Position),
    /// The key, or what acts as one, goes to rest.
    KeyOff(InputId),
    /// The supply goes and comes back.
    PowerLoss,
}

/// What an event leaves otherwise than it was, or than it would be without a past.
#[derive(Debug, Clone, PartialEq)]
pub struct Leftover {
    /// What happened.
    pub event: Event,
    /// Before it.
    pub before: State,
    /// After it.
    pub after: State,
    /// Actors that differ: after a press or a power loss from what they were before, after a key-off from what they would
    /// be if the battery had only just been connected.
    pub actors: Vec<ActorId>,
}

impl Exploration {
    /// What presses, key-offs of `keys` and power losses leave behind, once for each event and set of actors. Actors that
    /// only tell whether something works, and follow from the voltages alone, are left out by differing nowhere.
    pub fn leftovers(&self, circuit: &Circuit, keys: &[InputId]) -> Vec<Leftover> {
        let mut finder =
            Finder { circuit, solver: Solver::new(circuit, self.corner), found: vec![], seen: BTreeSet::new() };
        let mut states = vec![];
        self.visit(circuit, &mut |solution| states.push(solution.state.clone()));
        for state in &states {
            finder.presses(state);
            finder.key_offs(state, keys);
            if let Some(after) = finder.after_power_loss(state) {
                let actors = differing(circuit, &state.memory, &after.memory);
                finder.note(Event::PowerLoss, state, after, actors);
            }
        }
        finder.found
    }
}

struct Finder<'c> {
    circuit: &'c Circuit,
    solver: Solver<'c>,
    found: Vec<Leftover>,
    seen: BTreeSet<(Event, Vec<ActorId>)>,
}

fn differing(circuit: &Circuit, one: &Memory, other: &Memory) -> Vec<ActorId> {
    (0..circuit.actors.len() as u32).map(ActorId).filter(|id| one.on(*id) != other.on(*id)).collect()
}

impl Finder<'_> {
    fn moved(&mut self, state: &State, input: InputId, position: Position) -> Option<State> {
        let positions = state.positions.moved(self.circuit, input, position)?;
        Some(self.solver.settle(&State { positions, memory: state.memory.clone() }).settled()?.state)
    }

    fn after_power_loss(&mut self, state: &State) -> Option<State> {
        let lost = (self.solver.run_dark(state) == Ending::Settled).then(|| self.solver.state.clone())?;
        Some(self.solver.settle(&lost).settled()?.state)
    }

    fn presses(&mut self, state: &State) {
        for (i, input) in self.circuit.inputs.iter().enumerate().filter(|(_, input)| input.momentary) {
            let id = InputId(i as u32);
            if state.positions.of(id) != 0 {
                continue;
            }
            for position in input.each_position().skip(1) {
                let pressed = self.moved(state, id, position);
                if let Some(after) = pressed.and_then(|pressed| self.moved(&pressed, id, 0)) {
                    let actors = differing(self.circuit, &state.memory, &after.memory);
                    self.note(Event::Press(id, position), state, after, actors);
                }
            }
        }
    }

    fn key_offs(&mut self, state: &State, keys: &[InputId]) {
        for key in keys.iter().filter(|key| state.positions.of(**key) != 0) {
            let Some(after) = self.moved(state, *key, 0) else { continue };
            let fresh = State { positions: after.positions.clone(), memory: Memory::empty(self.circuit) };
            if let Some(fresh) = self.solver.settle(&fresh).settled() {
                let actors = differing(self.circuit, &fresh.state.memory, &after.memory);
                self.note(Event::KeyOff(*key), state, after, actors);
            }
        }
    }

    fn note(&mut self, event: Event, before: &State, after: State, actors: Vec<ActorId>) {
        if !actors.is_empty() && self.seen.insert((event, actors.clone())) {
            self.found.push(Leftover { event, before: before.clone(), after, actors });
        }
    }
}
