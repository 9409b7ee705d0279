//! Where a wide job is cut into sheets: never through a box, best where nothing goes across.

use super::column_widths::Column;
use super::placed::Placed;

/// The columns of each sheet, first and last. `room` is the width there is for columns.
pub(super) fn cut(columns: &[Column], placed: &Placed, room: f64) -> Vec<[usize; 2]> {
    let mut sheets = Vec::new();
    let mut start = 0;
    while start < columns.len() {
        let left = columns[start].x - columns[start].left;
        let fits = |last: usize| columns[last].x + columns[last].right - left <= room;
        let mut last = start;
        while last + 1 < columns.len() && fits(last + 1) {
            last += 1;
        }
        let end = if last + 1 == columns.len() { last } else { best(placed, start, last) };
        sheets.push([start, end]);
        start = end + 1;
    }
    sheets
}

/// The last column of a sheet that begins at `start` and could hold columns up to `last`.
fn best(placed: &Placed, start: usize, last: usize) -> usize {
    let through_box = |end: usize| placed.blocks.iter().any(|b| b.columns[0] <= end && end < b.columns[1]);
    let across = |end: usize| placed.across.iter().filter(|a| a.from <= end && end < a.to).count();
    let cost = |end: usize| across(end) * 4 + (last - end);
    let candidates = (start..=last).filter(|&end| !through_box(end));
    let least = start + (last - start) / 2;
    let good = candidates.clone().filter(|&end| end >= least).min_by_key(|&end| (cost(end), last - end));
    // A box wider than the sheet: the sheet grows.
    let beyond =
        || placed.blocks.iter().filter(|b| b.columns[0] <= last && last < b.columns[1]).map(|b| b.columns[1]).max();
    good.or_else(|| candidates.max()).or_else(beyond).unwrap_or(last)
}
