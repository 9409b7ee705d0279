//! What stays set when every input is back at rest and no timer runs, and whether it survives a power loss.

use circuit::{ActorId, Corner, Outcome, State, Variant};
use model::SignalId;
use quantity::Volts;
use states::{Solved, is_memory};
use std::collections::BTreeMap;

/// A latching relay or a timer that stays on at rest.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftBehind {
    /// The relay or timer.
    pub signal: SignalId,
    /// The first such state, at the nominal corner.
    pub state: State,
    /// Whether it is still on when the supply has gone and come back.
    pub survives_power_loss: bool,
}

/// Everything that stays set at rest, in the order of the model.
pub(super) fn left_behind(solved: &Solved) -> Vec<LeftBehind> {
    let circuit = &solved.assembly.circuit;
    let remembers: Vec<(SignalId, ActorId)> = (0..solved.model.signals.len())
        .map(SignalId)
        .filter(|id| is_memory(solved.model, *id))
        .filter_map(|id| Some((id, solved.assembly.actor(id)?)))
        .collect();
    let mut first: BTreeMap<SignalId, State> = BTreeMap::new();
    if remembers.is_empty() {
        return Vec::new();
    }
    solved.exploration.visit(circuit, &mut |solution| {
        if solution.state.positions.away() == 0 && solution.state.pending(circuit).is_empty() {
            for (id, _) in remembers.iter().filter(|(_, actor)| solution.on(*actor)) {
                first.entry(*id).or_insert_with(|| solution.state.clone());
            }
        }
    });
    for chatter in solved.exploration.endless() {
        let Some(step) = chatter.round.first().filter(|step| step.state.positions.away() == 0) else { continue };
        if step.state.pending(circuit).is_empty() {
            for (id, _) in remembers.iter().filter(|(_, actor)| chatter.round.iter().all(|step| step.on(*actor))) {
                first.entry(*id).or_insert_with(|| step.state.clone());
            }
        }
    }
    let left = first.into_iter().filter_map(|(signal, state)| {
        let survives_power_loss = survives(solved, solved.assembly.actor(signal)?, &state)?;
        Some(LeftBehind { signal, state, survives_power_loss })
    });
    left.collect()
}

/// Whether an actor is still on when the supply has gone and come back; `None` if the circuit does not settle then.
fn survives(solved: &Solved, actor: ActorId, state: &State) -> Option<bool> {
    let (solvers, dark) = (solved.solvers(), Variant::supplied(&solved.assembly.circuit, Volts::new(0.0)));
    let lost = solvers.settle_variant(Corner::NOMINAL, state, &dark).settled()?;
    match solvers.settle(Corner::NOMINAL, &lost.state) {
        Outcome::Settled(back) => Some(back.on(actor)),
        Outcome::Chatter(chatter) => Some(chatter.is_endless() && chatter.round.iter().all(|step| step.on(actor))),
        Outcome::Unsolved(_) => None,
    }
}
