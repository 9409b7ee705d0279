//! The harness at the bench: a supply's clips in place of the vehicle's own wiring, no lamps and
//! other loads of the vehicle, and no part that stays in the vehicle. What a meter reads there is solved in this
//! circuit, not in the vehicle's.

use model::{ElementKind, Model, Part, PartId};
use quantity::{Amps, Ohms, Volts};

/// From a bench supply's regulated terminals through its lead and clip (typical).
const CLIP: Ohms = Ohms::new(0.005);

/// The model with a bench supply in the vehicle's place.
pub fn at_bench(model: &Model) -> Model {
    let mut bench = model.clone();
    for i in 0..bench.elements.len() {
        let stays = stays_in_vehicle(model, model.part(model.elements[i].part), model.elements[i].part);
        match &mut bench.elements[i].kind {
            ElementKind::Battery { volts, resistance, .. } => {
                *volts = [volts[1]; 3];
                *resistance = CLIP;
            }
            ElementKind::Derived { resistance, others, .. } => (*resistance, *others) = (CLIP, Amps::new(0.0)),
            ElementKind::GroundPoint { resistance, .. } => *resistance = CLIP,
            ElementKind::Feed(feed) => {
                (feed.resistance, feed.lamps, feed.pulsed, feed.leakage) = (CLIP, None, None, Amps::new(0.0));
            }
            ElementKind::Load(load) if stays => (load.draws, load.standby) = (Amps::new(0.0), Amps::new(0.0)),
            _ => {}
        }
    }
    bench
}

/// What a bench supply is set to: the nominal voltage of the first battery.
pub fn nominal_supply(model: &Model) -> Option<Volts> {
    model.elements.iter().find_map(|element| match element.kind {
        ElementKind::Battery { volts, .. } => Some(volts[1]),
        _ => None,
    })
}

/// Whether a part stays in the vehicle: it was there before, or only the vehicle's wires connect to it.
pub fn stays_in_vehicle(model: &Model, part: &Part, id: PartId) -> bool {
    let mut wires = model.wires.iter().filter(|wire| wire.ends.iter().any(|end| model.pin(*end).part == id)).peekable();
    part.existing || (wires.peek().is_some() && wires.all(|wire| wire.existing))
}
