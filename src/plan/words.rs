//! Titles, headings and set times of what a proposal adds.

use form::Name;
use spec::InputForm;

/// Title of an input, for headings.
pub fn title(name: &Name, input: &InputForm) -> String {
    input.title.as_ref().map_or_else(|| sentence(name), |title| title.0.clone())
}

/// A text with a capital letter.
pub fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Seconds that a module must hold: the longest dark time of the flasher and three tenths more, up to a tenth of a second.
pub fn hold_time(input: &InputForm, tolerance: f64) -> f64 {
    let rate = input.flash.map_or(60.0, |flash| flash.0.low.value());
    let share = input.duty.map_or(0.3, |duty| duty.0.low.value());
    let dark = 60.0 / rate * (1.0 - share);
    (dark * 1.3 / (1.0 - tolerance) * 10.0).ceil().max(5.0) / 10.0
}
