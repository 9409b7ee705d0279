//! States in words.

use super::held::held_words;
use super::{Wiring, is_memory};
use circuit::{Solution, State};
use model::{Input, SignalId, SignalKind};

/// A state in words: `at rest`, or inputs away from rest (`reverse, key run`), then latches that are set and timers
/// that run (`; K2 set`). Relays that hold themselves are distinguished by
/// [`Solved::state_words`](super::Solved::state_words).
pub fn state_name(wiring: &Wiring, solution: &Solution) -> String {
    state_words(wiring, &solution.state, &[])
}

/// Names in a sentence: `K1, K2 and K3`. `None` for an empty list.
pub fn listed(names: &[impl AsRef<str>]) -> Option<String> {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    let (last, others) = names.split_last()?;
    Some(if others.is_empty() { last.to_string() } else { format!("{} and {last}", others.join(", ")) })
}

/// An input in a position: its name alone if that is clear.
pub(super) fn at_words(input: &Input, at: usize) -> String {
    let plain = input.positions.len() == 2 && matches!(input.positions[1].as_str(), "on" | "pressed" | "open");
    match (plain, at) {
        (true, 0) => format!("not {}", input.name),
        (true, _) => input.name.to_string(),
        (false, _) => format!("{} {}", input.name, input.positions[at]),
    }
}

/// The same for a state that isn't solved, with relays that hold themselves in or out: its name
/// doesn't depend on voltages.
pub fn state_words(wiring: &Wiring, state: &State, held: &[(SignalId, bool)]) -> String {
    let model = wiring.model;
    let mut away = Vec::new();
    for (i, input) in model.inputs.iter().enumerate() {
        let at = usize::from(state.positions.0[i]);
        if at == 0 {
            continue;
        }
        away.push(at_words(input, at));
    }
    let mut name = if away.is_empty() { "at rest".to_string() } else { away.join(", ") };
    let mut remembered = Vec::new();
    for i in 0..model.signals.len() {
        let id = SignalId(i);
        if is_memory(model, id) && state.holds(wiring.assembly.signal(id)) {
            let word = if matches!(model.signals[i].kind, SignalKind::Relay { .. }) { "set" } else { "on" };
            remembered.push(format!("{} {word}", model.signals[i].name));
        }
    }
    remembered.extend(held.iter().map(|(id, on)| held_words(wiring, *id, *on)));
    if !remembered.is_empty() {
        name.push_str("; ");
        name.push_str(&remembered.join(", "));
    }
    name
}
