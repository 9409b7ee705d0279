//! What rules about time look at: the answers to the questions that need no script, and every drive, played.

use super::finding::{Finding, TimelineRow};
use model::Model;
use replay::standing::{Arrival, Standing, standing};
use replay::{Row, Setting, Timeline, replay_all};
use states::Solved;

/// A harness in motion.
#[derive(Debug, Clone)]
pub struct Times {
    /// The questions that need no script.
    pub standing: Standing,
    /// What became of each drive, in the order of [`Model::drives`].
    pub drives: Vec<Timeline>,
}

impl Times {
    /// Asks every question and plays every drive, at nominal supply with flashers in the middle of what is allowed.
    pub fn new(solved: &Solved) -> Times {
        Times { standing: standing(solved), drives: replay_all(solved, &Setting::default()) }
    }
}

impl Finding {
    /// Where and how a picture comes or goes.
    pub(super) fn arrival(self, model: &Model, arrival: &Arrival) -> Self {
        self.shown_in(arrival.state.clone(), &arrival.setting).timeline(model, &arrival.evidence)
    }

    /// What happens around the moment that shows it.
    pub(super) fn timeline(mut self, model: &Model, rows: &[Row]) -> Self {
        let row = |row: &Row| {
            let screens = model.screens.iter().zip(&row.screens);
            let screens = screens.map(|(screen, shows)| format!("{}: {shows}", screen.name));
            TimelineRow { at: row.at.to_string(), happens: row.happens.join(", "), screens: screens.collect() }
        };
        self.evidence.timeline = rows.iter().map(row).collect();
        self
    }
}
