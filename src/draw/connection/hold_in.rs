//! Widens the frame of a place so that the wires between its own parts stay within it. A frame takes in nothing of
//! another place, and no wire crosses its name.

use super::diagram::Diagram;
use super::paint::frame_name;
use super::placed::{PlacedDiagram, PlacedFrame};
use super::sizes::{LABEL_GAP, exit_words};
use kit::geometry::{Point, Rect};

/// From the frame to the wires in it.
const PAD: f64 = 1.6;
/// Between frames.
const APART: f64 = 1.0;
/// From a frame's name to a wire.
const CLEAR: f64 = 0.8;

/// Widens every frame, one side at a time.
pub(super) fn hold_in(diagram: &Diagram, placed: &mut PlacedDiagram) {
    for at in 0..placed.frames.len() {
        let Some(wanted) = wanted(diagram, placed, &placed.frames[at]) else { continue };
        let sides: [fn(&mut Rect, &Rect); 4] = [
            |rect, wanted| rect.left = rect.left.min(wanted.left),
            |rect, wanted| rect.right = rect.right.max(wanted.right),
            |rect, wanted| rect.top = rect.top.min(wanted.top),
            |rect, wanted| rect.bottom = rect.bottom.max(wanted.bottom),
        ];
        for widen in sides {
            let mut frame = placed.frames[at].clone();
            widen(&mut frame.rect, &wanted);
            if frame.rect != placed.frames[at].rect && is_free(diagram, placed, at, &frame) {
                placed.frames[at] = frame;
            }
        }
    }
}

/// The wires between parts of one place, each with its place.
fn inner<'a>(diagram: &'a Diagram, placed: &'a PlacedDiagram) -> impl Iterator<Item = (usize, &'a [Point])> {
    let wires = diagram.wires.iter().zip(&placed.wires);
    wires.filter_map(|(wire, drawn)| {
        let [a, b] = wire.ends.map(|end| diagram.parts[end.part].place);
        (a == b).then_some((a, drawn.path.as_slice()))
    })
}

/// The box around all wires within a place, with room around them.
fn wanted(diagram: &Diagram, placed: &PlacedDiagram, frame: &PlacedFrame) -> Option<Rect> {
    let points = inner(diagram, placed).filter(|(place, _)| *place == frame.place).flat_map(|(_, path)| path);
    points.map(|p| Rect::new(*p, *p)).reduce(|a, b| a.union(&b)).map(|rect| rect.inflate(PAD))
}

/// Whether a widened frame holds nothing of another place, but wires that pass, and nothing stands on its name.
fn is_free(diagram: &Diagram, placed: &PlacedDiagram, at: usize, frame: &PlacedFrame) -> bool {
    let sheet = Rect::sized(Point::default(), placed.size);
    let before = &placed.frames[at].rect;
    // What was in it before may stay.
    let comes_in = |rect: &Rect| frame.rect.overlaps(rect) && !before.overlaps(rect);
    let foreign = |part: usize| diagram.parts[part].place != frame.place;
    let frames = placed.frames.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, other)| other);
    let parts = placed.parts.iter().enumerate().filter(|(part, _)| foreign(*part)).map(|(_, part)| part.outline);
    let ends = diagram.wires.iter().zip(&placed.wires).flat_map(|(wire, drawn)| wire.ends.iter().zip(&drawn.labels));
    let labels = ends.filter(|(end, _)| foreign(end.part)).flat_map(|(_, label)| label).map(|text| text.bounds());
    let exits =
        diagram.exits.iter().zip(&placed.exits).filter(|(exit, _)| foreign(exit.at.part)).map(|(exit, drawn)| {
            let [from, tip] = drawn.path;
            Rect::new(from, tip.by((exit_words(exit) + LABEL_GAP).copysign(tip.x - from.x), 0.0)).inflate(CLEAR)
        });
    let name = frame_name(diagram, frame).bounds().inflate(CLEAR);
    let pieces = placed.wires.iter().flat_map(|wire| wire.path.windows(2)).map(|pair| Rect::new(pair[0], pair[1]));
    let words = placed.wires.iter().flat_map(|wire| &wire.labels).flatten().map(|text| text.bounds());
    let arrows = placed.exits.iter().map(|exit| Rect::new(exit.path[0], exit.path[1]));
    sheet.contains_rect(&frame.rect)
        && frames.clone().all(|other| !other.rect.inflate(APART).overlaps(&frame.rect))
        && parts.chain(labels).chain(exits).all(|rect| !comes_in(&rect))
        && pieces.chain(words).chain(arrows).all(|rect| !rect.inflate(0.01).overlaps(&name))
}
