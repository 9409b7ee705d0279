//! Last changes to an order, each judged by the finished drawing: the cost of an order does not see which wires are level.

use super::ordering::{CROSSING, ColumnOrder, Item};
use super::placed::PlacedDiagram;
use super::reposition;
use super::threshold_search::sort_around;

/// Tries moves on a drawing of this price until none makes it better, and no more than `most`. A move may cost one
/// crossing: the pins that are sorted after it may save that again.
pub(super) fn polish<'a>(
    (mut price, mut order, mut placed): (f64, ColumnOrder<'a>, PlacedDiagram),
    most: usize,
    finish: impl Fn(&ColumnOrder<'a>) -> Option<(f64, PlacedDiagram)>,
) -> (ColumnOrder<'a>, PlacedDiagram) {
    let mut tries = 0;
    loop {
        let before = price;
        for column in 0..order.columns.len() {
            for index in 0..order.columns[column].len() {
                for (to, change) in reposition::positions(&order, column, index) {
                    if to == index || change > CROSSING || tries == most {
                        continue;
                    }
                    tries += 1;
                    let moved = moved(&order, column, index, to);
                    if let Some((now, drawn)) = finish(&moved)
                        && now < price
                    {
                        (order, placed, price) = (moved, drawn, now);
                        break;
                    }
                }
            }
        }
        if price >= before || tries == most {
            return (order, placed);
        }
    }
}

/// The order with an item at another index, the pins at the far ends of its wires sorted for it.
fn moved<'a>(order: &ColumnOrder<'a>, column: usize, from: usize, to: usize) -> ColumnOrder<'a> {
    let mut moved = order.clone();
    let wires = match order.columns[column][from] {
        Item::Part(part) => reposition::wires_of(order, part),
        Item::Lane(wire) => vec![wire],
        Item::Top(_) | Item::Bottom(_) => Vec::new(),
    };
    reposition::shift(&mut moved, column, from, to);
    sort_around(&mut moved, &wires);
    moved
}
