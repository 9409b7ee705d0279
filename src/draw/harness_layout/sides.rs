//! Left and right of the vehicle, and its front, by the words of the places: `mirror-left`, `tail`.

use model::{Model, PlaceId};

/// A side of the vehicle, seen in the direction that it drives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
}

/// Words of places at the front, and at the rear.
const FRONT: [&str; 8] = ["front", "nose", "dash", "bonnet", "hood", "engine", "grille", "windscreen"];
/// See [`FRONT`].
const REAR: [&str; 6] = ["rear", "tail", "tailgate", "back", "trailer", "boot"];

fn says(text: &str, word: &str) -> bool {
    text.split(|c: char| !c.is_alphanumeric()).any(|own| own.eq_ignore_ascii_case(word))
}

/// The side that a text names; none for both and for neither.
pub(super) fn of_text(text: &str) -> Option<Side> {
    match (says(text, "left"), says(text, "right")) {
        (true, false) => Some(Side::Left),
        (false, true) => Some(Side::Right),
        _ => None,
    }
}

/// Whether a line of places leads from the front to the rear; `None` if their names do not show it.
pub(super) fn to_the_rear(model: &Model, places: &[PlaceId]) -> Option<bool> {
    let rank = |place: &PlaceId| {
        let name = model.places[place.0].as_str();
        let any = |words: &[&str]| words.iter().any(|word| says(name, word));
        i32::from(any(&REAR)) - i32::from(any(&FRONT))
    };
    let known: Vec<(usize, i32)> = places.iter().map(rank).enumerate().filter(|(_, rank)| *rank != 0).collect();
    let [(_, first), .., (_, last)] = known[..] else {
        // One known place: it is nearer to its own end of the vehicle.
        let [(at, rank)] = known[..] else { return None };
        let early = 2 * at < places.len() - 1;
        let middle = 2 * at == places.len() - 1;
        return (!middle).then_some((rank > 0) != early);
    };
    (first != last).then_some(first < last)
}
