//! On which side of its part each wire end leaves.

use super::diagram::{Diagram, EndId, Form, wire_end};
use super::weave::{LEFT, RIGHT, Slot};

/// The wired slots of all parts when each pin looks to where most of its wires lead. Pins without wires are left out;
/// [`add_idle_pins`] puts them in when the sides are settled.
pub(super) fn towards_targets(diagram: &Diagram, column_of: &[usize]) -> Vec<[Vec<Slot>; 2]> {
    let pull = |ends: &[EndId]| pull(diagram, column_of, ends);
    let ends_by_pin = diagram.ends_by_pin();
    let mut all = Vec::with_capacity(diagram.parts.len());
    for (part, pins) in ends_by_pin.into_iter().enumerate() {
        let mut slots = [Vec::new(), Vec::new()];
        match diagram.parts[part].form {
            Form::Mated => slots = mated(diagram, part, pins, pull),
            form => {
                for (pin, ends) in pins.into_iter().enumerate().filter(|(_, ends)| !ends.is_empty()) {
                    let groups = if form.is_open() { ends.into_iter().map(|e| vec![e]).collect() } else { vec![ends] };
                    for ends in groups {
                        let side = if pull(&ends) < 0 { LEFT } else { RIGHT };
                        slots[side].push(Slot { pin: Some(pin), ends });
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
fn mated(
    diagram: &Diagram,
    part: usize,
    mut ends: Vec<Vec<EndId>>,
    pull: impl Fn(&[EndId]) -> i64,
) -> [Vec<Slot>; 2] {
    let pins = &diagram.parts[part].pins;
    let half_of = |pin: usize| pins[pin].cavity.map_or(0, |(half, _)| half.min(1));
    let leaning: i64 =
        (0..pins.len()).map(|pin| if half_of(pin) == 0 { pull(&ends[pin]) } else { -pull(&ends[pin]) }).sum();
    let mut rows: Vec<(usize, [Slot; 2])> = Vec::new();
    for pin in 0..pins.len() {
        let row = pins[pin].cavity.map_or(pin, |(_, row)| row);
        let at = rows.iter().position(|(r, _)| *r == row).unwrap_or_else(|| {
            rows.push((row, [LEFT, RIGHT].map(|_| Slot { pin: None, ends: Vec::new() })));
            rows.len() - 1
        });
        let side = if (half_of(pin) == 0) == (leaning <= 0) { LEFT } else { RIGHT };
        rows[at].1[side] = Slot { pin: Some(pin), ends: std::mem::take(&mut ends[pin]) };
    }
    rows.sort_by_key(|(row, _)| *row);
    let (left, right) = rows.into_iter().map(|(_, [left, right])| (left, right)).unzip();
    [left, right]
}

/// Adds the pins that no wire is on, each to the shorter side of its part.
pub(super) fn add_idle_pins(diagram: &Diagram, slots: &mut [[Vec<Slot>; 2]]) {
    for (part, sides) in slots.iter_mut().enumerate() {
        if diagram.parts[part].form == Form::Mated {
            continue;
        }
        for pin in 0..diagram.parts[part].pins.len() {
            if sides.iter().flatten().all(|slot| slot.pin != Some(pin)) {
                let rows = |side: usize| sides[side].iter().map(Slot::rows).sum::<usize>();
                let side = if rows(LEFT) < rows(RIGHT) { LEFT } else { RIGHT };
                sides[side].push(Slot { pin: Some(pin), ends: Vec::new() });
            }
        }
    }
}
