//! The standing questions: what scripts would have to ask for every state and corner, answered without a script.

mod asker;
mod bounce;
mod engine_start;
mod frozen;
mod gap;
mod hazards;
mod held_over;
mod influences;
mod race;
mod rear;
mod steady;
mod wear;
mod within;
mod words;
mod works;

pub use asker::MOST_STARTS;
pub use bounce::Bounce;
pub use engine_start::{EngineStart, OVER, PROFILE};
pub use frozen::Frozen;
pub use gap::Gap;
pub use hazards::Hazards;
pub use held_over::HeldOver;
pub use race::{Race, RaceEffect};
pub use rear::{AFTER_START, LINGER, RESPONSE, Rear};
pub use steady::{Blink, Cure, Steady};
pub use wear::Wear;
pub use within::{Arrival, Linger, Within};
pub use words::{picture_words, screen_words};
pub use works::{WorksGap, WorksInTime};

use asker::Asker;
use model::ScreenId;
use states::Solved;
use std::collections::BTreeMap;

/// The answers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Standing {
    /// Is each `steady` view steady, whatever flashes?
    pub steady: Vec<Steady>,
    /// How soon is each picture there that must be within a time?
    pub within: Vec<Within>,
    /// Which of them comes late while a timer still holds another?
    pub held_over: Vec<HeldOver>,
    /// How does each rear view compare with the times in the law?
    pub rear: Vec<Rear>,
    /// Which pictures does an engine start interrupt?
    pub crank: Vec<EngineStart>,
    /// What does a screen show while one relay has moved and another hasn't?
    pub races: Vec<Race>,
    /// What does a screen show while a change-over contact is in transfer?
    pub gaps: Vec<Gap>,
    /// What does a bouncing button change?
    pub bounces: Vec<Bounce>,
    /// Do hazards disturb a screen?
    pub hazards: Vec<Hazards>,
    /// How long does a relay that follows a flasher last?
    pub wear: Vec<Wear>,
    /// Does a screen keep the last frame of a picture that has gone?
    pub frozen: Vec<Frozen>,
    /// Does each part that must work within a time, or steadily, do so?
    pub works: Vec<WorksInTime>,
    /// Screens with more states than were tried, and how many they have.
    pub left_out: Vec<(ScreenId, usize)>,
}

/// Answers the standing questions.
pub fn standing(solved: &Solved) -> Standing {
    answers(solved, true)
}

/// The same without leaving out what can't move a screen: slow, for tests of that shortcut.
#[cfg(test)]
pub fn standing_of_all(solved: &Solved) -> Standing {
    answers(solved, false)
}

/// Three askers side by side, the longest first; each keeps what it has played for its own questions.
fn answers(solved: &Solved, leaves_out: bool) -> Standing {
    let new_asker = || {
        let mut asker = Asker::new(solved);
        asker.leaves_out = leaves_out;
        asker
    };
    let relays = gap::Relays::new(solved);
    let arrivals = || {
        let mut asker = new_asker();
        let within = within::ask(&mut asker, &mut within::MovesIntoViews::default());
        let held_over = held_over::ask(&mut asker, &within);
        let left_out = asker.left_out();
        Standing { within, held_over, left_out, ..Standing::default() }
    };
    let rear_views = || {
        let mut asker = new_asker();
        let rear = rear::ask(&mut asker, &mut within::MovesIntoViews::default());
        let left_out = asker.left_out();
        Standing { rear, left_out, ..Standing::default() }
    };
    let others = || {
        let mut asker = new_asker();
        let standing = Standing {
            steady: steady::ask(&mut asker),
            races: race::ask(&mut asker),
            gaps: gap::ask(&mut asker, &relays),
            bounces: bounce::ask(&mut asker),
            hazards: hazards::ask(&mut asker),
            wear: wear::ask(&mut asker),
            crank: engine_start::ask(&mut asker),
            frozen: frozen::ask(&mut asker),
            works: works::ask(&mut asker),
            ..Standing::default()
        };
        Standing { left_out: asker.left_out(), ..standing }
    };
    let (rear_views, (others, arrivals)) = threads::both(rear_views, || threads::both(others, arrivals));
    let all = [&arrivals, &rear_views, &others].into_iter().flat_map(|standing| standing.left_out.iter().copied());
    let left_out: BTreeMap<ScreenId, usize> = all.collect();
    let (Standing { within, held_over, .. }, rear) = (arrivals, rear_views.rear);
    Standing { within, held_over, rear, left_out: left_out.into_iter().collect(), ..others }
}
