//! The one visit of every state at every corner. Solving costs most, so worst values and sneak paths are collected
//! together; each is independent of the other.

use super::{Explored, SneakPaths, WorstValues, sneak, worst};
use states::Solved;

/// What the visit collects.
#[derive(Debug)]
pub(super) struct EveryState {
    pub worst: WorstValues,
    pub sneaks: SneakPaths,
}

impl EveryState {
    pub fn new(solved: &Solved, explored: &Explored) -> EveryState {
        let (mut worst, mut sneaks) = (worst::Search::new(solved), sneak::Search::new(solved));
        for exploration in explored.all() {
            exploration.visit(&solved.assembly.circuit, &mut |solution| {
                worst.look(solution);
                sneaks.look(solution);
            });
            // What takes no part in a round that never ends is there as in any other state.
            exploration.endless().flat_map(|chatter| &chatter.round).for_each(|step| worst.look(step));
        }
        EveryState { worst: worst.finish(explored), sneaks: sneaks.finish() }
    }
}
