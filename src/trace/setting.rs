//! Settings: states that a tech can put the vehicle in, by the moves that lead there.

use circuit::State;
use explore::Move;
use facts::Facts;
use model::InputId;
use states::StateRow;
use std::collections::BTreeSet;

/// Most settings that steps are chosen from.
const MOST_SETTINGS: usize = 14;

/// A state to set, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct SetState {
    /// Its name: `key run, reverse`.
    pub name: String,
    /// The moves from rest.
    pub(crate) moves: Vec<Move>,
    /// Inputs away from rest at the end.
    pub(crate) away: usize,
}

impl SetState {
    /// The setting of a state that the harness reaches by inputs and time alone.
    pub fn of(facts: &Facts, name: &str, state: &State) -> Option<SetState> {
        let moves = facts.solved.exploration.way_to(state)?;
        let can_be_made = moves.iter().all(|step| matches!(step, Move::Input(..) | Move::Elapsed(_)));
        can_be_made.then(|| SetState { name: name.to_string(), moves, away: state.positions.away() })
    }

    /// Whether an input is away from rest.
    pub fn sets(&self, input: InputId) -> bool {
        let moved = self.moves.iter().rev().find_map(|step| match step {
            Move::Input(moved, position) if moved.index() == input.0 => Some(*position),
            _ => None,
        });
        moved.is_some_and(|position| position > 0)
    }

    /// Whether a vehicle that is put into the other state, one input after the other, passes this one.
    pub(crate) fn leads_to(&self, other: &SetState) -> bool {
        self.moves.len() < other.moves.len() && self.moves.iter().all(|step| other.moves.contains(step))
    }
}

/// The settings that show most: for each line of each screen's views and each promise the simplest state in which it
/// applies, and the state at rest.
pub(crate) fn settings(facts: &Facts) -> Vec<SetState> {
    let rows = &facts.table().rows;
    let mut chosen: Vec<&StateRow> = Vec::new();
    let mut known: BTreeSet<(usize, Option<usize>)> = BTreeSet::new();
    let mut kept: BTreeSet<usize> = BTreeSet::new();
    let mut simplest: Vec<&StateRow> = rows.iter().filter(|row| !row.passing).collect();
    // A state that only memory distinguishes is harder to set.
    simplest.sort_by_key(|row| (row.name.contains(';'), row.solution.state.positions.away()));
    for row in simplest {
        let lines = row.screens.iter().enumerate().map(|(screen, reading)| (screen, reading.view));
        let new: Vec<(usize, Option<usize>)> = lines.filter(|line| !known.contains(line)).collect();
        let holds = |i: &usize| facts.solved.assembly.holds(&row.solution, &facts.model.works[*i].when);
        let promises: Vec<usize> = (0..facts.model.works.len()).filter(holds).filter(|i| !kept.contains(i)).collect();
        if !new.is_empty() || !promises.is_empty() {
            known.extend(new);
            kept.extend(promises);
            chosen.push(row);
        }
    }
    let settings = chosen.iter().filter_map(|row| SetState::of(facts, &row.name, &row.solution.state));
    settings.take(MOST_SETTINGS).collect()
}
