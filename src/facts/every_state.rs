//! The one visit of every state at every corner. Solving costs most, so worst values, sneak paths and the drain of
//! batteries are collected together; each is independent of the others.

use super::engine_off::{self, EngineOff};
use super::{Explored, SneakPaths, WorstValues, sneak, worst};
use states::Solved;

/// What the visit collects.
#[derive(Debug)]
pub(super) struct EveryState {
    pub worst: WorstValues,
    pub sneaks: SneakPaths,
    pub engine_off: Vec<EngineOff>,
}

impl EveryState {
    pub fn new(solved: &Solved, explored: &Explored) -> EveryState {
        let (mut worst, mut sneaks) = (worst::Search::new(solved), sneak::Search::new(solved));
        let mut engine_off = engine_off::Search::new(solved);
        for exploration in explored.all() {
            exploration.visit(&solved.assembly.circuit, &mut |solution| {
                worst.look(solution);
                sneaks.look(solution);
                engine_off.look(solution);
            });
            // What takes no part in a round that never ends is there as in any other state.
            for chatter in exploration.endless() {
                chatter.round.iter().for_each(|step| worst.look(step));
                sneaks.look_at_round(chatter);
            }
        }
        EveryState { worst: worst.finish(explored), sneaks: sneaks.finish(), engine_off: engine_off.finish() }
    }
}
