//! What can be on the screens, and the states that lead there.

use model::Model;
use states::{Picture, StateRow};

/// A picture on the screens, and the states that lead to it.
#[derive(Debug, Clone)]
pub(super) struct Band {
    /// What is on each screen, a line a screen.
    pub pictures: Vec<String>,
    pub lines: Vec<Line>,
}

/// One state, or several folded into one.
#[derive(Debug, Clone)]
pub(super) struct Line {
    /// Position of each input; `None` if it does not matter.
    pub inputs: Vec<Option<usize>>,
    /// Whether each memory is on; `None` if it does not matter.
    pub memory: Vec<Option<bool>>,
    /// Whether each relay is in: in all of the states, in none, or (none) in some.
    pub relays: Vec<Option<bool>>,
    /// What should be on the screens, if it differs.
    pub wanted: Vec<String>,
    /// Whether time alone ends what is not as wanted.
    pub for_a_time: bool,
    /// How many of the states time alone ends.
    pub passing: usize,
    pub states: usize,
}

/// What is on each screen, with the screen's name where there are several.
pub(super) fn pictures(model: &Model, row: &StateRow) -> Vec<String> {
    let pictures: Vec<Picture> = row.screens.iter().map(|reading| reading.picture.clone()).collect();
    words_of(model, &pictures)
}

/// The pictures of all screens in words.
pub(super) fn words_of(model: &Model, pictures: &[Picture]) -> Vec<String> {
    let words = |(screen, picture): (&model::Screen, &Picture)| {
        let picture = picture.words(model);
        if model.screens.len() > 1 { format!("{}: {picture}", screen.name) } else { picture }
    };
    model.screens.iter().zip(pictures).map(words).collect()
}
