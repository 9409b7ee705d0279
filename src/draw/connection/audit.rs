//! Reads a layout back and counts its faults, for the tests of this module.

use super::diagram::Diagram;
use super::placed::PlacedDiagram;
use kit::font;
use kit::geometry::{Point, Rect, Size};
use kit::scene::TextItem;

/// Every fault of a layout, in words; empty if it has none.
pub(super) fn faults(diagram: &Diagram, placed: &PlacedDiagram) -> Vec<String> {
    let mut faults = Vec::new();
    let sheet = Rect::sized(Point::default(), placed.size);
    let labels: Vec<(usize, Rect)> = placed
        .wires
        .iter()
        .enumerate()
        .flat_map(|(w, wire)| wire.labels.iter().map(move |[a, b]| (w, ink(a).union(&ink(b)))))
        .collect();
    for (i, (wire, label)) in labels.iter().enumerate() {
        let name = &diagram.wires[*wire].number;
        if labels[..i].iter().any(|(_, other)| other.overlaps(label)) {
            faults.push(format!("label of wire {name} overlaps another label"));
        }
        for (part, p) in placed.parts.iter().enumerate().filter(|(_, p)| p.outline.overlaps(label)) {
            faults.push(format!("label of wire {name} over part {} at {:?}", diagram.parts[part].name, p.outline));
        }
        if !sheet.contains_rect(label) {
            faults.push(format!("label of wire {name} outside the sheet"));
        }
        for (other, wire) in placed.wires.iter().enumerate() {
            if pieces(&wire.path).any(|(a, b)| Rect::new(a, b).inflate(0.6).overlaps(label)) {
                faults.push(format!("label of wire {name} over wire {}", diagram.wires[other].number));
            }
        }
    }
    for (w, wire) in placed.wires.iter().enumerate() {
        wire_faults(diagram, placed, w, &wire.path, &sheet, &mut faults);
    }
    for (a, first) in placed.parts.iter().enumerate() {
        for (b, second) in placed.parts.iter().enumerate().take(a) {
            if first.outline.inflate(1.0).overlaps(&second.outline) {
                faults.push(format!("parts {} and {} overlap", diagram.parts[a].name, diagram.parts[b].name));
            }
        }
        let place = diagram.parts[a].place;
        let framed = placed.frames.iter().any(|f| f.place == place && f.rect.contains_rect(&first.outline));
        if !framed || !sheet.contains_rect(&first.outline) {
            faults.push(format!("part {} is outside its place's frame", diagram.parts[a].name));
        }
        for pin in 0..diagram.parts[a].pins.len() {
            let wired = diagram.wires.iter().flat_map(|w| w.ends).filter(|e| e.part == a && e.pin == pin).count();
            let wired = wired + diagram.exits.iter().filter(|exit| exit.at.part == a && exit.at.pin == pin).count();
            let spots: usize = first.pins.iter().filter(|p| p.pin == pin).map(|p| p.spots.len()).sum();
            let covered = diagram.parts[a].pins.iter().any(|p| p.plugged.is_some_and(|p| p.meets == Some(pin)));
            if spots != wired.max(usize::from(!covered)) {
                faults.push(format!("pin {pin} of {} has {spots} spots for {wired} wires", diagram.parts[a].name));
            }
        }
    }
    for (i, a) in placed.frames.iter().enumerate() {
        if placed.frames[..i].iter().any(|b| a.rect.overlaps(&b.rect)) || !sheet.contains_rect(&a.rect) {
            faults.push(format!("frame {} overlaps another or the sheet's edge", diagram.places[a.place]));
        }
    }
    faults
}

fn pieces(path: &[Point]) -> impl Iterator<Item = (Point, Point)> {
    path.windows(2).map(|pair| (pair[0], pair[1]))
}

fn wire_faults(
    diagram: &Diagram,
    placed: &PlacedDiagram,
    w: usize,
    path: &[Point],
    sheet: &Rect,
    faults: &mut Vec<String>,
) {
    let name = &diagram.wires[w].number;
    for (end, point) in [(0, path[0]), (1, path[path.len() - 1])] {
        let at = diagram.wires[w].ends[end];
        let pins = placed.parts[at.part].pins.iter().filter(|p| p.pin == at.pin);
        if pins.flat_map(|p| &p.spots).filter(|s| **s == point).count() != 1 {
            faults.push(format!("wire {name} does not end at its pin"));
        }
    }
    for (a, b) in pieces(path) {
        let piece = Rect::new(a, b);
        if (a.x != b.x) == (a.y != b.y) {
            faults.push(format!("wire {name} has a slanting or empty piece"));
        }
        if !sheet.contains_rect(&piece.inflate(0.6)) {
            faults.push(format!("wire {name} leaves the sheet"));
        }
        for (part, placed) in placed.parts.iter().enumerate() {
            // Own wires touch the edge from outside, nothing may run along it.
            let touches = piece.inflate(0.6).overlaps(&placed.outline);
            let own = diagram.wires[w].ends.iter().any(|e| e.part == part);
            if placed.outline.inflate(-0.01).overlaps(&piece) || (touches && !own) {
                faults.push(format!("wire {name} runs through part {}", diagram.parts[part].name));
            }
        }
        for (v, other) in placed.wires.iter().enumerate().take(w) {
            for (c, d) in pieces(&other.path) {
                let parallel = (a.x == b.x) == (c.x == d.x);
                let near = Rect::new(c, d).inflate(1.2).overlaps(&piece);
                let crossing = Rect::centred(cross_point((a, b), (c, d)), Size::new(0.0, 0.0));
                let corner = [a, b, c, d].iter().any(|p| crossing.contains(*p));
                if near && (parallel || corner) {
                    faults.push(format!("wires {name} and {} meet", diagram.wires[v].number));
                }
            }
        }
    }
}

/// Where a level and an upright piece would cross if both were long enough.
fn cross_point((a, b): (Point, Point), (c, d): (Point, Point)) -> Point {
    if a.x == b.x { Point::new(a.x, c.y.min(d.y)) } else { Point::new(c.x.min(d.x), a.y) }
}

/// The box of a label's letters: its figures, capitals and small letters are no taller than 0.76 of the font size, and
/// only its slash reaches below the base line.
fn ink(text: &TextItem) -> Rect {
    let bounds = text.bounds();
    let (above, below) = ((font::ASCENT - 0.76) * text.height, (font::DESCENT - 0.11) * text.height);
    Rect { top: bounds.top + above, bottom: bounds.bottom - below, ..bounds }
}
