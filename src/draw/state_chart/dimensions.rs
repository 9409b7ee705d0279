//! Inputs and memories as the dimensions of a state, in the chart's words, and conditions over them.

use super::merge::{State, covering};
use facts::picture_changes::CausedIn;
use model::{Model, SignalId, SignalKind};
use states::StateTable;

/// The dimensions of a state, and their words.
pub(super) struct Dimensions<'a> {
    pub model: &'a Model,
    pub table: &'a StateTable,
    /// Signals that a state remembers, with their words for on and off.
    pub memory: &'a [SignalId],
}

impl Dimensions<'_> {
    /// The values of a row: positions, then memory.
    pub fn values(&self, row: usize) -> Vec<usize> {
        let row = &self.table.rows[row];
        let on = |id: &SignalId| usize::from(row.memory.contains(id) || row.held.contains(&(*id, true)));
        row.positions.iter().copied().chain(self.memory.iter().map(on)).collect()
    }

    /// A value in words, as the columns of the chart call it: what has it, and the value.
    pub fn words(&self, dimension: usize, value: usize) -> [String; 2] {
        match self.model.inputs.get(dimension) {
            Some(input) => [input.name.to_string(), input.positions[value].to_string()],
            None => {
                let id = self.memory[dimension - self.model.inputs.len()];
                [self.model.signals[id.0].name.clone(), memory_value(self.model, id, value == 1).into()]
            }
        }
    }
}

/// A memory in words, as states are called: `K1 set`, `K5 in`, `HOLD.held on`.
pub(super) fn memory_words(model: &Model, id: SignalId, on: bool) -> String {
    format!("{} {}", model.signals[id.0].name, memory_value(model, id, on))
}

fn memory_value(model: &Model, id: SignalId, on: bool) -> &'static str {
    let words = match model.signals[id.0].kind {
        SignalKind::Relay { latching: true, .. } => ["not set", "set"],
        SignalKind::Relay { .. } => ["out", "in"],
        _ => ["off", "on"],
    };
    words[usize::from(on)]
}

/// The fewest conditions that hold in just those states in which the move leads there; the moved input is in none.
pub(super) fn conditions(dimensions: &Dimensions, caused: &CausedIn) -> Vec<Vec<Option<usize>>> {
    let state = |outcome: usize| {
        move |&row: &usize| {
            let mut values = dimensions.values(row);
            values[caused.cause.input.0] = 0;
            State { values, outcome }
        }
    };
    let states: Vec<State> = caused.rows.iter().map(state(1)).chain(caused.others.iter().map(state(0))).collect();
    covering(&states).into_iter().filter(|fold| fold.outcome == 1).map(|fold| fold.values).collect()
}
