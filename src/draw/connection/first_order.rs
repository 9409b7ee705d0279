//! A first order with few crossings: barycentre sweeps, which sort by the mean height of neighbours, then sifting, in
//! which every item tries every position that its column allows.
//!
//! Barycentre sweeps are K. Sugiyama's (1981), sifting is R. Rudell's (1993), both as described in R. Tamassia (ed.),
//! *Handbook of Graph Drawing and Visualization* (2013), chapter 13.

use super::diagram::Diagram;
use super::ordering::{ColumnOrder, Item, LEFT, RIGHT};
use super::{cost, pin_order, reposition};

/// Sweeps, then sifts until nothing gets better, at most `rounds` times.
pub(super) fn settle(order: &mut ColumnOrder, rounds: usize) {
    let mut best = order.clone();
    let mut best_price = i64::MAX;
    for round in 0..3 {
        for forward in [true, false] {
            sweep(order, forward);
        }
        sort_all_pins(order);
        let price = cost::price(order);
        if price < best_price {
            (best, best_price) = (order.clone(), price);
        } else if round > 0 {
            break;
        }
    }
    *order = best;
    sift(order, rounds);
}

/// Sifts all items and sorts all pins until nothing gets better, at most `rounds` times. Returns the price.
pub(super) fn sift(order: &mut ColumnOrder, rounds: usize) -> i64 {
    let mut price = cost::price(order);
    let mut best = order.clone();
    for _ in 0..rounds {
        for column in 0..order.columns.len() {
            let items = order.columns[column].clone();
            let (lanes, parts): (Vec<Item>, Vec<Item>) = items.into_iter().partition(|i| matches!(i, Item::Lane(_)));
            for item in parts.into_iter().chain(lanes).filter(|item| matches!(item, Item::Lane(_) | Item::Part(_))) {
                reposition::settle_item(order, column, item);
            }
        }
        sort_all_pins(order);
        let now = cost::price(order);
        if now >= price {
            break;
        }
        (price, best) = (now, order.clone());
    }
    *order = best;
    price
}

fn sort_all_pins(order: &mut ColumnOrder) {
    for part in 0..order.diagram.parts.len() {
        pin_order::sort_pins(order, part);
    }
}

/// Orders each column by the mean height of its items' neighbours on the side that the sweep comes from.
fn sweep(order: &mut ColumnOrder, forward: bool) {
    let columns = order.columns.len();
    let side = if forward { LEFT } else { RIGHT };
    for step in 0..columns {
        let column = if forward { step } else { columns - 1 - step };
        let items = order.columns[column].clone();
        let keys: Vec<f64> = items
            .iter()
            .enumerate()
            .map(|(i, &item)| order.mean_height(column, item, side).unwrap_or((i as f64 + 0.5) / items.len() as f64))
            .collect();
        order.columns[column] = merged(order.diagram, &order.stacks[column], &items, &keys);
        order.renumber(column);
        for item in items {
            if let Item::Part(part) = item {
                pin_order::sort_pins(order, part);
            }
        }
    }
}

/// The items by key: parts sorted within their place, places in their fixed order, lanes wherever their key falls.
fn merged(diagram: &Diagram, stack: &[usize], items: &[Item], keys: &[f64]) -> Vec<Item> {
    let mut sorted: Vec<(f64, Item)> = keys.iter().copied().zip(items.iter().copied()).collect();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut fixed: Vec<(f64, Item)> = Vec::new();
    for &place in stack {
        let mut parts: Vec<(f64, Item)> = sorted
            .iter()
            .filter(|(_, item)| matches!(item, Item::Part(p) if diagram.parts[*p].place == place))
            .copied()
            .collect();
        let reached = fixed.last().map_or(0.0, |f| f.0);
        let (first, last) = (parts.first().map_or(reached, |p| p.0), parts.last().map_or(reached, |p| p.0));
        fixed.push((first.max(reached), Item::Top(place)));
        fixed.append(&mut parts);
        fixed.push((last.max(reached), Item::Bottom(place)));
    }
    let mut lanes = sorted.into_iter().filter(|(_, item)| matches!(item, Item::Lane(_))).peekable();
    let mut out = Vec::with_capacity(items.len());
    for (key, item) in fixed {
        while let Some((_, lane)) = lanes.next_if(|(lane_key, _)| *lane_key < key) {
            out.push(lane);
        }
        out.push(item);
    }
    out.extend(lanes.map(|(_, lane)| lane));
    out
}
