//! The order of pins along a part's sides.

use super::diagram::{EndId, PartShape};
use super::ordering::{ColumnOrder, Item, LEFT, RIGHT, Slot, Spot, alternate};
use std::sync::Arc;

/// Where the other spot of a strand lies as seen from a block of spots on a side: ascending in the order in which
/// the block's strands, taken from the top, do not cross each other.
fn bearing(order: &ColumnOrder, (strand, which): Spot, side: usize, block: (i32, i32)) -> i32 {
    const ROUND: i32 = 1 << 20;
    let other = order.spots[strand][1 - which];
    let here = order.spots[strand][which];
    match side {
        RIGHT if (block.0..=block.1).contains(&other) => here,
        RIGHT if other > block.1 => ROUND - other,
        RIGHT => -other - ROUND,
        _ if (block.0..=block.1).contains(&other) => -here,
        _ if other < block.0 => ROUND + other,
        _ => other - ROUND,
    }
}

/// Puts the pins of a part into the order with the fewest crossings, side by side; mating cavities, which are bound
/// to their row, one exchange at a time. Returns whether anything changed.
pub(super) fn sort_pins(order: &mut ColumnOrder, part: usize) -> bool {
    let before = Arc::clone(&order.slots[part]);
    for side in [LEFT, RIGHT] {
        sort_side(order, part, side);
    }
    let mut changed = before != order.slots[part];
    if changed {
        order.renumber(order.column_of[part]);
    }
    if order.diagram.parts[part].pins_in_order && order.diagram.parts[part].pins.len() > 2 {
        changed |= turn(order, part, None);
    }
    for dock in 0..order.diagram.parts[part].docks.len() {
        changed |= turn(order, part, Some(dock));
    }
    if order.diagram.parts[part].form == PartShape::Mated && !order.diagram.parts[part].pins_in_order {
        changed |= sift_rows(order, part);
    }
    changed
}

fn sort_side(order: &mut ColumnOrder, part: usize, side: usize) {
    let (mut low, mut high) = (i32::MAX, i32::MIN);
    order.each_spot(order.column_of[part], Item::Part(part), side, |(strand, which)| {
        let spot = order.spots[strand][which];
        (low, high) = (low.min(spot), high.max(spot));
    });
    let bearing = |end: EndId| bearing(order, order.spot_of_end(end), side, (low, high));
    let key = |end: EndId| (bearing(end), end);
    let drawn = &order.diagram.parts[part];
    let fixed = drawn.form == PartShape::Mated || drawn.pins_in_order;
    let sorted_ends = |slot: &Slot| slot.ends.is_sorted_by_key(|&end| key(end));
    let slots = &order.slots[part][side];
    let single = slots.iter().all(|slot| slot.ends.len() == 1 && slot.dock.is_none());
    if slots.iter().all(sorted_ends) && (fixed || (single && slots.is_sorted_by_key(|slot| key(slot.ends[0])))) {
        return;
    }
    let mut slots = slots.clone();
    for slot in &mut slots {
        slot.ends.sort_by_key(|&end| key(end));
    }
    if !fixed {
        // The mean bearing orders pins with several wires; for one wire each it is exact.
        let mean = |ends: &mut dyn Iterator<Item = &EndId>| {
            let (sum, count) = ends.fold((0, 0), |(sum, count), &e| (sum + i64::from(bearing(e)), count + 1));
            sum / count.max(1)
        };
        let keys = |slot: &Slot| {
            // Cavities keep the order of their housing.
            let own = match slot.dock {
                Some(_) => slots.iter().position(|other| other.pin == slot.pin).unwrap_or(0) as i64,
                None => mean(&mut slot.ends.iter()),
            };
            let dock = match slot.dock {
                Some(_) => mean(&mut slots.iter().filter(|s| s.dock == slot.dock).flat_map(|s| &s.ends)),
                None => own,
            };
            (dock, slot.dock, own, slot.ends.first().copied())
        };
        let mut keyed: Vec<_> = slots.iter().map(|slot| (keys(slot), slot.clone())).collect();
        keyed.sort_by_key(|(key, _)| *key);
        slots = keyed.into_iter().map(|(_, slot)| slot).collect();
    }
    if order.slots[part][side] != slots {
        Arc::make_mut(&mut order.slots[part])[side] = slots;
    }
}

/// Turns a connector over, the last cavity on top, where that saves crossings: its cavities keep their order. `dock`
/// names a connector plugged into the part; without it, the part itself is turned.
fn turn(order: &mut ColumnOrder, part: usize, dock: Option<usize>) -> bool {
    let mut change = 0;
    for side in [LEFT, RIGHT] {
        let slots = &order.slots[part][side];
        let own: Vec<&Slot> = slots.iter().filter(|slot| dock.is_none() || slot.dock == dock).collect();
        for (i, upper) in own.iter().enumerate() {
            change += own[i + 1..].iter().map(|lower| exchange_change(order, &upper.ends, &lower.ends)).sum::<i64>();
        }
    }
    if change >= 0 {
        return false;
    }
    for slots in Arc::make_mut(&mut order.slots[part]) {
        let spots: Vec<usize> = (0..slots.len()).filter(|&i| dock.is_none() || slots[i].dock == dock).collect();
        for (&a, &b) in spots.iter().zip(spots.iter().rev()).take(spots.len() / 2) {
            slots.swap(a, b);
        }
    }
    order.renumber(order.column_of[part]);
    true
}

/// Exchanges mating rows of a part as long as that saves crossings.
fn sift_rows(order: &mut ColumnOrder, part: usize) -> bool {
    let rows = order.slots[part][LEFT].len().min(order.slots[part][RIGHT].len());
    let mut changed = false;
    for _ in 0..rows {
        let mut better = false;
        for row in 1..rows {
            let gain = |side: usize| {
                let slots = &order.slots[part][side];
                exchange_change(order, &slots[row - 1].ends, &slots[row].ends)
            };
            if gain(LEFT) + gain(RIGHT) < 0 {
                Arc::make_mut(&mut order.slots[part]).iter_mut().for_each(|slots| slots.swap(row - 1, row));
                order.renumber(order.column_of[part]);
                better = true;
            }
        }
        if !better {
            break;
        }
        changed = true;
    }
    changed
}

/// By how many the crossings change when the ends of one pin exchange their place with those of the pin below.
fn exchange_change(order: &ColumnOrder, upper: &[EndId], lower: &[EndId]) -> i64 {
    let mut change = 0;
    for &a in upper {
        for &b in lower {
            let same_strand = a / 2 == b / 2;
            let twice = upper.contains(&(b ^ 1)) && lower.contains(&(a ^ 1));
            if !same_strand && !twice {
                let [a, b] = [a, b].map(|end| order.spots[order.spot_of_end(end).0]);
                change += if alternate(a, b) { -1 } else { 1 };
            }
        }
    }
    change
}
