//! Flashers: the same state between two flashes. A turn signal is on in a state, and its lamps and what they feed are off half
//! of the time.

use circuit::{Corner, Solution, State, Variant};
use facts::Facts;

/// A state between two flashes; `None` where no flasher is on.
pub(crate) fn between_flashes(facts: &Facts, state: &State) -> Option<State> {
    let mut state = state.clone();
    let mut flashes = false;
    for (position, input) in state.positions.0.iter_mut().zip(&facts.model.inputs) {
        if input.flash.is_some() && *position != 0 {
            *position = 0;
            flashes = true;
        }
    }
    flashes.then_some(state)
}

/// A changed circuit between two flashes; `None` where no flasher is on, or it does not settle.
pub(crate) fn solved_between(facts: &Facts, state: &State, variant: &Variant) -> Option<Solution> {
    let between = between_flashes(facts, state)?;
    facts.solved.solvers().settle_variant(Corner::NOMINAL, &between, variant).settled()
}
