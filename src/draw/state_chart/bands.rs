//! What can be on the screens, and the states that lead there.

use model::Model;
use states::{ScreenReading, StateRow};

/// All that leads to one thing on the screens.
#[derive(Debug, Clone)]
pub(super) struct Band {
    /// What is on each screen, a line a screen.
    pub pictures: Vec<String>,
    pub lines: Vec<Line>,
}

/// One state, or several folded into one.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Position of each input; none where it does not matter.
    pub inputs: Vec<Option<usize>>,
    /// Whether each memory is on; none where it does not matter.
    pub memory: Vec<Option<bool>>,
    /// Whether each relay is in: in all of the states, in none, or (none) in some.
    pub relays: Vec<Option<bool>>,
    /// What should be on the screens where that is something else.
    pub wanted: Vec<String>,
    /// Whether time alone ends all of these states.
    pub passing: bool,
    pub states: usize,
}

/// What is on each screen, with the screen's name where there are several.
pub(super) fn pictures(model: &Model, row: &StateRow) -> Vec<String> {
    pictures_of(model, &row.screens)
}

pub(super) fn pictures_of(model: &Model, screens: &[ScreenReading]) -> Vec<String> {
    let words = |(screen, reading): (&model::Screen, &states::ScreenReading)| {
        let picture = reading.picture.words(model);
        if model.screens.len() > 1 { format!("{}: {picture}", screen.name) } else { picture }
    };
    model.screens.iter().zip(screens).map(words).collect()
}
