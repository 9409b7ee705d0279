//! Where the runs lie: the trunk straight along the sheet, branches off it at the first angle at which nothing meets.

use super::tree::Limb;
use kit::scene::{Point, Rect};
use model::{Model, PlaceId, RunId};

/// A run as a straight line to scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    pub run: RunId,
    pub from: Point,
    pub to: Point,
}

/// Runs and places on the board, millimetres at the scale asked for.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Board {
    pub stretches: Vec<Stretch>,
    pub places: Vec<(PlaceId, Point)>,
}

/// Angles tried for a branch against its limb's direction, degrees, the plainest first.
const ANGLES: [f64; 10] = [90.0, -90.0, 60.0, -60.0, 120.0, -120.0, 40.0, -40.0, 140.0, -140.0];

/// Distance that two stretches keep, except at the place where they meet.
const CLEAR: f64 = 14.0;

/// Lays a tree out. `mm_per_metre` is the scale: 1000 for a board at full size.
pub(super) fn lay(model: &Model, trunk: &Limb, mm_per_metre: f64) -> Board {
    let mut board = Board::default();
    board.places.push((trunk.places[0], Point::default()));
    extend(model, trunk, Point::default(), 0.0, mm_per_metre, 0, &mut board);
    board
}

fn along(from: Point, degrees: f64, length: f64) -> Point {
    let radians = degrees.to_radians();
    // Rounded, so that a square branch is square to the last digit.
    let round = |v: f64| (v * 1e6).round() / 1e6;
    from.by(round(length * radians.cos()), round(length * radians.sin()))
}

fn extend(model: &Model, limb: &Limb, start: Point, angle: f64, scale: f64, depth: usize, board: &mut Board) {
    let mut at = start;
    let mut points = vec![start];
    for (place, run) in limb.places[1..].iter().zip(&limb.runs) {
        let to = along(at, angle, model.runs[run.0].length.value() * scale);
        board.stretches.push(Stretch { run: *run, from: at, to });
        board.places.push((*place, to));
        points.push(to);
        at = to;
    }
    for (turn, (index, branch)) in limb.branches.iter().enumerate() {
        let from = points[*index];
        // Branches go to alternate sides of their limb, so that the board fills evenly.
        let flip = if (turn + depth).is_multiple_of(2) { -1.0 } else { 1.0 };
        let angles = ANGLES.iter().map(|a| angle + a * flip);
        let mut best: Option<(f64, Board)> = None;
        for tried in angles {
            let mut attempt = board.clone();
            extend(model, branch, from, tried, scale, depth + 1, &mut attempt);
            let gap = gap(&attempt.stretches, board.stretches.len(), from);
            if best.as_ref().is_none_or(|(most, _)| gap > *most + 1e-9) {
                best = Some((gap, attempt));
            }
            if gap >= CLEAR {
                break;
            }
        }
        if let Some((_, attempt)) = best {
            *board = attempt;
        }
    }
}

/// The least distance between the new stretches and the old ones, those that meet at `joint` looked at a little away
/// from it.
fn gap(stretches: &[Stretch], old: usize, joint: Point) -> f64 {
    let mut least = f64::INFINITY;
    for new in &stretches[old..] {
        for before in &stretches[..old] {
            let points = |s: &Stretch| {
                let steps = (s.from.distance(s.to) / 5.0).ceil().clamp(2.0, 400.0) as usize;
                let s = *s;
                (0..=steps).map(move |i| {
                    let t = i as f64 / steps as f64;
                    Point::new(s.from.x + (s.to.x - s.from.x) * t, s.from.y + (s.to.y - s.from.y) * t)
                })
            };
            for p in points(new).filter(|p| p.distance(joint) > CLEAR * 1.2) {
                least = least.min(from_line(p, before.from, before.to));
            }
        }
    }
    least
}

/// Distance of a point from a stretch of line.
pub(super) fn from_line(p: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let square = dx * dx + dy * dy;
    let t = if square > 0.0 { (((p.x - a.x) * dx + (p.y - a.y) * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
    p.distance(Point::new(a.x + dx * t, a.y + dy * t))
}

/// Whether a stretch of line comes into a rectangle (Liang and Barsky's clipping), and which part of it does.
pub(super) fn clipped(a: Point, b: Point, r: &Rect) -> Option<(Point, Point)> {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let (mut enter, mut leave) = (0.0f64, 1.0f64);
    for (p, q) in [(-dx, a.x - r.left), (dx, r.right - a.x), (-dy, a.y - r.top), (dy, r.bottom - a.y)] {
        if p == 0.0 {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            enter = enter.max(q / p);
        } else {
            leave = leave.min(q / p);
        }
    }
    let at = |t: f64| Point::new(a.x + dx * t, a.y + dy * t);
    (enter <= leave).then(|| (at(enter), at(leave)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clipping_keeps_what_is_inside() {
        let r = Rect::new(Point::new(0.0, 0.0), Point::new(10.0, 10.0));
        let p = Point::new;
        assert_eq!(clipped(p(-5.0, 5.0), p(15.0, 5.0), &r), Some((p(0.0, 5.0), p(10.0, 5.0))));
        assert_eq!(clipped(p(2.0, 2.0), p(3.0, 3.0), &r), Some((p(2.0, 2.0), p(3.0, 3.0))));
        assert_eq!(clipped(p(-5.0, -1.0), p(15.0, -1.0), &r), None);
    }
}
