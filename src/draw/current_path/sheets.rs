//! Where a wide job is cut into sheets: as few as it takes, evenly filled, never through a box, best where a function
//! ends and nothing goes across.

use super::column_widths::{Column, STEP};
use super::placed::Placed;

/// The price of a line that goes on to the next sheet, of a function that does, and of a sheet that is empty.
const ACROSS: f64 = 1.0;
const FUNCTION: f64 = 2.0;
const EMPTY: f64 = 12.0;

/// The columns of each sheet, first and last. `room` is the width there is for columns.
pub(super) fn cut(columns: &[Column], placed: &Placed, room: f64) -> Vec<[usize; 2]> {
    let count = columns.len();
    let whole = |end: usize| placed.may_cut_after(end);
    let begins = |column: usize| placed.groups.iter().any(|group| group.column == column);
    // The best way to share the first columns: how many sheets, their price, and where the last one begins.
    let mut best: Vec<Option<(usize, f64, usize)>> = vec![None; count + 1];
    best[0] = Some((0, 0.0, 0));
    for end in 0..count {
        if end + 1 < count && !whole(end) {
            continue;
        }
        let across = placed.across.iter().filter(|a| a.from <= end && end < a.to).count() as f64;
        let seam = if end + 1 == count { 0.0 } else { ACROSS * across + if begins(end + 1) { 0.0 } else { FUNCTION } };
        for start in (0..=end).rev() {
            let width = columns[end].x + columns[end].right - columns[start].x + columns[start].left;
            // A box wider than the sheet: the sheet grows.
            let single = !(start..end).any(whole);
            if width > room && !single {
                break;
            }
            let Some((sheets, price, _)) = best[start] else { continue };
            let empty = if room.is_finite() { (1.0 - width / room).max(0.0) } else { 0.0 };
            let found = (sheets + 1, price + seam + EMPTY * empty * empty, start);
            if best[end + 1].is_none_or(|known| (found.0, found.1) < (known.0, known.1)) {
                best[end + 1] = Some(found);
            }
        }
    }
    let mut sheets = Vec::new();
    let mut end = count;
    while let Some((_, _, start)) = best[end].filter(|_| end > 0) {
        sheets.push([start, end - 1]);
        end = start;
    }
    sheets.reverse();
    sheets
}

/// The width of the widest stretch of columns that is never cut, if lines make it wide; a single box may be wider than a
/// sheet.
pub(super) fn widest(columns: &[Column], placed: &Placed) -> f64 {
    let (mut widest, mut first) = (0.0, 0);
    for last in 0..columns.len() {
        if last + 1 == columns.len() || placed.may_cut_after(last) {
            let width = columns[last].x + columns[last].right - columns[first].x + columns[first].left;
            let joins = placed.joined.iter().any(|joined| (first..=last).contains(&joined.columns[0]));
            widest = if joins { f64::max(widest, width) } else { widest };
            first = last + 1;
        }
    }
    widest
}

/// The most that is added between two columns.
const WIDER: f64 = 25.0;

/// Spreads the columns of each sheet evenly, up to the width of the widest sheet that is not wider than `room`.
pub(super) fn fill(columns: &mut [Column], cuts: &[[usize; 2]], room: f64) {
    let width = |columns: &[Column], [first, last]: [usize; 2]| {
        columns[last].x + columns[last].right - columns[first].x + columns[first].left
    };
    let widths = cuts.iter().map(|&cut| width(columns, cut));
    let widest = widths.filter(|width| *width <= room + 1e-6).fold(0.0, f64::max);
    for &[first, last] in cuts {
        let spare = (widest - width(columns, [first, last])).max(0.0);
        let more = (spare / (last - first).max(1) as f64).min(WIDER);
        for (i, column) in columns[first..=last].iter_mut().enumerate() {
            column.x += (more * i as f64 / STEP + 1e-9).floor() * STEP;
        }
    }
}
