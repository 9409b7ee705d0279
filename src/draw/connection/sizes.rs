//! Measures of a connection diagram on paper, millimetres unless said otherwise.

use super::diagram::{Diagram, DiagramPart, DiagramWire, PartShape, SheetExit};
use super::ordering::{LEFT, RIGHT, Slot};
use kit::{font, lines};

/// Rows of the drawing's grid: passing wires may stand in adjacent rows, pins in every second one.
pub(super) const ROW: f64 = 2.1;
/// Between the tracks of vertical wire pieces.
pub(super) const TRACK: f64 = 2.1;
/// Rows from pin to pin.
pub(super) const PIN_ROWS: i64 = 2;

/// Font size of part names; of pin names and of the numbers and colours of wires; of titles and notes.
pub(super) const NAME_TEXT: f64 = lines::NAME;
/// See [`NAME_TEXT`].
pub(super) const TEXT: f64 = lines::LABEL;
/// See [`NAME_TEXT`].
pub(super) const WORDS: f64 = lines::SMALL;
/// From one line of a title to the next.
pub(super) const TITLE_LINE: f64 = 3.3;
/// Font size of place names.
pub(super) const PLACE_TEXT: f64 = 4.2;
/// From a part's edge to the label of a wire, and from the label to what comes next.
pub(super) const LABEL_GAP: f64 = 1.6;
/// From a wire's middle up to the base line of its label, which has no descenders: clear of this wire and of the next.
pub(super) const LABEL_LIFT: f64 = 1.26;
/// From a part's edge to the pin names inside.
pub(super) const PIN_INSET: f64 = 2.2;
/// Between a pin's name and its note.
pub(super) const PIN_NOTE_GAP: f64 = 1.1;
/// Between the pin names of the two edges.
pub(super) const PIN_NAMES_APART: f64 = 5.0;
/// Between the faces of two mated halves.
pub(super) const MATE_GAP: f64 = 5.0;

/// Between the number in a label and the rest of it.
pub(super) const LABEL_SPACE: f64 = 1.2;
/// Width of the bar of splices and grounds, where wires are joined.
pub(super) const BAR: f64 = 2.0;
/// Between the cavity names of a plugged connector and its edges.
const DOCK_INSET: f64 = 1.8;

/// Rows from a part's top to its first pin, leaving room for name and title.
pub(super) fn header_rows(part: &DiagramPart) -> i64 {
    let lines = part.title.len().max(part.mate.as_ref().map_or(0, |mate| mate.title.len()));
    // The name of a bar stands above the labels beside it.
    let name = if matches!(part.form, PartShape::Ground | PartShape::Splice) { 4 } else { 3 };
    name + (lines as f64 * TITLE_LINE / ROW).ceil() as i64
}

/// Rows from a part's last pin to its bottom.
pub(super) fn footer_rows(part: &DiagramPart) -> i64 {
    if part.form == PartShape::Ground { 3 } else { 1 }
}

/// A first guess at the rows a part takes with the space around it, before its sides are known.
pub(super) fn rows_wanted(part: &DiagramPart) -> i64 {
    let pins = part.pins.iter().filter(|pin| pin.plugged.is_none_or(|p| p.meets.is_none())).count();
    let rows = pins.div_ceil(2) + usize::from(part.form != PartShape::Mated);
    header_rows(part) + PIN_ROWS * rows as i64 + 2 + footer_rows(part)
}

/// The index of the part's own pin at a slot: of a plugged cavity the pin that it mates with, else the slot's pin.
pub(super) fn own_pin(part: &DiagramPart, pin: usize) -> Option<usize> {
    match part.pins[pin].plugged {
        Some(plugged) => plugged.meets,
        None => Some(pin),
    }
}

/// Width of a pin's name and note side by side.
pub(super) fn pin_width(part: &DiagramPart, pin: usize) -> f64 {
    let pin = &part.pins[pin];
    let note = if pin.note.is_empty() { 0.0 } else { PIN_NOTE_GAP + font::width(&pin.note, WORDS, false) };
    font::width(&pin.name, TEXT, true) + note
}

/// How far the connectors plugged into one side of a part stand out of it.
pub(super) fn dock_depth(part: &DiagramPart, slots: &[Slot]) -> f64 {
    let cavities = slots.iter().filter(|slot| slot.dock.is_some()).filter_map(|slot| slot.pin);
    let names = slots.iter().filter_map(|slot| slot.dock).map(|dock| font::width(&part.docks[dock], TEXT, true) + 1.0);
    let cavities = cavities.map(|pin| font::width(&part.pins[pin].name, TEXT, true) + 2.0 * DOCK_INSET);
    names.chain(cavities).fold(0.0, f64::max)
}

/// The width of a part's heading.
fn heading_width(part: &DiagramPart) -> f64 {
    let of = |name: &str, title: &[String]| {
        let lines = title.iter().map(|line| font::width(line, WORDS, false));
        lines.fold(font::width(name, NAME_TEXT, true), f64::max) + 2.0 * PIN_INSET
    };
    let own = of(&part.name, &part.title);
    let mate = part.mate.as_ref().map_or(0.0, |mate| of(&mate.name, &mate.title));
    if part.form == PartShape::Mated { 2.0 * own.max(mate) + MATE_GAP } else { own }
}

/// The width of a part's body on its own, connectors plugged into it included.
pub(super) fn part_width(part: &DiagramPart, slots: &[Vec<Slot>; 2]) -> f64 {
    const LEAST: f64 = 18.0;
    let pins = |side: usize| {
        let own = slots[side].iter().filter_map(|slot| own_pin(part, slot.pin?));
        own.map(|pin| pin_width(part, pin)).fold(0.0, f64::max)
    };
    let heading = heading_width(part);
    let core = match part.form {
        PartShape::Outline => heading.max(pins(LEFT) + pins(RIGHT) + PIN_NAMES_APART + 2.0 * PIN_INSET).max(LEAST),
        PartShape::Mated => {
            let half = |side| pins(side) + 2.0 * PIN_INSET;
            heading.max(2.0 * half(LEFT).max(half(RIGHT)) + MATE_GAP).max(LEAST)
        }
        PartShape::Supply | PartShape::Elsewhere => {
            heading.max(pins(LEFT) + pins(RIGHT) + PIN_NAMES_APART + 2.0 * PIN_INSET).max(LEAST)
        }
        PartShape::Ground | PartShape::Splice => return BAR,
    };
    core + dock_depth(part, &slots[LEFT]) + dock_depth(part, &slots[RIGHT])
}

/// The width that a part needs of its column: its body, and a heading that stands wider than that.
pub(super) fn column_width(part: &DiagramPart, slots: &[Vec<Slot>; 2]) -> f64 {
    match part.form {
        PartShape::Ground | PartShape::Splice => heading_width(part),
        _ => part_width(part, slots),
    }
}

/// Length of the head of an arrow to another sheet.
pub(super) const EXIT_HEAD: f64 = 2.0;

/// Length of the pieces of wire that lead to other sheets from one side of a part, arrow head included: one for all, so
/// that the words behind the arrows are clear of the labels in the rows beside them.
pub(super) fn exit_length(diagram: &Diagram, slots: &[Slot]) -> f64 {
    let ends = slots.iter().flat_map(|slot| &slot.ends).map(|end| &diagram.wires[end / 2]);
    let exits = slots.iter().flat_map(|slot| &slot.exits).map(|&exit| &diagram.exits[exit].wire);
    ends.chain(exits).map(label_width).fold(0.0, f64::max) + 2.0 * LABEL_GAP + EXIT_HEAD
}

/// From an arrow to another sheet to the end of the words behind it.
pub(super) fn exit_words(exit: &SheetExit) -> f64 {
    2.0 * PIN_NOTE_GAP + font::width(&exit.far, TEXT, true) + font::width(&exit.zone, WORDS, false)
}

/// Width of the label of a wire.
pub(super) fn label_width(wire: &DiagramWire) -> f64 {
    if wire.number.is_empty() {
        return font::width(&wire.label, TEXT, false);
    }
    font::width(&wire.number, TEXT, true) + LABEL_SPACE + font::width(&wire.label, TEXT, false)
}
