//! Loops between pins on one side of a column, drawn no wider than they need: a track lies beyond the widest label of the
//! whole column, but a loop only has to clear what stands between its own ends.

use super::diagram::Diagram;
use super::placed::PlacedDiagram;
use super::sizes::{LABEL_GAP, TRACK, exit_words};
use kit::geometry::{Point, Rect};

/// Between the places that are tried for an upright piece, millimetres.
const STEP: f64 = TRACK / 4.0;
/// From a wire's middle to a label or a part above or below.
const CLEAR: f64 = 1.0;
/// The same to one beside it: the wire of a label may bow over this one.
const CLEAR_BESIDE: f64 = 1.65;

/// Draws loops in, the shortest first, where nothing is in the way and no crossing is added.
pub(super) fn pull_in(diagram: &Diagram, placed: &mut PlacedDiagram) {
    let obstacles = obstacles(diagram, placed);
    let mut loops: Vec<(f64, usize, usize)> = Vec::new();
    for (wire, drawn) in placed.wires.iter().enumerate() {
        for (piece, four) in drawn.path.windows(4).enumerate() {
            let [a, b, c, d] = [four[0], four[1], four[2], four[3]];
            if b.x == c.x && (a.x - b.x) * (d.x - c.x) > 0.0 {
                loops.push(((b.y - c.y).abs(), wire, piece));
            }
        }
    }
    loops.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    for (_, wire, piece) in loops {
        if let Some(x) = nearer(placed, &obstacles, wire, piece) {
            let path = &mut placed.wires[wire].path;
            path[piece + 1].x = x;
            path[piece + 2].x = x;
        }
    }
}

/// Everything that no wire may pass: parts, labels, and the words behind exits with their arrows, names.
fn obstacles(diagram: &Diagram, placed: &PlacedDiagram) -> Vec<Rect> {
    let parts = placed.parts.iter().map(|part| part.outline);
    let labels = placed.wires.iter().flat_map(|wire| &wire.labels).flatten().map(|text| text.bounds());
    let exits = placed.exits.iter().zip(&diagram.exits).map(|(at, exit)| {
        let [from, tip] = at.path;
        let end = tip.by((exit_words(exit) + LABEL_GAP).copysign(tip.x - from.x), 0.0);
        Rect::new(from.by(0.0, -2.0 * CLEAR), end.by(0.0, 2.0 * CLEAR))
    });
    let names = placed.parts.iter().zip(&diagram.parts).filter_map(|(at, part)| super::outlines::bar_names(part, at));
    let frames = placed.frames.iter().map(|frame| super::paint::frame_name(diagram, frame).bounds());
    parts.chain(labels).chain(exits).chain(names).chain(frames).collect()
}

/// A place for the upright piece of a loop nearer to its ends.
fn nearer(placed: &PlacedDiagram, obstacles: &[Rect], wire: usize, piece: usize) -> Option<f64> {
    let four = &placed.wires[wire].path[piece..piece + 4];
    let [a, b, c, d] = [four[0], four[1], four[2], four[3]];
    let outward = (b.x - a.x).signum();
    // Not beyond the end that stands farther out.
    let inmost = if outward > 0.0 { a.x.max(d.x) } else { a.x.min(d.x) };
    let steps = ((b.x - inmost).abs() / STEP).floor() as usize;
    let now = crossed(placed, wire, [a, b, c, d]);
    (1..steps).map(|step| inmost + outward * STEP * step as f64).find(|&x| {
        let [b, c] = [Point::new(x, b.y), Point::new(x, c.y)];
        let (top, bottom) = if b.y < c.y { (b, c) } else { (c, b) };
        let keep = Rect::new(top.by(-CLEAR_BESIDE, -CLEAR), bottom.by(CLEAR_BESIDE, CLEAR));
        obstacles.iter().all(|obstacle| !keep.overlaps(obstacle))
            && apart(placed, wire, b, c)
            && crossed(placed, wire, [a, b, c, d]) <= now
    })
}

/// Whether no other wire runs beside an upright piece nearer than a track, or turns on it.
fn apart(placed: &PlacedDiagram, wire: usize, b: Point, c: Point) -> bool {
    let keep = Rect::new(b, c).inflate(TRACK - 0.01);
    let others = placed.wires.iter().enumerate().filter(|(other, _)| *other != wire).map(|(_, other)| &other.path);
    let mut uprights = others.flat_map(|path| path.windows(2)).filter(|pair| pair[0].x == pair[1].x);
    uprights.all(|pair| !keep.overlaps(&Rect::new(pair[0], pair[1]).inflate(0.01)))
}

/// How many pieces of other wires three pieces of a wire cross.
fn crossed(placed: &PlacedDiagram, wire: usize, path: [Point; 4]) -> usize {
    let others = placed.wires.iter().enumerate().filter(|(other, _)| *other != wire).map(|(_, other)| &other.path);
    let pieces: Vec<&[Point]> = others.flat_map(|path| path.windows(2)).collect();
    let between = |v: f64, p: f64, q: f64| p.min(q) < v && v < p.max(q);
    let crosses = |own: &[Point], other: &[Point]| {
        let (level, upright) = if own[0].y == own[1].y { (own, other) } else { (other, own) };
        level[0].y == level[1].y
            && upright[0].x == upright[1].x
            && between(upright[0].x, level[0].x, level[1].x)
            && between(level[0].y, upright[0].y, upright[1].y)
    };
    path.windows(2).map(|own| pieces.iter().filter(|other| crosses(own, other)).count()).sum()
}
