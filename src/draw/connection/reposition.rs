//! Moving one item of a column: what every position would cost, and the move itself.

use super::cost;
use super::diagram::{EndId, PartShape};
use super::ordering::{CROSSING, ColumnOrder, Item, LEFT, RIGHT, STRAY_LANE, Slot, Spot, alternate};
use super::pin_sides::pull;
use std::sync::Arc;

/// Whether the first item may be moved past the second: a lane past everything, a part past lanes and parts of its
/// own place, a frame's edge past nothing.
fn may_pass(order: &ColumnOrder, item: Item, other: Item) -> bool {
    match (item, other) {
        (Item::Lane(_), _) | (Item::Part(_), Item::Lane(_)) => true,
        (Item::Part(a), Item::Part(b)) => order.diagram.parts[a].place == order.diagram.parts[b].place,
        _ => false,
    }
}

/// Every index that an item may be moved to, with the change of the price.
pub(super) fn positions(order: &ColumnOrder, column: usize, index: usize) -> Vec<(usize, i64)> {
    let items = &order.columns[column];
    let mut own: [Vec<Spot>; 2] = Default::default();
    for side in [LEFT, RIGHT] {
        order.each_spot(column, items[index], side, |spot| own[side].push(spot));
    }
    let mut found = vec![(index, 0)];
    let mut change = 0;
    for at in (0..index).rev() {
        if !may_pass(order, items[index], items[at]) {
            break;
        }
        change += pass_change(order, column, items[index], items[at], &own, true);
        found.push((at, change));
    }
    change = 0;
    for at in index + 1..items.len() {
        if !may_pass(order, items[index], items[at]) {
            break;
        }
        change += pass_change(order, column, items[index], items[at], &own, false);
        found.push((at, change));
    }
    found
}

/// How the price changes when an item passes another one on its way up or down its column, as long as nothing else
/// has moved. Passing a spot of another strand turns crossing it into not crossing it and back; of a strand with
/// both spots on this side of the column the farther one undoes what the nearer one did.
fn pass_change(order: &ColumnOrder, column: usize, item: Item, other: Item, own: &[Vec<Spot>; 2], upward: bool) -> i64 {
    let mut crossings = 0;
    for side in [LEFT, RIGHT] {
        let same_edge = |spot: i32| (spot >= 0) == (side == RIGHT);
        // Along a left edge numbers grow downwards, along a right edge they shrink.
        let grows = (side == RIGHT) != upward;
        order.each_spot(column, other, side, |(theirs, which)| {
            let here = order.spots[theirs][which];
            let there = order.spots[theirs][1 - which];
            for &(ours, our_which) in &own[side] {
                // A strand from the item to itself changes sides twice.
                let to_itself = own[side].iter().any(|&(strand, w)| strand == ours && w != our_which);
                if ours == theirs || to_itself {
                    continue;
                }
                let from = order.spots[ours][our_which];
                let our_other = order.spots[ours][1 - our_which];
                // Two strands that both join the two items change sides twice.
                let theirs_joins_us = own[side].iter().any(|&(strand, w)| strand == theirs && w != which);
                if theirs_joins_us && is_on(order, column, other, side, ours, our_other) {
                    continue;
                }
                // Of two ends that must be passed the nearer one has been passed before.
                let passed = |spot: i32| {
                    let on_way = if grows { from < spot && spot < here } else { here < spot && spot < from };
                    same_edge(spot) && on_way
                };
                let undone = passed(if theirs_joins_us { our_other } else { there });
                let crosses = alternate(order.spots[ours], order.spots[theirs]) != undone;
                crossings += if crosses { -1 } else { 1 };
            }
        });
    }
    CROSSING * crossings + stray_change(order, column, item, other, upward)
}

/// Whether the strand has a spot on this side of an item at this number.
fn is_on(order: &ColumnOrder, column: usize, item: Item, side: usize, strand: usize, number: i32) -> bool {
    let mut found = false;
    order.each_spot(column, item, side, |(s, which)| found |= s == strand && order.spots[s][which] == number);
    found
}

/// What passing the edge of a frame means for a lane.
fn stray_change(order: &ColumnOrder, column: usize, item: Item, other: Item, upward: bool) -> i64 {
    let change = |wire: usize, from: Option<usize>, to: Option<usize>| {
        let strays = |inside| i64::from(cost::is_stray(order, wire, column, inside));
        STRAY_LANE * (strays(to) - strays(from))
    };
    match (item, other) {
        (Item::Lane(wire), Item::Top(place)) if upward => change(wire, Some(place), None),
        (Item::Lane(wire), Item::Bottom(place)) if upward => change(wire, None, Some(place)),
        (Item::Lane(wire), Item::Top(place)) => change(wire, None, Some(place)),
        (Item::Lane(wire), Item::Bottom(place)) => change(wire, Some(place), None),
        _ => 0,
    }
}

/// Moves an item of a column to another index.
pub(super) fn shift(order: &mut ColumnOrder, column: usize, from: usize, to: usize) {
    if from < to {
        order.columns[column][from..=to].rotate_left(1);
    } else if to < from {
        order.columns[column][to..=from].rotate_right(1);
    } else {
        return;
    }
    order.renumber(column);
}

/// Moves an item to the cheapest position in its column, and returns the change of the price.
pub(super) fn settle_item(order: &mut ColumnOrder, column: usize, item: Item) -> i64 {
    let Some(index) = order.columns[column].iter().position(|&i| i == item) else { return 0 };
    let best = positions(order, column, index).into_iter().min_by_key(|&(at, change)| (change, at.abs_diff(index)));
    let (to, change) = best.unwrap_or((index, 0));
    shift(order, column, index, to);
    change
}

/// Moves a part to another column, to the top of its place there. Its wires must be threaded again.
pub(super) fn move_part(order: &mut ColumnOrder, part: usize, to: usize) {
    let from = order.column_of[part];
    order.columns[from].retain(|&item| item != Item::Part(part));
    let place = order.diagram.parts[part].place;
    let top = order.columns[to].iter().position(|&item| item == Item::Top(place)).map_or(0, |i| i + 1);
    order.columns[to].insert(top, Item::Part(part));
    order.column_of[part] = to;
}

/// The wires on a part.
pub(super) fn wires_of(order: &ColumnOrder, part: usize) -> Vec<usize> {
    let mut wires: Vec<usize> =
        order.slots[part].iter().flatten().flat_map(|slot| &slot.ends).map(|end| end / 2).collect();
    wires.sort_unstable();
    wires.dedup();
    wires
}

/// Whether a wire end may not change its side on its own: its pin is bound to an edge or to a mating row.
pub(super) fn is_bound(order: &ColumnOrder, end: EndId) -> bool {
    let at = order.diagram.end(end);
    order.diagram.parts[at.part].form == PartShape::Mated || order.diagram.pin(at).edge.is_some()
}

/// Moves the slot that an end is in, with its whole connector if it is plugged in, to the other side of its part.
/// Returns the wires to be threaded again.
pub(super) fn flip(order: &mut ColumnOrder, end: EndId) -> Vec<usize> {
    let sides = Arc::make_mut(&mut order.slots[order.diagram.end(end).part]);
    for side in [LEFT, RIGHT] {
        if let Some(at) = sides[side].iter().position(|slot| slot.ends.contains(&end)) {
            let dock = sides[side][at].dock;
            let goes = |i: usize, slot: &Slot| if dock.is_some() { slot.dock == dock } else { i == at };
            let (moved, kept): (Vec<_>, Vec<_>) =
                std::mem::take(&mut sides[side]).into_iter().enumerate().partition(|(i, slot)| goes(*i, slot));
            sides[side] = kept.into_iter().map(|(_, slot)| slot).collect();
            let wires = moved.iter().flat_map(|(_, slot)| &slot.ends).map(|end| end / 2).collect();
            sides[1 - side].extend(moved.into_iter().map(|(_, slot)| slot));
            return wires;
        }
    }
    Vec::new()
}

/// Exchanges the frames of two places, one below the other, in every column that they share. Returns the parts in them.
pub(super) fn exchange_frames(order: &mut ColumnOrder, upper: usize, lower: usize) -> Vec<usize> {
    let mut parts = Vec::new();
    for column in 0..order.columns.len() {
        let stack = &mut Arc::make_mut(&mut order.stacks)[column];
        let Some(at) = stack.windows(2).position(|pair| pair == [upper, lower]) else { continue };
        stack.swap(at, at + 1);
        let items = &order.columns[column];
        let index = |item: Item| items.iter().position(|&other| other == item).unwrap_or(0);
        let [top, bottom] = [index(Item::Top(upper)), index(Item::Bottom(upper))];
        let [below, foot] = [index(Item::Top(lower)), index(Item::Bottom(lower))];
        let pieces = [&items[..top], &items[below..=foot], &items[bottom + 1..below], &items[top..=bottom]];
        let exchanged: Vec<Item> = pieces.into_iter().chain([&items[foot + 1..]]).flatten().copied().collect();
        parts.extend(exchanged[top..=foot].iter().filter_map(|item| match item {
            Item::Part(part) => Some(*part),
            _ => None,
        }));
        order.columns[column] = exchanged;
        order.renumber(column);
    }
    parts
}

/// Exchanges the halves of a mated pair. Its wires must be threaded again.
pub(super) fn turn_round(order: &mut ColumnOrder, part: usize) {
    Arc::make_mut(&mut order.slots[part]).swap(LEFT, RIGHT);
}

/// Turns the slots of a part, and those its wires lead to, towards each other. Returns the wires to be threaded
/// again, the part's own among them.
pub(super) fn face(order: &mut ColumnOrder, part: usize) -> Vec<usize> {
    let mut wires = wires_of(order, part);
    for end in wires.clone().into_iter().flat_map(|wire| [2 * wire, 2 * wire + 1]) {
        let at = order.diagram.end(end).part;
        if is_bound(order, end) {
            continue;
        }
        let (mut towards, mut on) = (0, LEFT);
        for side in [LEFT, RIGHT] {
            let Some(slot) = order.slots[at][side].iter().find(|slot| slot.ends.contains(&end)) else { continue };
            let group =
                order.slots[at][side].iter().filter(|s| *s == slot || (s.dock.is_some() && s.dock == slot.dock));
            towards = group.map(|s| pull(order.diagram, &order.column_of, &s.ends)).sum();
            on = side;
        }
        if (on == LEFT && towards > 0) || (on == RIGHT && towards < 0) {
            wires.extend(flip(order, end));
        }
    }
    wires.sort_unstable();
    wires.dedup();
    wires
}
