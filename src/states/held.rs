//! What states remember without a latch or a timer: a relay that holds itself through its own contact.

use super::{Solved, StateRow};
use crate::model::{SignalId, SignalKind};
use crate::solve::Reading;
use std::collections::{BTreeMap, BTreeSet};

/// Finds the rows whose positions and declared memory are the same, and writes into each, and into its name, what is on
/// in it and off in another. Relays tell enough where relays differ; all that follows from them does not count.
pub(super) fn tell_apart(solved: &Solved, rows: &mut [StateRow]) {
    let actors: BTreeSet<_> = solved.exploration.history.iter().flat_map(|one| &one.undeclared).collect();
    let signals = (0..solved.model.signals.len()).map(SignalId);
    let open: Vec<SignalId> =
        signals.filter(|id| solved.assembly.actor(*id).is_some_and(|actor| actors.contains(&actor))).collect();
    if open.is_empty() {
        return;
    }
    let mut groups: BTreeMap<(Vec<usize>, Vec<SignalId>, bool), Vec<usize>> = BTreeMap::new();
    for (i, row) in rows.iter().enumerate() {
        groups.entry((row.positions.clone(), row.memory.clone(), row.passing)).or_default().push(i);
    }
    for group in groups.into_values().filter(|group| group.len() > 1) {
        let on = |row: &StateRow, id| solved.assembly.reading(solved.model, &row.solution, id) == Reading::On;
        let differs = |id: &&SignalId| group.iter().any(|i| on(&rows[*i], **id) != on(&rows[group[0]], **id));
        let mut differing: Vec<SignalId> = open.iter().filter(differs).copied().collect();
        let relay = |id: &SignalId| matches!(solved.model.signals[id.0].kind, SignalKind::Relay { .. });
        if differing.iter().any(relay) {
            differing.retain(relay);
        }
        for i in group {
            let row = &mut rows[i];
            row.held = differing.iter().map(|id| (*id, on(row, *id))).collect();
            let words: Vec<String> = row.held.iter().map(|(id, on)| held_words(solved, *id, *on)).collect();
            if !words.is_empty() {
                row.name.push_str(if row.memory.is_empty() { "; " } else { ", " });
                row.name.push_str(&words.join(", "));
            }
        }
    }
}

/// `K5 in`, `K5 out`.
fn held_words(solved: &Solved, id: SignalId, on: bool) -> String {
    let signal = &solved.model.signals[id.0];
    let word = match (&signal.kind, on) {
        (SignalKind::Relay { .. }, true) => "in",
        (SignalKind::Relay { .. }, false) => "out",
        (_, true) => "on",
        (_, false) => "off",
    };
    format!("{} {word}", signal.name)
}
