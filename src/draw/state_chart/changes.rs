//! What changes the picture, in the chart's words: each move with the condition under which it does.

use super::dimensions::Dimensions;
use super::picture_bands::{Band, words_of};
use super::statements::statements;
use facts::{Facts, PictureChange};
use states::Picture;

/// From one band to another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Change {
    /// Index of the band that is left.
    pub from: usize,
    /// Index of the band that is come to.
    pub to: usize,
    /// The moves that do it with their conditions: `key run, if left-turn on`. At once before after a timer, then the most
    /// frequent first. No two have the same condition and lead there at once.
    pub moves: Vec<String>,
}

/// The changes from band to band, in the order of the bands.
pub(super) fn changes(facts: &Facts, dimensions: &Dimensions, bands: &[Band]) -> Vec<Change> {
    let model = facts.model;
    let band = |pictures: &[Picture]| bands.iter().position(|band| band.pictures == words_of(model, pictures));
    let change = |change: &PictureChange| {
        let moves = statements(dimensions, change).iter().map(|statement| statement.words(dimensions)).collect();
        Some(Change { from: band(&change.from)?, to: band(&change.to)?, moves })
    };
    let mut changes: Vec<Change> = facts.picture_changes().iter().filter_map(change).collect();
    changes.sort_by_key(|change| (change.from, change.to));
    changes
}
