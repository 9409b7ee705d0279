//! The standing questions: what a script would have to ask for every state and every corner, answered without one.

mod asker;
mod bounce;
mod concern;
mod crank;
mod hazards;
mod race;
mod rear;
mod steady;
mod wear;
mod within;
mod words;

pub use asker::MOST_STARTS;
pub use bounce::Bounce;
pub use crank::{Crank, OVER, PROFILE};
pub use hazards::Hazards;
pub use race::{Effect, Race};
pub use rear::{AFTER_START, LINGER, RESPONSE, Rear, is_reverse};
pub use steady::{Blink, Cure, Steady};
pub use wear::Wear;
pub use within::{Arrival, Linger, Within};
pub use words::{picture_words, screen_words};

use crate::states::Solved;
use asker::Asker;

/// The answers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Standing {
    /// Is each `steady` view steady, whatever flashes?
    pub steady: Vec<Steady>,
    /// How soon is each picture there that has to be within a time?
    pub within: Vec<Within>,
    /// What does each rear view do that the law has something to say about?
    pub rear: Vec<Rear>,
    /// What flickers when the engine is started?
    pub crank: Vec<Crank>,
    /// What does a screen get while one relay has moved and another hasn't?
    pub races: Vec<Race>,
    /// What does a bouncing button do?
    pub bounces: Vec<Bounce>,
    /// Do hazards disturb a screen?
    pub hazards: Vec<Hazards>,
    /// How long do relays last that follow a flasher?
    pub wear: Vec<Wear>,
    /// Whether some screen has more states than were looked at.
    pub cut_short: bool,
}

/// Answers the standing questions.
pub fn standing(solved: &Solved) -> Standing {
    answers(solved, true)
}

/// The same without leaving out what can't move a screen: slow, to hold the other one to.
#[cfg(test)]
pub fn standing_of_all(solved: &Solved) -> Standing {
    answers(solved, false)
}

fn answers(solved: &Solved, leaves_out: bool) -> Standing {
    let dips = crank::Dips::new(solved);
    let mut asker = Asker::new(solved);
    asker.leaves_out = leaves_out;
    let steady = steady::ask(&mut asker);
    let within = within::ask(&mut asker);
    let rear = rear::ask(&mut asker);
    let races = race::ask(&mut asker);
    let bounces = bounce::ask(&mut asker);
    let hazards = hazards::ask(&mut asker);
    let wear = wear::ask(&mut asker);
    let crank = crank::ask(&mut asker, &dips);
    Standing { steady, within, rear, crank, races, bounces, hazards, wear, cut_short: asker.cut_short }
}
