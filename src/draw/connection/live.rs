//! The labels of a live diagram: voltages instead of pins' functions, currents instead of wire sizes.

use super::diagram::{Diagram, DiagramPart, DiagramPin, DiagramWire, PartShape, SheetExit};
use crate::live::{load, pins_by_name, volts};
use crate::shields;
use model::{Model, PinId, WireId};
use states::Live;
use std::collections::BTreeMap;

/// The diagram with the state's words.
pub(super) fn with_readings(diagram: &Diagram, model: &Model, live: &Live) -> Diagram {
    let pins = pins_by_name(model);
    let wires: BTreeMap<String, WireId> = model.wire_ids().map(|id| (model.wire(id).id.to_string(), id)).collect();
    let parts = diagram.parts.iter().map(|part| part_with_readings(part, model, &pins, live)).collect();
    let wire_with_readings = |wire: &DiagramWire| {
        let load = wires.get(&wire.number).and_then(|&id| load(live, id));
        let label = load.map_or_else(|| wire.label.clone(), |load| format!("{load} {}", wire.colour).trim_end().into());
        DiagramWire { label, ..wire.clone() }
    };
    let lead = "Beside each end of a wire: its number, its current (its gauge where it carries none), its colour.";
    let exit_with_readings = |exit: &SheetExit| SheetExit { wire: wire_with_readings(&exit.wire), ..exit.clone() };
    Diagram {
        lead,
        parts,
        wires: diagram.wires.iter().map(wire_with_readings).collect(),
        exits: diagram.exits.iter().map(exit_with_readings).collect(),
        ..diagram.clone()
    }
}

fn part_with_readings(part: &DiagramPart, model: &Model, pins: &BTreeMap<String, PinId>, live: &Live) -> DiagramPart {
    let of = |pin: &DiagramPin| pins.get(&pin.full_name).and_then(|&id| live.volts(id)).map(volts);
    // The current of a shield adds to that of the wire in the cavity that carries it.
    let shield = |pin: &DiagramPin| pins.get(&pin.full_name).map(|&id| shields::count(model, id));
    let mut with_readings = part.clone();
    if let Some(is_in) = model.part_named(&part.name).and_then(|id| live.relay_is_in(id)) {
        with_readings.title.push(if is_in { "relay in" } else { "relay out" }.to_string());
    }
    match part.form {
        PartShape::Splice | PartShape::Ground => with_readings.title.extend(part.pins.first().and_then(of)),
        _ => {
            for (pin, was) in with_readings.pins.iter_mut().zip(&part.pins) {
                // A plugged cavity has no room for it: the pin that it meets has the same.
                if was.plugged.is_none() && part.form != PartShape::Elsewhere {
                    let words = of(was).into_iter().chain(shield(was)).filter(|words| !words.is_empty());
                    pin.note = words.collect::<Vec<String>>().join(", ");
                }
            }
        }
    }
    with_readings
}
