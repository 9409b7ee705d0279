//! How wide each column is: as wide as what stands in it, on the 2.5 mm module.

use super::box_sizes;
use super::labels::{self, LONGEST, Line};
use super::piece_symbol;
use super::pieces::{Piece, Pieces};
use super::placed::Placed;
use kit::font;
use kit::lines::{LABEL, MODULE, SMALL};
use model::Model;
use states::Live;

/// A box's edge beyond its outermost pins.
pub(super) const BOX_EDGE: f64 = 7.5;
/// Between neighbours.
const GAP: f64 = 2.5;
/// From a wire to its label.
pub(super) const BESIDE: f64 = 1.4;

/// A column's place and how far its contents reach to both sides.
#[derive(Debug, Clone, Copy)]
pub(super) struct Column {
    pub x: f64,
    pub left: f64,
    pub right: f64,
}

/// The columns from left to right, starting at x = 0.
pub(super) fn columns(model: &Model, live: Option<&Live>, pieces: &Pieces, placed: &Placed) -> Vec<Column> {
    let mut columns = vec![Column { x: 0.0, left: 3.0, right: 7.0 }; placed.columns];
    let mut widen = |column: usize, left: f64, right: f64| {
        let this = &mut columns[column];
        (this.left, this.right) = (this.left.max(left), this.right.max(right));
    };
    for fall in &placed.falls {
        if let Some((wire, upper, lower)) = fall.wire {
            widen(fall.column, 0.5, BESIDE + widest(&labels::wire(model, live, wire, [upper, lower]), LABEL));
        }
    }
    for stand in &placed.stands {
        let piece = pieces.get(stand.piece);
        let body = piece_symbol::of(piece, stand, None).body;
        // Cross references are not known yet: room for two of three figures.
        let lines = labels::piece(model, piece, if piece.relay.is_some() { &[888, 888] } else { &[] });
        let (words, pins) = (widest(&lines, SMALL), beside_pins(model, piece));
        if stand.side {
            widen(stand.column, -body.left + pins + words, body.right);
        } else {
            widen(stand.column, -body.left + pins, body.right + BESIDE + words);
        }
    }
    for crossing in &placed.crossings {
        let names = model.joints[crossing.joint].pins.map(|p| labels::plain(model.pin_name(p)));
        widen(crossing.column, 2.0, 2.0 + BESIDE + widest(&names, SMALL));
    }
    for flag in &placed.flags {
        let wire = flag.wire.map_or(0.0, |w| widest(&[labels::bold(model.wire(w).id.to_string())], LABEL));
        let name = widest(&[labels::plain(labels::flag(model, flag))], SMALL);
        widen(flag.column, 4.0, (4.0 + BESIDE + name.max(10.0)).max(BESIDE + wire));
    }
    for tip in &placed.tips {
        widen(tip.column, 1.5, 1.5 + BESIDE + widest(&labels::rail(model, tip.pin), SMALL));
    }
    for &(pin, column) in placed.taps.iter().chain(&placed.grounds) {
        let lines = labels::rail(model, pin);
        let words: f64 = lines.iter().map(|line| widest(std::slice::from_ref(line), SMALL)).fold(0.0, f64::max);
        let supply = model.part(model.pin(pin).part).kind == model::PartKind::Supply;
        widen(column, 1.5, if supply { 3.0 } else { 1.5 + BESIDE + words });
    }
    for across in &placed.across {
        if across.bar {
            widen(across.from, 1.0, BESIDE + widest(&[labels::bold(model.pin_name(across.pin))], SMALL));
        }
    }
    for block in &placed.blocks {
        let [first, last] = block.columns;
        widen(first, BOX_EDGE, 0.0);
        widen(last, 0.0, BOX_EDGE);
        for &(pin, column) in block.uppers.iter().chain(&block.lowers) {
            let half = font::width(model.pin(pin).name.as_str(), SMALL, false).min(LONGEST) / 2.0 + 1.0;
            widen(column, half.min(BOX_EDGE), half);
        }
    }
    set(&mut columns);
    for block in &placed.blocks {
        let [first, last] = block.columns;
        let width = columns[last].x - columns[first].x + 2.0 * BOX_EDGE;
        let least = box_sizes::least_width(&model.part(pieces.get(block.piece).part).title);
        if width < least {
            columns[last].right = columns[last].right.max(BOX_EDGE + least - width);
        }
    }
    set(&mut columns);
    columns
}

/// The room that a piece's pin names take left of it.
pub(super) fn beside_pins(model: &Model, piece: &Piece) -> f64 {
    let widths = piece.pins.iter().map(|&p| font::width(model.pin(p).name.as_str(), SMALL, false));
    widths.fold(0.0, f64::max) + 1.8
}

/// A box's left and right edge.
pub(super) fn box_edges(model: &Model, piece: &Piece, columns: &[Column], [first, last]: [usize; 2]) -> [f64; 2] {
    let left = columns[first].x - BOX_EDGE;
    [left, (columns[last].x + BOX_EDGE).max(left + box_sizes::least_width(&model.part(piece.part).title))]
}

/// Columns stand on half modules.
pub(super) const STEP: f64 = MODULE / 2.0;

/// Gives each column its x from the widths.
fn set(columns: &mut [Column]) {
    let mut edge: Option<f64> = None;
    for column in columns {
        let x = edge.map_or(0.0, |edge| edge + GAP + column.left);
        column.x = (x / STEP - 1e-9).ceil() * STEP;
        edge = Some(column.x + column.right);
    }
}

/// The widest of some lines, as they are cut.
pub(super) fn widest(lines: &[Line], height: f64) -> f64 {
    lines.iter().map(|l| font::width(&l.text, height, l.bold).min(labels::longest(height))).fold(0.0, f64::max)
}
