//! What never settles, and what settles to a state that depends on which relay moves first.

use super::{Explored, Paths};
use circuit::{ActorId, Chatter, CurrentPath, Solution};
use model::{SignalId, SignalKind};
use states::Wiring;

/// Cycles that never settle, and races, at any corner.
#[derive(Debug)]
pub struct Unsettled {
    /// Cycles that never settle: for each set of relays the first one found.
    pub chatters: Vec<(Vec<SignalId>, Chatter)>,
    /// Races, which end in one of several states: for each set of relays the first one found.
    pub races: Vec<(Vec<SignalId>, Chatter)>,
}

impl Unsettled {
    pub(super) fn new(wiring: &Wiring, explored: &Explored) -> Unsettled {
        let found = |race: bool| {
            let mut found: Vec<(Vec<SignalId>, Chatter)> = Vec::new();
            for chatter in explored.all().flat_map(|exploration| &exploration.chatter) {
                let relays = relays_of(wiring, &chatter.actors);
                if chatter.rests.is_empty() != race && !found.iter().any(|(same, _)| *same == relays) {
                    found.push((relays, chatter.clone()));
                }
            }
            found
        };
        Unsettled { chatters: found(false), races: found(true) }
    }

    /// Whether a relay takes part in a cycle that never settles.
    pub fn is_chattering(&self, relay: SignalId) -> bool {
        self.chatters.iter().any(|(relays, _)| relays.contains(&relay))
    }
}

/// The relays among some actors, in the order of the spec; a coil counts as its relay.
pub fn relays_of(wiring: &Wiring, actors: &[ActorId]) -> Vec<SignalId> {
    let (model, assembly) = (wiring.model, &wiring.assembly);
    let mut relays: Vec<SignalId> = Vec::new();
    for (i, signal) in model.signals.iter().enumerate() {
        let SignalKind::Relay { coils, .. } = &signal.kind else { continue };
        let mut own = coils.iter().filter_map(|coil| assembly.coil(*coil)).chain(assembly.actor(SignalId(i)));
        if own.any(|actor| actors.contains(&actor)) {
            relays.push(SignalId(i));
        }
    }
    relays
}

/// The signals that some actors are, in the order of the spec; a coil counts as its relay.
pub fn signals_of(wiring: &Wiring, actors: &[ActorId]) -> Vec<SignalId> {
    let relays = relays_of(wiring, actors);
    let is =
        |id: &SignalId| relays.contains(id) || wiring.assembly.actor(*id).is_some_and(|actor| actors.contains(&actor));
    (0..wiring.model.signals.len()).map(SignalId).filter(is).collect()
}

/// The step of a round in which the coils of its relays take most, with the path of that current.
pub fn busiest_step<'c>(
    paths: &Paths,
    relays: &[SignalId],
    chatter: &'c Chatter,
) -> Option<(&'c Solution, CurrentPath)> {
    let all = chatter.round.iter().flat_map(|step| relays.iter().map(move |relay| (step, relay)));
    let all = all.map(|(step, relay)| (step, paths.of_signal(step, *relay)));
    let amps = |path: &CurrentPath| path.steps.iter().map(|step| step.amps.value()).fold(0.0, f64::max);
    // Of equals, the first.
    all.reduce(|best, next| if amps(&next.1) > amps(&best.1) { next } else { best })
}
