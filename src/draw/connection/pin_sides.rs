//! On which side of its part each wire end leaves.

use super::diagram::{Diagram, DiagramPart, EndId, PartEdge, PartShape, wire_end};
use super::ordering::{ColumnOrder, LEFT, RIGHT, Slot};
use std::cmp::Ordering;
use std::sync::Arc;

/// The wired slots of all parts when each pin looks to where most of its wires lead. Pins without wires are left out;
/// [`add_idle_pins`] puts them in when the sides are settled.
pub(super) fn towards_targets(diagram: &Diagram, column_of: &[usize]) -> Vec<[Vec<Slot>; 2]> {
    let pull = |ends: &[EndId]| pull(diagram, column_of, ends);
    let ends_by_pin = diagram.ends_by_pin();
    let mut all = Vec::with_capacity(diagram.parts.len());
    for (part, pins) in ends_by_pin.into_iter().enumerate() {
        let mut slots = [Vec::new(), Vec::new()];
        match diagram.parts[part].form {
            PartShape::Mated => slots = mated(diagram, part, pins, pull),
            form => {
                let drawn = &diagram.parts[part];
                let dock_of = |pin: usize| drawn.pins[pin].plugged.map(|p| p.dock);
                let mut dock_pulls = vec![0; drawn.docks.len()];
                for (pin, ends) in pins.iter().enumerate() {
                    if let Some(dock) = dock_of(pin) {
                        dock_pulls[dock] += pull(ends);
                    }
                }
                for (pin, ends) in pins.into_iter().enumerate().filter(|(_, ends)| !ends.is_empty()) {
                    let dock = dock_of(pin);
                    let groups = if form.is_open() { ends.into_iter().map(|e| vec![e]).collect() } else { vec![ends] };
                    for ends in groups {
                        let side = match drawn.pins[pin].edge {
                            Some(PartEdge::Left) => LEFT,
                            Some(PartEdge::Right) => RIGHT,
                            None if dock.map_or_else(|| pull(&ends), |d| dock_pulls[d]) < 0 => LEFT,
                            None => RIGHT,
                        };
                        slots[side].push(Slot { pin: Some(pin), dock, ends, exits: Vec::new() });
                    }
                }
            }
        }
        all.push(slots);
    }
    all
}

/// How many of the ends are on wires that lead to the right, less those that lead to the left.
pub(super) fn pull(diagram: &Diagram, column_of: &[usize], ends: &[EndId]) -> i64 {
    let step = |&end: &EndId| {
        let (wire, which) = wire_end(end);
        let [here, there] = [which, 1 - which].map(|e| column_of[diagram.wires[wire].ends[e].part] as i64);
        (there - here).signum()
    };
    ends.iter().map(step).sum()
}

/// Rows of two mating halves, the half that its wires pull to the left on the left.
fn mated(diagram: &Diagram, part: usize, mut ends: Vec<Vec<EndId>>, pull: impl Fn(&[EndId]) -> i64) -> [Vec<Slot>; 2] {
    let pins = &diagram.parts[part].pins;
    let half_of = |pin: usize| pins[pin].cavity.map_or(0, |(half, _)| half.min(1));
    let leaning: i64 =
        (0..pins.len()).map(|pin| if half_of(pin) == 0 { pull(&ends[pin]) } else { -pull(&ends[pin]) }).sum();
    let mut rows: Vec<(usize, [Slot; 2])> = Vec::new();
    for pin in 0..pins.len() {
        let row = pins[pin].cavity.map_or(pin, |(_, row)| row);
        let at = rows.iter().position(|(r, _)| *r == row).unwrap_or_else(|| {
            rows.push((
                row,
                [LEFT, RIGHT].map(|_| Slot { pin: None, dock: None, ends: Vec::new(), exits: Vec::new() }),
            ));
            rows.len() - 1
        });
        let side = if (half_of(pin) == 0) == (leaning <= 0) { LEFT } else { RIGHT };
        rows[at].1[side] = Slot { pin: Some(pin), dock: None, ends: std::mem::take(&mut ends[pin]), exits: Vec::new() };
    }
    rows.sort_by_key(|(row, _)| *row);
    let (left, right) = rows.into_iter().map(|(_, [left, right])| (left, right)).unzip();
    [left, right]
}

/// Adds the exits to other sheets, each below the wires of its pin. Where a pin is free to choose, all exits of a column
/// are on one side, the one with fewer wires: only there does it need room for their words.
pub(super) fn add_exits(order: &mut ColumnOrder) {
    let diagram = order.diagram;
    let sides: Vec<usize> = (0..order.columns.len()).map(|column| side_of_exits(order, column)).collect();
    for (part, pins) in diagram.exits_by_pin().into_iter().enumerate().filter(|(_, pins)| !pins.is_empty()) {
        let drawn = &diagram.parts[part];
        let side = sides[order.column_of[part]];
        let sides = Arc::make_mut(&mut order.slots[part]);
        for (pin, exits) in pins.into_iter().enumerate().filter(|(_, exits)| !exits.is_empty()) {
            let own = |slot: &Slot| slot.pin == Some(pin);
            let known = if drawn.form.is_open() { None } else { sides.iter_mut().flatten().find(|slot| own(slot)) };
            if let Some(slot) = known {
                slot.exits = exits;
                continue;
            }
            let dock = drawn.pins[pin].plugged.map(|p| p.dock);
            let groups: Vec<Vec<usize>> =
                if drawn.form.is_open() { exits.into_iter().map(|exit| vec![exit]).collect() } else { vec![exits] };
            for exits in groups {
                insert(drawn, sides, side, Slot { pin: Some(pin), dock, ends: Vec::new(), exits });
            }
        }
    }
}

/// The side of a column with fewer wires; of two alike the outer one.
fn side_of_exits(order: &ColumnOrder, column: usize) -> usize {
    let here = (0..order.diagram.parts.len()).filter(|&part| order.column_of[part] == column);
    let ends = |side: usize| -> usize {
        here.clone().flat_map(|part| &order.slots[part][side]).map(|slot| slot.ends.len()).sum()
    };
    match ends(LEFT).cmp(&ends(RIGHT)) {
        Ordering::Less => LEFT,
        Ordering::Equal if column == 0 => LEFT,
        Ordering::Equal | Ordering::Greater => RIGHT,
    }
}

/// Adds the pins that no wire is on: free cavities to the other cavities of their connector, others each to the shorter
/// side of their part. A part's own pin that a plugged cavity covers is drawn with that cavity.
pub(super) fn add_idle_pins(diagram: &Diagram, slots: &mut [Arc<[Vec<Slot>; 2]>]) {
    for (drawn, sides) in diagram.parts.iter().zip(slots).filter(|(part, _)| part.form != PartShape::Mated) {
        let sides = Arc::make_mut(sides);
        let covered: Vec<usize> = drawn.pins.iter().filter_map(|pin| pin.plugged?.meets).collect();
        for pin in 0..drawn.pins.len() {
            if covered.contains(&pin) || sides.iter().flatten().any(|slot| slot.pin == Some(pin)) {
                continue;
            }
            let dock = drawn.pins[pin].plugged.map(|p| p.dock);
            let rows = |side: usize| sides[side].iter().map(Slot::rows).sum::<usize>();
            let side = if rows(LEFT) < rows(RIGHT) { LEFT } else { RIGHT };
            insert(drawn, sides, side, Slot { pin: Some(pin), dock, ends: Vec::new(), exits: Vec::new() });
        }
    }
}

/// Puts a slot without wires of this sheet in its place: beside its connector's other cavities, on its pin's edge, else
/// on the side asked for.
fn insert(drawn: &DiagramPart, sides: &mut [Vec<Slot>; 2], side: usize, slot: Slot) {
    let (pin, dock) = (slot.pin, slot.dock);
    let last_of_dock = |side: usize| sides[side].iter().rposition(|s| dock.is_some() && s.dock == dock);
    if let Some((side, last)) = [LEFT, RIGHT].into_iter().find_map(|side| last_of_dock(side).map(|at| (side, at))) {
        let first = sides[side].iter().position(|s| s.dock == dock).unwrap_or(last);
        let turned = sides[side][first].pin > sides[side][last].pin;
        let before = |s: &Slot| s.dock == dock && (s.pin < pin) != turned;
        let at = sides[side][first..=last].iter().rposition(before).map_or(first, |i| first + i + 1);
        sides[side].insert(at, slot);
        return;
    }
    let side = match pin.and_then(|pin| drawn.pins[pin].edge) {
        Some(PartEdge::Left) => LEFT,
        Some(PartEdge::Right) => RIGHT,
        None => side,
    };
    let own = &sides[side];
    let turned = own.first().map(|s| s.pin) > own.last().map(|s| s.pin);
    let in_order = |s: &Slot| s.dock.is_none() && (s.pin > pin) != turned;
    let at = sides[side].iter().position(in_order).filter(|_| drawn.pins_in_order);
    sides[side].insert(at.unwrap_or(sides[side].len()), slot);
}
