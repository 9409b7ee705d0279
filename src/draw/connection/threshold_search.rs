//! Changes of side, column and height that pay: a long series of small changes; a slightly worse one is also
//! taken as long as it stays below a threshold that sinks to nothing (threshold accepting; G. Dueck, T. Scheuer, 1990).
//! The series is always the same, so the drawing is too.

use super::diagram::{EndId, PartShape};
use super::first_order::sift;
use super::ordering::{CROSSING, ColumnOrder, Item};
use super::{cost, pin_order, reposition};

/// One change in this number exchanges two frames.
const FRAMES_ONCE_IN: usize = 12;

/// One change to try.
#[derive(Debug, Clone, Copy)]
enum Change {
    /// The slot with this wire end, to the other side of its part.
    Flip(EndId),
    /// Both halves of a mated pair.
    TurnRound(usize),
    /// The part into this column.
    Column(usize, usize),
    /// The frames of two places, one below the other.
    Frames(usize, usize),
}

/// A repeatable series (the generator of D. Knuth, *MMIX*, 1999).
struct Series(u64);

impl Series {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % bound.max(1) as u64) as usize
    }
}

/// Tries the given number of changes of a series and leaves the best order found.
pub(super) fn search(order: &mut ColumnOrder, tries: usize, series: u64) {
    if order.diagram.wires.is_empty() || tries == 0 {
        return;
    }
    let mut series = Series(series + 1);
    let mut price = cost::cost(order);
    let (mut best, mut best_price) = (order.clone(), price);
    let mut before = order.clone();
    let start = (price as f64 * 0.012).max(CROSSING as f64);
    for step in 0..tries {
        let threshold = (start * (1.0 - (step as f64 + 1.0) / (tries as f64 * 0.85))).max(0.0) as i64;
        let change = if series.below(3) > 0 { pick(order, &mut series) } else { None };
        let now = match change {
            Some(change) => changed(order, &mut before, change, price + threshold),
            None => shifted(order, &mut before, &mut series, price, threshold),
        };
        price = now.unwrap_or(price);
        if price < best_price {
            best.copy(order);
            best_price = price;
        }
    }
    *order = best;
    sift(order, 4);
}

/// Moves a part within its column if that is cheap enough, and returns the new price.
fn shifted<'a>(
    order: &mut ColumnOrder<'a>,
    before: &mut ColumnOrder<'a>,
    series: &mut Series,
    price: i64,
    threshold: i64,
) -> Option<i64> {
    let part = series.below(order.diagram.parts.len());
    let column = order.column_of[part];
    let index = order.columns[column].iter().position(|&item| item == Item::Part(part))?;
    let positions = reposition::positions(order, column, index);
    let (to, change) = positions[series.below(positions.len())];
    if to == index || change > threshold + CROSSING {
        return None;
    }
    before.copy(order);
    reposition::shift(order, column, index, to);
    sort_around(order, &reposition::wires_of(order, part));
    accepted(order, before, price + threshold)
}

/// Changes a side or a column if that is cheap enough, and returns the new price.
fn changed<'a>(order: &mut ColumnOrder<'a>, before: &mut ColumnOrder<'a>, change: Change, most: i64) -> Option<i64> {
    before.copy(order);
    let (part, wires) = match change {
        Change::Flip(end) => (order.diagram.end(end).part, reposition::flip(order, end)),
        Change::TurnRound(part) => {
            reposition::turn_round(order, part);
            (part, reposition::wires_of(order, part))
        }
        Change::Column(part, to) => {
            reposition::move_part(order, part, to);
            (part, reposition::face(order, part))
        }
        Change::Frames(upper, lower) => {
            let parts = reposition::exchange_frames(order, upper, lower);
            let mut wires: Vec<usize> = parts.iter().flat_map(|&part| reposition::wires_of(order, part)).collect();
            wires.sort_unstable();
            wires.dedup();
            settle_column_lanes(order, &wires);
            sort_around(order, &wires);
            return accepted(order, before, most);
        }
    };
    for (column, wire) in order.thread(&wires) {
        reposition::settle_item(order, column, Item::Lane(wire));
    }
    if !matches!(change, Change::Flip(_)) {
        reposition::settle_item(order, order.column_of[part], Item::Part(part));
    }
    sort_around(order, &wires);
    accepted(order, before, most)
}

/// Moves the lanes of some wires to their cheapest positions.
fn settle_column_lanes(order: &mut ColumnOrder, wires: &[usize]) {
    for &wire in wires {
        let (first, last) = order.channels_of(wire);
        for column in first..last {
            reposition::settle_item(order, column, Item::Lane(wire));
        }
    }
}

/// Keeps the order as it is if it costs at most this, or exchanges it for what was before.
fn accepted<'a>(order: &mut ColumnOrder<'a>, before: &mut ColumnOrder<'a>, most: i64) -> Option<i64> {
    let now = cost::cost(order);
    if now > most {
        std::mem::swap(order, before);
        return None;
    }
    Some(now)
}

/// A change to try; `None` if the chosen one is not possible.
fn pick(order: &ColumnOrder, series: &mut Series) -> Option<Change> {
    let part = series.below(order.diagram.parts.len());
    let place = order.diagram.parts[part].place;
    if series.below(FRAMES_ONCE_IN) == 0 {
        let stack = &order.stacks[order.column_of[part]];
        let at = stack.iter().position(|&other| other == place)?;
        return stack.get(at + 1).map(|&below| Change::Frames(place, below));
    }
    let columns: Vec<usize> =
        (0..order.stacks.len()).filter(|&c| c != order.column_of[part] && order.stacks[c].contains(&place)).collect();
    if series.below(2) == 0
        && let Some(&to) = columns.get(series.below(columns.len()))
    {
        return Some(Change::Column(part, to));
    }
    let end = series.below(2 * order.diagram.wires.len());
    let part = order.diagram.end(end).part;
    match order.diagram.parts[part].form {
        PartShape::Mated => Some(Change::TurnRound(part)),
        _ => (!reposition::is_bound(order, end)).then_some(Change::Flip(end)),
    }
}

/// Sorts the pins of all parts that some wires join.
pub(super) fn sort_around(order: &mut ColumnOrder, wires: &[usize]) {
    let mut parts: Vec<usize> =
        wires.iter().flat_map(|&wire| order.diagram.wires[wire].ends).map(|end| end.part).collect();
    parts.sort_unstable();
    parts.dedup();
    for part in parts {
        pin_order::sort_pins(order, part);
    }
}
