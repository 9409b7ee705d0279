//! Decisions of a zone that depend on the rest of the circuit.

use circuit::{ActorId, Memory, State};
use std::collections::BTreeSet;

/// Most decisions in doubt at once that are all taken both ways.
const MOST_IN_DOUBT: usize = 5;

/// What depends on the rest of the circuit.
#[derive(Debug, Clone, Default)]
pub(crate) struct InDoubt {
    /// Actors that were in doubt in any state.
    pub doubted: BTreeSet<ActorId>,
    /// Whether in some state the effect of the rest of the circuit is not known.
    pub unknown: bool,
    /// Whether some load of constant power may pass its least voltage, where it draws most.
    pub turning_load: bool,
    /// How far the voltage between two nodes may be off in the state looked at last, in volts.
    pub volts: f64,
    /// Whether decisions in doubt are taken both ways, and whether there were more at once than are followed.
    pub follow: bool,
    pub too_many: bool,
    /// States that could come next instead, decisions in doubt taken the other way; and those that may be settled.
    pub next: Vec<State>,
    pub stand: Vec<State>,
}

impl InDoubt {
    /// Notes actors in doubt, `next` being the memory if all of them decide as solved.
    pub(crate) fn doubt(&mut self, in_doubt: &[ActorId], from: &State, next: &Memory) {
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
    pub(crate) fn clear(&mut self) {
        self.doubted.clear();
        (self.unknown, self.turning_load) = (false, false);
    }

    /// Whether nothing was in doubt.
    pub(crate) fn is_sure(&self) -> bool {
        self.doubted.is_empty() && !self.unknown
    }
}
