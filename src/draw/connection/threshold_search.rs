//! Changes of side, column and height that pay: a long series of small changes, of which also a slightly worse one is
//! taken as long as it stays below a threshold that sinks to nothing (threshold accepting; G. Dueck, T. Scheuer, 1990).
//! The series is always the same, so the drawing is too.

use super::diagram::{EndId, PartForm};
use super::first_order::sift;
use super::ordering::{CROSSING, ColumnOrder, Item};

/// One change to try.
#[derive(Debug, Clone, Copy)]
enum Change {
    /// The slot with this wire end, to the other side of its part.
    Flip(EndId),
    /// Both halves of a mated pair.
    TurnRound(usize),
    /// The part into this column.
    Column(usize, usize),
}

/// A repeatable series (the generator of D. Knuth, *MMIX*, 1999).
struct Series(u64);

impl Series {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) % bound.max(1) as u64) as usize
    }
}

/// Tries so many changes and leaves the best order that was met.
pub(super) fn search(weave: &mut ColumnOrder, tries: usize) {
    if weave.diagram.wires.is_empty() || tries == 0 {
        return;
    }
    let mut series = Series(1);
    let mut price = weave.cost();
    let (mut best, mut best_price) = (weave.clone(), price);
    let start = (price as f64 * 0.012).max(CROSSING as f64);
    for step in 0..tries {
        let threshold = (start * (1.0 - (step as f64 + 1.0) / (tries as f64 * 0.85))).max(0.0) as i64;
        let change = if series.below(3) > 0 { pick(weave, &mut series) } else { None };
        let now = match change {
            Some(change) => changed(weave, change, price, threshold),
            None => shifted(weave, &mut series, price, threshold),
        };
        price = now.unwrap_or(price);
        if price < best_price {
            (best, best_price) = (weave.clone(), price);
        }
    }
    *weave = best;
    sift(weave, 4);
}

/// Moves a part within its column if that is cheap enough, and returns the new price.
fn shifted(weave: &mut ColumnOrder, series: &mut Series, price: i64, threshold: i64) -> Option<i64> {
    let part = series.below(weave.diagram.parts.len());
    let column = weave.column_of[part];
    let index = weave.columns[column].iter().position(|&item| item == Item::DiagramPart(part))?;
    let positions = weave.positions(column, index);
    let (to, change) = positions[series.below(positions.len())];
    if to == index || change > threshold + CROSSING {
        return None;
    }
    let before = weave.clone();
    weave.shift(column, index, to);
    sort_around(weave, &weave.wires_of(part));
    accepted(weave, before, price + threshold)
}

/// Changes a side or a column if that is cheap enough, and returns the new price.
fn changed(weave: &mut ColumnOrder, change: Change, price: i64, threshold: i64) -> Option<i64> {
    let before = weave.clone();
    let (part, wires) = match change {
        Change::Flip(end) => (weave.diagram.end(end).part, weave.flip(end)),
        Change::TurnRound(part) => {
            weave.turn_round(part);
            (part, weave.wires_of(part))
        }
        Change::Column(part, to) => {
            weave.move_part(part, to);
            (part, weave.face(part))
        }
    };
    for (column, wire) in weave.thread(&wires) {
        weave.settle_item(column, Item::Lane(wire));
    }
    if !matches!(change, Change::Flip(_)) {
        weave.settle_item(weave.column_of[part], Item::DiagramPart(part));
    }
    sort_around(weave, &wires);
    accepted(weave, before, price + threshold)
}

/// Keeps the weave as it is if it costs no more than this, or puts back what was before.
fn accepted<'a>(weave: &mut ColumnOrder<'a>, before: ColumnOrder<'a>, most: i64) -> Option<i64> {
    let now = weave.cost();
    if now > most {
        *weave = before;
        return None;
    }
    Some(now)
}

/// A change to try, none if the one that came up is not possible.
fn pick(weave: &ColumnOrder, series: &mut Series) -> Option<Change> {
    let part = series.below(weave.diagram.parts.len());
    let place = weave.diagram.parts[part].place;
    let columns: Vec<usize> =
        (0..weave.stacks.len()).filter(|&c| c != weave.column_of[part] && weave.stacks[c].contains(&place)).collect();
    if series.below(2) == 0
        && let Some(&to) = columns.get(series.below(columns.len()))
    {
        return Some(Change::Column(part, to));
    }
    let end = series.below(2 * weave.diagram.wires.len());
    let part = weave.diagram.end(end).part;
    match weave.diagram.parts[part].form {
        PartForm::Mated => Some(Change::TurnRound(part)),
        _ => (!weave.is_bound(end)).then_some(Change::Flip(end)),
    }
}

/// Sorts the pins of all parts that some wires join.
fn sort_around(weave: &mut ColumnOrder, wires: &[usize]) {
    let mut parts: Vec<usize> =
        wires.iter().flat_map(|&wire| weave.diagram.wires[wire].ends).map(|end| end.part).collect();
    parts.sort_unstable();
    parts.dedup();
    for part in parts {
        weave.sort_pins(part);
    }
}
