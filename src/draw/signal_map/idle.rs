//! Leaves out pins of the signal map that no arrow joins and that name no origin.

use crate::connection::{Diagram, PinAt};

/// Leaves unused pins out of the boxes of some groups.
pub(super) fn leave_out(diagram: &mut Diagram, groups: &[usize]) {
    let mut used: Vec<Vec<bool>> = diagram.parts.iter().map(|part| vec![false; part.pins.len()]).collect();
    for end in diagram.wires.iter().flat_map(|wire| wire.ends) {
        used[end.part][end.pin] = true;
    }
    for (part, used) in diagram.parts.iter().zip(&mut used) {
        for (pin, used) in part.pins.iter().zip(used) {
            // Power from a named source is used too.
            let named = ["from ", "with ", "by name"].iter().any(|word| pin.note.contains(word));
            *used |= named || !groups.contains(&part.place);
        }
    }
    let moved = |at: PinAt| PinAt { pin: used[at.part][..at.pin].iter().filter(|used| **used).count(), ..at };
    for wire in &mut diagram.wires {
        wire.ends = wire.ends.map(moved);
    }
    for (part, used) in diagram.parts.iter_mut().zip(&used) {
        let mut kept = used.iter();
        part.pins.retain(|_| kept.next().copied().unwrap_or(true));
    }
}
