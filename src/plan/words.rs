//! Titles, headings and set times of what a proposal adds.

use form::Name;
use spec::{InputForm, InputKind};

/// Title of an input, for headings.
pub fn title(name: &Name, input: &InputForm) -> String {
    input.title.as_ref().map_or_else(|| sentence(name), |title| title.0.clone())
}

/// A text with a capital letter.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The shortest time that a module is set to, in seconds.
const SHORTEST: f64 = 0.5;

/// Seconds that a module must hold: the longest dark time of the flasher and three tenths more, up to a tenth of a second.
pub fn hold_time(input: &InputForm, tolerance: f64) -> f64 {
    // Pulses come some hundred times a second: the shortest time bridges them.
    if input.kind.as_ref().is_some_and(|kind| kind.value == InputKind::PulsedFeed) {
        return SHORTEST;
    }
    let rate = input.flash.map_or(60.0, |flash| flash.0.low.value());
    let share = input.duty.map_or(0.3, |duty| duty.0.low.value());
    let dark = 60.0 / rate * (1.0 - share);
    (dark * 1.3 / (1.0 - tolerance) * 10.0).ceil().max(10.0 * SHORTEST) / 10.0
}
