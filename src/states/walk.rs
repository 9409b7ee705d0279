//! The one walk from state to state at nominal supply: move an input or let a timer run out, and let the circuit settle
//! before the next step.

use circuit::{ActorId, Circuit, Corner, InputId, Positions, Solution, State, Variant};
use engine::Solvers;
use explore::Move;
use std::collections::BTreeSet;

/// Most timers that run out in sequence; a circuit with more may start them in turn without end.
pub const MOST_WAITS: usize = 64;

/// Most states tried in a search for the steps between two states.
const MOST_TRIED: usize = 2000;

/// One step of a walk.
#[derive(Debug, Clone, PartialEq)]
pub struct WalkStep {
    /// The input that is moved, or the timer that runs out.
    pub by: Move,
    /// The state before it.
    pub before: State,
    /// The moment after it, when nothing has moved yet.
    pub start: State,
    /// The state that it settles to.
    pub after: State,
}

/// Walks through the states of a circuit. Every step returns `None` if it can't be made, or if the circuit does not
/// settle after it.
pub struct Walk<'c> {
    circuit: &'c Circuit,
    solvers: &'c Solvers,
    variant: Variant,
}

impl<'c> Walk<'c> {
    /// A walk at nominal supply through the circuit of some kept solvers.
    pub fn new(solvers: &'c Solvers) -> Walk<'c> {
        Walk::through(solvers, Variant::NONE)
    }

    /// The same through a changed circuit.
    pub fn through(solvers: &'c Solvers, variant: Variant) -> Walk<'c> {
        Walk { circuit: solvers.circuit(), solvers, variant }
    }

    /// What a state settles to.
    pub fn settle(&mut self, state: &State) -> Option<Solution> {
        self.solvers.settle_variant(Corner::NOMINAL, state, &self.variant).settled()
    }

    /// Every input at rest, the battery just connected.
    pub fn rest(&mut self) -> Option<Solution> {
        self.settle(&State::at_rest(self.circuit))
    }

    /// One step from a state: an input moved as the spec allows, or a timer run out.
    pub fn step(&mut self, from: &State, by: Move) -> Option<Solution> {
        let start = self.start(from, by)?;
        self.settle(&start)
    }

    /// The same with the states before and after it.
    pub fn change(&mut self, before: &State, by: Move) -> Option<WalkStep> {
        let start = self.start(before, by)?;
        let after = self.settle(&start)?.state;
        Some(WalkStep { by, before: before.clone(), start, after })
    }

    /// The moment after a step, when nothing has moved yet.
    fn start(&self, from: &State, by: Move) -> Option<State> {
        let mut start = from.clone();
        match by {
            Move::Input(input, position) => start.positions = from.positions.moved(self.circuit, input, position)?,
            Move::Elapsed(actor) => start.elapse(actor),
            Move::Connect | Move::PowerLoss => return None,
        }
        Some(start)
    }

    /// The changes of several steps, from rest on.
    pub fn along(&mut self, moves: &[Move]) -> Option<Vec<WalkStep>> {
        let mut at = self.rest()?.state;
        let mut changes = Vec::new();
        for by in moves {
            let change = self.change(&at, *by)?;
            at = change.after.clone();
            changes.push(change);
        }
        Some(changes)
    }

    /// Lets the first timer that is pending run out; `None` as well if none is pending.
    pub fn wait_once(&mut self, from: &State) -> Option<(ActorId, Solution)> {
        let timer = *from.pending(self.circuit).first()?;
        Some((timer, self.step(from, Move::Elapsed(timer))?))
    }

    /// Lets timers run out until none is pending, [`MOST_WAITS`] at most.
    pub fn wait(&mut self, from: Solution) -> Option<Solution> {
        let mut at = from;
        for _ in 0..MOST_WAITS {
            if at.state.pending(self.circuit).is_empty() {
                break;
            }
            at = self.wait_once(&at.state)?.1;
        }
        Some(at)
    }

    /// Moves inputs from rest to the wanted positions, each by a move that the spec allows and that leads closer, all
    /// at once if there is none; then lets timers run out.
    pub fn reach(&mut self, wanted: &Positions) -> Option<Solution> {
        let mut at = self.rest()?;
        let apart = |here: &Positions| here.0.iter().zip(&wanted.0).filter(|(a, b)| a != b).count();
        while at.state.positions != *wanted {
            let here = &at.state.positions;
            let differing = (0..wanted.0.len()).filter(|&i| here.0[i] != wanted.0[i]);
            let moved = differing.filter_map(|i| here.moved(self.circuit, InputId(i as u32), wanted.0[i]));
            let closer = moved.into_iter().find(|next| apart(next) < apart(here));
            let positions = closer.unwrap_or_else(|| wanted.clone());
            at = self.settle(&State { positions, memory: at.state.memory.clone() })?;
        }
        self.wait(at)
    }

    /// Puts inputs to rest, the last one first, and lets timers run out.
    pub fn back_to_rest(&mut self, from: &State) -> Option<Solution> {
        let mut at = self.settle(from)?;
        for input in (0..self.circuit.inputs.len()).rev().map(|i| InputId(i as u32)) {
            if at.state.positions.of(input) != 0 {
                at = self.step(&at.state, Move::Input(input, 0))?;
            }
        }
        self.wait(at)
    }

    /// The shortest sequence from a state to another by inputs and time alone, if one is found among the first states
    /// tried.
    pub fn between(&mut self, from: &State, to: &State) -> Option<Vec<WalkStep>> {
        let mut seen = BTreeSet::from([from.clone()]);
        let mut reached: Vec<(State, Option<(usize, WalkStep)>)> = vec![(from.clone(), None)];
        let mut next = 0;
        while next < reached.len() && reached.len() < MOST_TRIED {
            if reached[next].0 == *to {
                let mut way = Vec::new();
                let mut at = next;
                while let Some((before, change)) = reached[at].1.clone() {
                    way.push(change);
                    at = before;
                }
                way.reverse();
                return Some(way);
            }
            let state = reached[next].0.clone();
            for by in self.moves(&state) {
                if let Some(change) = self.change(&state, by)
                    && seen.insert(change.after.clone())
                {
                    reached.push((change.after.clone(), Some((next, change))));
                }
            }
            next += 1;
        }
        None
    }

    /// Every single move of an input in a state.
    pub fn inputs(&self, state: &State) -> Vec<Move> {
        let mut moves = Vec::new();
        for (i, input) in self.circuit.inputs.iter().enumerate() {
            let id = InputId(i as u32);
            let others = input.each_position().filter(|position| *position != state.positions.of(id));
            moves.extend(others.map(|position| Move::Input(id, position)));
        }
        moves
    }

    /// Every step in a state. A pressed button is released before anything else.
    fn moves(&self, state: &State) -> Vec<Move> {
        let mut moves: Vec<Move> = state.pending(self.circuit).into_iter().map(Move::Elapsed).collect();
        moves.extend(self.inputs(state));
        moves.sort_by_key(|by| match by {
            Move::Input(id, 0) => !self.circuit.inputs[id.index()].momentary,
            _ => true,
        });
        moves
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use circuit::{ActorRule, Law, Logic, NEGATIVE, Senses};
    use quantity::{Ohms, Volts};

    /// A battery; a button that sets a hold; a lamp's branch while the button is pressed or the hold runs.
    struct Held {
        circuit: Circuit,
        button: InputId,
        key: InputId,
        hold: ActorId,
        sense: ActorId,
    }

    fn held() -> Held {
        let mut circuit = Circuit::new();
        let (plus, trigger) = (circuit.node("plus"), circuit.node("trigger"));
        let volts = [11.8, 12.6, 14.6].map(Volts::new);
        circuit.branch("battery", NEGATIVE, plus, Law::Source { volts, ohms: Ohms::new(0.015) });
        let key = circuit.input("key", &["off", "run"]);
        let button = circuit.input("button", &["up", "down"]);
        circuit.inputs[button.index()].momentary = true;
        circuit.inputs[button.index()].needs = Logic::At(key, 1);
        let closed = Law::Conductor { ohms: Ohms::new(0.01), copper: false };
        circuit.switched("button", plus, trigger, closed, Logic::At(button, 1));
        circuit.branch("load", trigger, NEGATIVE, Law::Conductor { ohms: Ohms::new(100.0), copper: false });
        let (on, off) = (Volts::new(6.0), Volts::new(3.0));
        let rule = ActorRule::Threshold { plus: trigger, minus: NEGATIVE, on, off, senses: Senses::Each };
        let sense = circuit.actor("sense", rule);
        let hold = circuit.actor("hold", ActorRule::Hold { start: Logic::On(sense) });
        Held { circuit, button, key, hold, sense }
    }

    #[test]
    fn a_step_settles_and_a_move_that_the_spec_excludes_cannot_be_made() {
        let Held { circuit, button, key, hold, sense } = held();
        let solvers = Solvers::new(circuit.clone());
        let mut walk = Walk::new(&solvers);
        let rest = walk.rest().unwrap().state;
        assert_eq!(walk.step(&rest, Move::Input(button, 1)), None);
        assert_eq!(walk.step(&rest, Move::PowerLoss), None);
        let changes = walk.along(&[Move::Input(key, 1), Move::Input(button, 1), Move::Input(button, 0)]).unwrap();
        let [_, down, up] = &changes[..] else { panic!("{changes:?}") };
        assert!(down.after.memory.on(sense) && down.after.memory.on(hold) && !down.start.memory.on(sense));
        // Let go, the hold runs on.
        assert!(!up.after.memory.on(sense) && up.after.memory.on(hold));
        assert_eq!((up.before.clone(), up.after.pending(&circuit)), (down.after.clone(), vec![hold]));
    }

    #[test]
    fn waiting_ends_every_timer() {
        let Held { circuit, button, key, hold, .. } = held();
        let solvers = Solvers::new(circuit.clone());
        let mut walk = Walk::new(&solvers);
        let changes = walk.along(&[Move::Input(key, 1), Move::Input(button, 1), Move::Input(button, 0)]).unwrap();
        let running = changes[2].after.clone();
        let (timer, over) = walk.wait_once(&running).unwrap();
        assert_eq!((timer, over.on(hold)), (hold, false));
        assert_eq!(walk.wait_once(&over.state), None);
        let there = walk.settle(&running).unwrap();
        assert_eq!(walk.wait(there).unwrap().state, over.state);
    }

    #[test]
    fn positions_are_reached_in_the_order_that_the_spec_allows_and_left_the_same_way() {
        let Held { circuit, button, key, hold, .. } = held();
        let solvers = Solvers::new(circuit.clone());
        let mut walk = Walk::new(&solvers);
        let wanted = Positions::at_rest(&circuit).with(button, 1).with(key, 1);
        let there = walk.reach(&wanted).unwrap();
        assert!(there.state.positions == wanted && there.on(hold));
        let rest = walk.rest().unwrap().state;
        assert_eq!(walk.back_to_rest(&there.state).unwrap().state, rest);
    }

    #[test]
    fn a_shortest_way_lets_a_button_go_first() {
        let Held { circuit, button, key, hold, .. } = held();
        let solvers = Solvers::new(circuit.clone());
        let mut walk = Walk::new(&solvers);
        let rest = walk.rest().unwrap().state;
        let run = walk.step(&rest, Move::Input(key, 1)).unwrap().state;
        let there = walk.reach(&Positions::at_rest(&circuit).with(key, 1).with(button, 1)).unwrap().state;
        let way = |walk: &mut Walk, to: &State| -> Vec<Move> {
            walk.between(&there, to).unwrap().into_iter().map(|change| change.by).collect()
        };
        assert_eq!(way(&mut walk, &run), [Move::Input(button, 0), Move::Elapsed(hold)]);
        // With the key off, the button, which needs it, returns to rest in the same step.
        assert_eq!(way(&mut walk, &rest), [Move::Input(key, 0), Move::Elapsed(hold)]);
        assert_eq!(walk.between(&rest, &rest), Some(vec![]));
    }
}
