//! What changes the picture, in the chart's words.

use super::picture_bands::{Band, words_of};
use facts::picture_changes::Cause;
use facts::{Facts, PictureChange};
use model::Model;
use states::Picture;

/// From one band to another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Change {
    /// Index of the band that is left.
    pub from: usize,
    /// Index of the band that is come to.
    pub to: usize,
    /// The moves that can do it, such as `reverse on`: at once before after a timer, then the most frequent first.
    pub moves: Vec<String>,
}

/// The changes from band to band, in the order of the bands.
pub(super) fn changes(facts: &Facts, bands: &[Band]) -> Vec<Change> {
    let model = facts.model;
    let band = |pictures: &[Picture]| bands.iter().position(|band| band.pictures == words_of(model, pictures));
    let change = |change: &PictureChange| {
        let moves = change.causes.iter().map(|cause| words(model, *cause)).collect();
        Some(Change { from: band(&change.from)?, to: band(&change.to)?, moves })
    };
    let mut changes: Vec<Change> = facts.picture_changes().iter().filter_map(change).collect();
    changes.sort_by_key(|change| (change.from, change.to));
    changes
}

fn words(model: &Model, Cause { input, position, timer }: Cause) -> String {
    let input = &model.inputs[input.0];
    let moved = format!("{} {}", input.name, input.positions[position]);
    match timer {
        Some(timer) => format!("{moved}, when {} has run", model.part(model.signals[timer.0].part).name),
        None => moved,
    }
}
