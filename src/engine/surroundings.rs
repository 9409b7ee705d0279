//! What a solver needs to know where its circuit is only a piece of a larger one: which decisions hang on the rest.

use super::settle::Solver;
use circuit::{ActorId, Memory, State};
use std::collections::BTreeSet;

/// The rest of a circuit.
pub trait Surroundings: Send {
    /// The actors that may decide otherwise, in the state as solved, with what the rest may do.
    fn in_doubt(&mut self, solver: &mut Solver) -> Vec<ActorId>;

    /// What a zone draws at both ends of what the rest may do, in the state that `solver` has solved: by end, phase of
    /// pulses and terminal. None where that isn't known.
    fn drawn(&mut self, solver: &mut Solver) -> Option<[Vec<Vec<f64>>; 2]>;

    /// Whether a branch carries no more than this at either end, as solved last.
    fn carries_at_most(&mut self, branch: usize, amps: f64) -> bool;

    /// The states that draw least and most from some terminal, of all that were looked at, passing ones among them.
    fn widest(&mut self) -> Vec<State>;

    /// What it has found so far.
    fn found(&mut self) -> &mut InDoubt;
}

/// What hangs on the surroundings.
#[derive(Debug, Clone, Default)]
pub struct InDoubt {
    /// Actors that were in doubt in any state.
    pub doubted: BTreeSet<ActorId>,
    /// Whether it is not known, in some state, what the surroundings may bring about.
    pub unknown: bool,
    /// Whether some load of constant power may pass its lowest voltage, where it takes most.
    pub turning_load: bool,
    /// In the state looked at last: how far two nodes may come apart, in volts.
    pub volts: f64,
    /// Whether decisions in doubt are taken both ways, and whether there were more at once than are followed.
    pub follow: bool,
    pub too_many: bool,
    /// States that could come next instead, decisions in doubt taken otherwise; and those that may stand.
    pub next: Vec<State>,
    pub stand: Vec<State>,
}

/// Of decisions in doubt at once, so many are taken both ways.
const MOST_IN_DOUBT: usize = 5;

impl InDoubt {
    /// Notes actors in doubt, `next` being what comes of all of them deciding as solved.
    pub fn doubt(&mut self, in_doubt: &[ActorId], from: &State, next: &Memory) {
        self.doubted.extend(in_doubt);
        if !self.follow {
            return;
        }
        self.too_many |= in_doubt.len() > MOST_IN_DOUBT;
        let in_doubt = &in_doubt[..in_doubt.len().min(MOST_IN_DOUBT)];
        for choice in 1..1usize << in_doubt.len() {
            let mut memory = next.clone();
            for (_, id) in in_doubt.iter().enumerate().filter(|(i, _)| choice >> i & 1 == 1) {
                memory.set_on(*id, !memory.on(*id));
            }
            let stands = memory == from.memory;
            let state = State { positions: from.positions.clone(), memory };
            if stands { &mut self.stand } else { &mut self.next }.push(state);
        }
    }

    /// Forgets the doubts of earlier states.
    pub fn clear(&mut self) {
        self.doubted.clear();
        (self.unknown, self.turning_load) = (false, false);
    }

    /// Whether nothing was in doubt.
    pub fn is_sure(&self) -> bool {
        self.doubted.is_empty() && !self.unknown
    }
}
