//! The cost of an order: exact for crossings and lanes, estimated for what depends on positions.

use super::ordering::{CROSSING, ColumnOrder, Item, LANE, LEFT, RETURN, RIGHT, STRAY_LANE, Slot};
use super::placed::Priced;
use super::sizes::{PIN_ROWS, ROW, footer_rows, header_rows};
use kit::geometry::Size;

/// Cost of a row of the sheet's height.
const HEIGHT: i64 = 2;
/// Price of a corner.
const TURN: i64 = 2;
/// What a strand that returns to its own edge costs, in corners.
const LOOP: usize = 3;
/// Rows of a wire's rise or fall that cost 1.
const CLIMB_ROWS: i64 = 8;

/// The price of the whole order.
pub(super) fn price(order: &ColumnOrder) -> i64 {
    CROSSING * order.crossings() as i64
        + LANE * order.lane_count() as i64
        + STRAY_LANE * stray_lanes(order) as i64
        + RETURN * order.returns() as i64
}

/// The price of the order plus the estimated cost of the sheet's height, of the wires' rise and fall, and of corners.
pub(super) fn cost(order: &ColumnOrder) -> i64 {
    price(order) + HEIGHT * height(order) + climb(order) / CLIMB_ROWS + TURN * turns(order) as i64
}

/// An estimate of the placed diagram's price, to choose between drafts: see `PlacedDiagram::price`.
pub(super) fn estimate(order: &ColumnOrder) -> f64 {
    const COLUMN_MM: f64 = 105.0;
    Priced {
        crossings: order.crossings(),
        bends: turns(order),
        length: climb(order) as f64 * ROW + (order.lane_count() + order.diagram.wires.len()) as f64 * COLUMN_MM,
        size: Size::new(order.columns.len() as f64 * COLUMN_MM, height(order) as f64 * ROW),
    }
    .price()
}

/// An estimate of the corners of all wires: a strand between two spots on one edge of its channel turns twice, and is
/// longer by the labels that it goes round; any other turns twice in every second case.
fn turns(order: &ColumnOrder) -> usize {
    let mut turns = 0;
    for wire in 0..order.diagram.wires.len() {
        let (first, last) = order.channels_of(wire);
        for channel in first..=last {
            let [a, b] = order.spots[order.strand(wire, channel)];
            turns += if (a < 0) == (b < 0) { LOOP } else { 1 };
        }
    }
    turns
}

/// About how many rows all wires go up and down, with every column filled from the top.
fn climb(order: &ColumnOrder) -> i64 {
    let mut rows = vec![[0_i64; 2]; order.spots.len()];
    for column in 0..order.columns.len() {
        let mut top = 0;
        for &item in &order.columns[column] {
            for side in [LEFT, RIGHT] {
                let mut row = top;
                order.each_spot(column, item, side, |(strand, which)| {
                    rows[strand][which] = row;
                    row += PIN_ROWS;
                });
            }
            top += match item {
                Item::Part(part) => part_rows(order, part),
                Item::Lane(_) => 1,
                Item::Top(_) | Item::Bottom(_) => 2,
            };
        }
    }
    rows.iter().map(|[a, b]| (a - b).abs()).sum()
}

/// About how many rows the drawing will take: in each bay the tallest column of every frame and of every space
/// between frames, summed; the maximum of these.
pub(super) fn height(order: &ColumnOrder) -> i64 {
    let mut tallest = 0;
    let mut column = 0;
    let mut bay: Vec<i64> = Vec::new();
    while column < order.columns.len() {
        bay.clear();
        let stack = &order.stacks[column];
        while column < order.columns.len() && order.stacks[column] == *stack {
            let (mut segment, mut rows) = (0, 0);
            for &item in &order.columns[column] {
                rows += match item {
                    Item::Part(part) => part_rows(order, part),
                    Item::Lane(_) => 1,
                    Item::Top(_) | Item::Bottom(_) => {
                        bay.resize(bay.len().max(segment + 1), 0);
                        bay[segment] = bay[segment].max(rows);
                        (segment, rows) = (segment + 1, 0);
                        0
                    }
                };
            }
            bay.resize(bay.len().max(segment + 1), 0);
            bay[segment] = bay[segment].max(rows);
            column += 1;
        }
        tallest = tallest.max(bay.iter().sum::<i64>());
    }
    tallest
}

/// Rows that a part takes with the space below it.
fn part_rows(order: &ColumnOrder, part: usize) -> i64 {
    let rows = |side: usize| order.slots[part][side].iter().map(Slot::rows).sum::<usize>();
    let drawn = &order.diagram.parts[part];
    header_rows(drawn) + PIN_ROWS * rows(LEFT).max(rows(RIGHT)).max(1) as i64 + footer_rows(drawn)
}

fn stray_lanes(order: &ColumnOrder) -> usize {
    let mut strays = 0;
    for (column, items) in order.columns.iter().enumerate() {
        let mut inside = None;
        for &item in items {
            match item {
                Item::Top(place) => inside = Some(place),
                Item::Bottom(_) => inside = None,
                Item::Lane(wire) => strays += usize::from(is_stray(order, wire, column, inside)),
                Item::Part(_) => {}
            }
        }
    }
    strays
}

/// Whether a wire passes a place's frame without an end there, or passes a column outside the frames of its ends that
/// one of them reaches.
pub(super) fn is_stray(order: &ColumnOrder, wire: usize, column: usize, inside: Option<usize>) -> bool {
    let own = order.diagram.wires[wire].ends.map(|end| order.diagram.parts[end.part].place);
    match inside {
        Some(place) => !own.contains(&place),
        None => own.iter().any(|place| order.stacks[column].contains(place)),
    }
}
