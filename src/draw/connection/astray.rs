//! Lines that a careful draughtsman would not draw: wires that leave the frame of their place although they end in it,
//! run along its outside, or go round a frame that they do not enter; bars longer than their wires need.

use super::diagram::{Diagram, PartShape};
use super::placed::{PlacedDiagram, PlacedFrame, PlacedPart};
use super::row_positions::SPARE_BAR_ROWS;
use super::sizes::{PIN_ROWS, ROW};
use kit::geometry::{Point, Rect, clipped};

/// How far a wire may run outside along its own frame, millimetres: it turns into its track there.
const ALONG: f64 = 8.0;

/// Every line that goes astray, in words.
pub fn astray(diagram: &Diagram, placed: &PlacedDiagram) -> Vec<String> {
    let mut found = Vec::new();
    for wire in 0..diagram.wires.len() {
        wire_astray(diagram, placed, wire, &mut found);
    }
    for (part, at) in diagram.parts.iter().zip(&placed.parts).filter(|(part, _)| part.form == PartShape::Splice) {
        let (rows, needed) = bar_rows(at);
        if rows > needed + SPARE_BAR_ROWS {
            found.push(format!("bar {} takes {rows} rows, {needed} are enough", part.name));
        }
    }
    found
}

fn wire_astray(diagram: &Diagram, placed: &PlacedDiagram, wire: usize, found: &mut Vec<String>) {
    let (number, path) = (&diagram.wires[wire].number, &placed.wires[wire].path);
    let places = diagram.wires[wire].ends.map(|end| diagram.parts[end.part].place);
    let frame = |place: usize| placed.frames.iter().find(|frame| frame.place == place);
    let [Some(a), Some(b)] = places.map(frame) else { return };
    let name = |frame: &PlacedFrame| &diagram.places[frame.place];
    if a.place == b.place && !path.iter().all(|point| a.rect.contains(*point)) {
        found.push(format!("wire {number} leaves {}", name(a)));
    }
    if a.rect.right <= b.rect.left || b.rect.right <= a.rect.left {
        for own in [a, b].into_iter().filter(|own| along_outside(path, &own.rect) > ALONG) {
            found.push(format!("wire {number} runs along {} outside", name(own)));
        }
    }
    for other in placed.frames.iter().filter(|other| !places.contains(&other.place)) {
        if goes_round(path, &other.rect) {
            found.push(format!("wire {number} goes round {}", name(other)));
        }
    }
}

/// How long a path runs level above or below a box.
fn along_outside(path: &[Point], rect: &Rect) -> f64 {
    let outside = path.windows(2).filter(|pair| pair[0].y == pair[1].y);
    let outside = outside.filter(|pair| pair[0].y < rect.top || pair[0].y > rect.bottom);
    let within = |pair: &[Point]| {
        let (low, high) = (pair[0].x.min(pair[1].x), pair[0].x.max(pair[1].x));
        (high.min(rect.right) - low.max(rect.left)).max(0.0)
    };
    outside.map(within).sum()
}

/// Whether a path encloses a box, with the straight line between its ends, that neither of them enters.
fn goes_round(path: &[Point], rect: &Rect) -> bool {
    let [Some(&first), Some(&last)] = [path.first(), path.last()] else { return false };
    let enters = |pair: &[Point]| Rect::new(pair[0], pair[1]).inflate(0.01).overlaps(rect);
    !path.windows(2).any(enters) && clipped(first, last, rect).is_none() && is_within(rect.centre(), path)
}

/// Whether a point lies in a polygon: a ray to the right meets its edges an odd number of times.
fn is_within(point: Point, corners: &[Point]) -> bool {
    let edges = corners.iter().zip(corners.iter().cycle().skip(1));
    let meets = |(a, b): &(&Point, &Point)| {
        (a.y > point.y) != (b.y > point.y) && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    edges.filter(meets).count() % 2 == 1
}

/// The rows that a bar takes from its first wire to its last, and those that its fuller side needs.
fn bar_rows(part: &PlacedPart) -> (i64, i64) {
    let rows = |on_left: bool| {
        let pins = part.pins.iter().filter(move |pin| pin.on_left == on_left);
        pins.flat_map(|pin| &pin.spots).map(|spot| (spot.y / ROW).round() as i64)
    };
    let all = || rows(true).chain(rows(false));
    let [Some(top), Some(bottom)] = [all().min(), all().max()] else { return (0, 0) };
    let fuller = rows(true).count().max(rows(false).count()) as i64;
    (bottom - top, PIN_ROWS * (fuller - 1))
}
