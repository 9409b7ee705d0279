//! Measures of a connection diagram on paper, millimetres unless said otherwise.

use super::diagram::{Diagram, Form, Part};
use super::weave::{LEFT, RIGHT, Slot};
use crate::draw::font;

/// Rows of the drawing's grid: passing wires may stand in adjacent rows, pins in every second one.
pub(super) const ROW: f64 = 2.5;
/// Between the tracks of vertical wire pieces.
pub(super) const TRACK: f64 = 2.5;
/// Rows from pin to pin.
pub(super) const PIN_ROWS: i64 = 2;

/// Font size of wire labels, pin names and titles; capitals are 2.04 mm high.
pub(super) const TEXT: f64 = 2.8;
/// Font size of part names.
pub(super) const NAME_TEXT: f64 = 3.6;
/// Font size of place names.
pub(super) const PLACE_TEXT: f64 = 4.2;
/// From a part's edge to the label of a wire, and from the label to what comes next.
pub(super) const LABEL_GAP: f64 = 1.6;
/// From a wire's middle up to the base line of its label: clear of the thickest wire with descenders.
pub(super) const LABEL_LIFT: f64 = 1.35;
/// From a part's edge to the pin names inside.
pub(super) const PIN_INSET: f64 = 2.2;
/// Between the pin names of the two edges.
pub(super) const PIN_NAMES_APART: f64 = 5.0;
/// Between the faces of two mated halves.
pub(super) const MATE_GAP: f64 = 5.0;

/// Rows from a part's top to its first pin, leaving room for name and title.
pub(super) fn header_rows(part: &Part) -> i64 {
    match part.form {
        Form::Outline | Form::Mated if part.title.is_empty() => 3,
        Form::Outline | Form::Mated => 5,
        Form::Supply | Form::Ground => 4,
        Form::Splice => 3,
    }
}

/// A first guess at the rows a part takes with the space around it, before its sides are known.
pub(super) fn rows_wanted(part: &Part) -> i64 {
    let pins = part.pins.len();
    let rows = pins.div_ceil(2) + usize::from(part.form != Form::Mated);
    header_rows(part) + PIN_ROWS * rows as i64 + 3
}

/// What is written inside a part beside a pin.
pub(super) fn pin_text(part: &Part, pin: usize) -> String {
    let pin = &part.pins[pin];
    if pin.note.is_empty() || pin.note == pin.name { pin.name.clone() } else { format!("{} {}", pin.name, pin.note) }
}

/// The width of a part on its own.
pub(super) fn part_width(part: &Part, slots: &[Vec<Slot>; 2]) -> f64 {
    const LEAST: f64 = 18.0;
    let name = font::width(&part.name, NAME_TEXT, true);
    let title = font::width(&part.title, TEXT, false);
    let heading = name.max(title) + 2.0 * PIN_INSET;
    let pins = |side: usize| {
        let texts = slots[side].iter().filter_map(|slot| slot.pin).map(|pin| pin_text(part, pin));
        texts.map(|text| font::width(&text, TEXT, false)).fold(0.0, f64::max)
    };
    match part.form {
        Form::Outline => heading.max(pins(LEFT) + pins(RIGHT) + PIN_NAMES_APART + 2.0 * PIN_INSET).max(LEAST),
        Form::Mated => {
            let half = |side| pins(side) + 2.0 * PIN_INSET;
            heading.max(2.0 * half(LEFT).max(half(RIGHT)) + MATE_GAP).max(LEAST)
        }
        Form::Supply | Form::Ground => heading.max(LEAST),
        Form::Splice => 3.0,
    }
}

/// Width of the label of a wire.
pub(super) fn label_width(diagram: &Diagram, wire: usize) -> f64 {
    font::width(&diagram.wires[wire].label, TEXT, false)
}
