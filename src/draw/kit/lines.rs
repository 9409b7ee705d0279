//! Line widths and lettering of all drawings, in one place.
//!
//! Widths step by √2 as in ISO 128 (0.18, 0.25, 0.35, 0.5, 0.7, 1.0 mm). The rule: what carries current is heavier
//! than what only explains it. Thin for references and mechanical links, symbols in the middle, wires twice as wide as
//! symbols so that their insulation colour shows, rails widest. Everything snaps to a 2.5 mm module.

use super::colour::{FAINT, INK, SOFT_INK};
use super::path::{Dash, Stroke};

/// The module all symbols and pins stand on, millimetres.
pub const MODULE: f64 = 2.5;

/// Reference lines, hatching, zone marks.
pub const THIN: f64 = 0.18;
/// Outlines of boxes that only group things; mechanical links.
pub const FINE: f64 = 0.25;
/// Symbols.
pub const SYMBOL: f64 = 0.35;
/// Sheet frame, plates of batteries.
pub const HEAVY: f64 = 0.7;
/// A wire's whole width, dark edge included.
pub const WIRE: f64 = 0.9;
/// Supply rails and the ground rail.
pub const RAIL: f64 = 1.0;

/// The smallest font size on paper, millimetres.
pub const LEAST_TEXT: f64 = 2.5;
/// The smallest font size of numbers and colours of wires, millimetres: they are read at arm's length at the bench.
pub const LEAST_NUMBER: f64 = 3.0;
/// Pin numbers and remarks: capitals of 1.8 mm, the smallest lettering of ISO 3098.
pub const SMALL: f64 = 2.5;
/// Wire labels and what a part is for.
pub const LABEL: f64 = LEAST_NUMBER;
/// Names of parts.
pub const NAME: f64 = 3.5;
/// Titles.
pub const TITLE: f64 = 5.0;

/// The line symbols are drawn with.
pub const fn symbol() -> Stroke {
    Stroke::solid(INK, SYMBOL)
}
/// A thin line that can still be read.
pub const fn fine() -> Stroke {
    Stroke::solid(SOFT_INK, FINE)
}
/// A line that only guides the eye.
pub const fn guide() -> Stroke {
    Stroke::solid(FAINT, THIN)
}
/// A mechanical link: short dashes.
pub const fn link() -> Stroke {
    Stroke::dashed(INK, FINE, Dash::even(1.2, 0.8))
}
/// The boundary of an assembly: long and short dashes.
pub const fn boundary() -> Stroke {
    Stroke::dashed(SOFT_INK, FINE, Dash::chain(5.0, 1.0, 1.0))
}
