//! Ratings of fuses and breakers.

use super::{ElementKind, Model, PartId};
use catalogue::part_form::Inside;
use quantity::{Amps, Ohms};

/// The resistance of a fuse whose kind gives none: it loses some 0.1 V at its rating (typical of blade fuses, no source).
pub fn usual_fuse_resistance(rating: Amps) -> Ohms {
    Ohms::new(0.1 / rating.value().max(0.1))
}

/// Gives a fuse or breaker its rating.
pub fn rate<G>(model: &mut Model<G>, id: PartId, rating: Amps) {
    let part = &mut model.parts[id.0];
    part.rating = Some(rating);
    let given = part.form.inside.iter().find_map(|inside| match inside {
        Inside::Fuse(fuse) => fuse.resistance,
        _ => None,
    });
    for element in &part.elements {
        if let ElementKind::Fuse { rating: own, resistance, .. } = &mut model.elements[element.0].kind {
            *own = rating;
            *resistance = given.unwrap_or_else(|| usual_fuse_resistance(rating));
        }
    }
}
