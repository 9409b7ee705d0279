//! Memory without a latch or a timer: a relay that holds itself through its own contact.

use super::Wiring;
use circuit::State;
use explore::Exploration;
use model::{SignalId, SignalKind};

/// The signals that differ in another state with the same positions and declared memory, at any of the given corners,
/// and whether each is on in this one. If relays differ, only they are listed, since the rest follows from them.
pub fn held<'e>(
    wiring: &Wiring,
    explorations: impl IntoIterator<Item = &'e Exploration>,
    state: &State,
) -> Vec<(SignalId, bool)> {
    let mut actors = Vec::new();
    for exploration in explorations {
        actors.extend(exploration.otherwise(&wiring.assembly.circuit, state));
    }
    if actors.is_empty() {
        return Vec::new();
    }
    let signals = (0..wiring.model.signals.len()).map(SignalId);
    let mut differing: Vec<SignalId> =
        signals.filter(|id| wiring.assembly.actor(*id).is_some_and(|actor| actors.contains(&actor))).collect();
    let relay = |id: &SignalId| matches!(wiring.model.signals[id.0].kind, SignalKind::Relay { .. });
    if differing.iter().any(relay) {
        differing.retain(relay);
    }
    differing.into_iter().map(|id| (id, state.holds(wiring.assembly.signal(id)))).collect()
}

/// `K5 in`, `K5 out`.
pub(super) fn held_words(wiring: &Wiring, id: SignalId, on: bool) -> String {
    let signal = &wiring.model.signals[id.0];
    let word = match (&signal.kind, on) {
        (SignalKind::Relay { .. }, true) => "in",
        (SignalKind::Relay { .. }, false) => "out",
        (_, true) => "on",
        (_, false) => "off",
    };
    format!("{} {word}", signal.name)
}
