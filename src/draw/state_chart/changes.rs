//! What changes the picture: single inputs that, moved alone, lead from one band of the chart to another.

use super::{Band, pictures};
use crate::model::Model;
use crate::states::StateTable;
use std::collections::BTreeMap;

/// From one band to another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Change {
    /// Index of the band that is left.
    pub from: usize,
    /// Index of the band that is come to.
    pub to: usize,
    /// The moves that can do it, such as `reverse on`, the most frequent first.
    pub moves: Vec<String>,
}

/// Compares every state with those that one input's move away; what remembers must be the same in both.
pub(super) fn changes(model: &Model, table: &StateTable, bands: &[Band]) -> Vec<Change> {
    let band_of = |pictures: &[String]| bands.iter().position(|band| band.pictures == pictures);
    let states: BTreeMap<(&[usize], &[crate::model::SignalId]), usize> = table
        .rows
        .iter()
        .filter_map(|row| Some(((row.positions.as_slice(), row.memory.as_slice()), band_of(&pictures(model, row))?)))
        .collect();
    let mut counts: BTreeMap<(usize, usize), BTreeMap<(usize, usize), usize>> = BTreeMap::new();
    for (&(positions, memory), &from) in &states {
        for (input, described) in model.inputs.iter().enumerate() {
            for position in (0..described.positions.len()).filter(|&p| p != positions[input]) {
                let mut moved = positions.to_vec();
                moved[input] = position;
                if let Some(&to) = states.get(&(moved.as_slice(), memory))
                    && to != from
                {
                    *counts.entry((from, to)).or_default().entry((input, position)).or_default() += 1;
                }
            }
        }
    }
    let named = |((from, to), moves): ((usize, usize), BTreeMap<(usize, usize), usize>)| {
        let mut moves: Vec<((usize, usize), usize)> = moves.into_iter().collect();
        moves.sort_by_key(|&(change, count)| (std::cmp::Reverse(count), change));
        let name = |&((input, position), _): &((usize, usize), usize)| {
            format!("{} {}", model.inputs[input].name, model.inputs[input].positions[position])
        };
        Change { from, to, moves: moves.iter().map(name).collect() }
    };
    counts.into_iter().map(named).collect()
}
