//! How large symbols are, and how large a box has to be for its words.

use kit::font;
use kit::lines::{MODULE, SMALL};

/// A symbol from port to port.
pub(super) const SYMBOL: f64 = 10.0;
/// The smallest width of a box.
const NARROWEST: f64 = 32.5;
/// Lines of a box's title, and the room left and right of them.
const TITLE_LINES: usize = 2;
pub(super) const TITLE_EDGES: f64 = 4.0;
/// The height of a box whose title takes one line, and of one whose title takes two.
const ONE_LINE: f64 = 20.0;
pub(super) const TALLEST: f64 = 22.5;

/// The smallest width of a box: the first phrase of its title has room on its lines.
pub(super) fn least_width(title: &str) -> f64 {
    let phrase = title.split(", ").next().unwrap_or_default();
    let steps = (0..40).map(|step| NARROWEST + MODULE / 2.0 * f64::from(step));
    let fits = |width: &f64| font::filled(phrase, width - TITLE_EDGES, SMALL, false).len() <= TITLE_LINES;
    steps.into_iter().find(fits).unwrap_or(NARROWEST)
}

/// The height of a box: no taller than its title needs where the box is narrowest.
pub(super) fn height(title: &str) -> f64 {
    let room = least_width(title) - TITLE_EDGES;
    if font::phrases(title, room, (SMALL, false), TITLE_LINES).len() > 1 { TALLEST } else { ONE_LINE }
}

/// Lines that the title of a box of a height takes at most.
pub(super) fn title_lines(height: f64) -> usize {
    if height < TALLEST { 1 } else { TITLE_LINES }
}
