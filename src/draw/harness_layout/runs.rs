//! Where the runs lie: the trunk straight along the sheet, branches off it at the first angle at which nothing meets.
//!
//! Seen from above, the vehicle drives to the right where its places tell: what is on its left is above the trunk.

use super::sides::{self, Side};
use super::tree::Limb;
use kit::geometry::from_line;
use kit::scene::Point;
use model::{Model, PlaceId, RunId, bundle};

/// A run, or the part of it that is on a sheet, as a straight line to scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    pub run: RunId,
    pub from: Point,
    pub to: Point,
    /// The whole run, from the place that it was laid out from.
    pub whole: Whole,
}

/// A run that is drawn whole, or shorter than it is, with a break in its middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Whole {
    pub ends: [Point; 2],
    /// Place of the first end.
    pub first: PlaceId,
    /// How long it would be without a break.
    pub length: f64,
}

/// Half the length of a break.
const BREAK: f64 = 6.0;

impl Whole {
    fn drawn(&self) -> f64 {
        self.ends[0].distance(self.ends[1])
    }

    /// The middle of its break.
    pub fn broken_at(&self) -> Option<Point> {
        (self.length > self.drawn() + 1e-6).then(|| self.on(self.drawn() / 2.0))
    }

    /// The unit vector along it.
    pub fn direction(&self) -> (f64, f64) {
        let ([a, b], drawn) = (self.ends, self.drawn().max(1e-9));
        ((b.x - a.x) / drawn, (b.y - a.y) / drawn)
    }

    fn on(&self, along: f64) -> Point {
        let (ux, uy) = self.direction();
        self.ends[0].by(ux * along, uy * along)
    }

    /// The point so far from its first end; none in the break.
    pub fn at(&self, along: f64) -> Option<Point> {
        let drawn = self.drawn();
        let whole = self.broken_at().is_none();
        if whole || along <= drawn / 2.0 - BREAK {
            return Some(self.on(along));
        }
        let back = self.length - along;
        (back <= drawn / 2.0 - BREAK).then(|| self.on(drawn - back))
    }

    /// The same moved.
    pub fn by(&self, dx: f64, dy: f64) -> Self {
        Self { ends: self.ends.map(|end| end.by(dx, dy)), ..*self }
    }
}

/// How runs are drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Measure {
    /// Millimetres on paper for each metre: 1000 for a board at full size.
    pub mm_per_metre: f64,
    /// The longest run that is drawn whole, millimetres on paper; a longer one is drawn so long, with a break.
    pub longest: f64,
}

impl Measure {
    /// Everything whole.
    pub fn whole(mm_per_metre: f64) -> Self {
        Self { mm_per_metre, longest: f64::INFINITY }
    }
}

/// Runs and places on the board, millimetres at the scale asked for.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Board {
    pub stretches: Vec<Stretch>,
    pub places: Vec<(PlaceId, Point)>,
}

/// A run's width on paper: as thick as its bundle within reason.
pub(super) fn run_width(model: &Model, run: RunId) -> f64 {
    (bundle::diameter(model, run).value() * 1000.0 / 5.0).clamp(0.9, 3.2)
}

/// The side of the vehicle that a limb leads to.
fn side_of(model: &Model, limb: &Limb) -> Option<Side> {
    limb.places[1..].iter().find_map(|place| sides::of_text(model.places[place.0].as_str()))
}

/// Angles tried for a branch against its limb's direction, degrees, the plainest first.
const ANGLES: [f64; 10] = [90.0, -90.0, 60.0, -60.0, 120.0, -120.0, 40.0, -40.0, 140.0, -140.0];

/// Distance that two stretches keep, except at the place where they meet.
const CLEAR: f64 = 14.0;

/// Lays a tree out.
pub(super) fn lay(model: &Model, trunk: &Limb, measure: Measure) -> Board {
    let mut board = Board::default();
    board.places.push((trunk.places[0], Point::default()));
    extend(model, trunk, Point::default(), 0.0, measure, 0, &mut board);
    board
}

fn along(from: Point, degrees: f64, length: f64) -> Point {
    let radians = degrees.to_radians();
    // Rounded, so that a square branch is square to the last digit.
    let round = |v: f64| (v * 1e6).round() / 1e6;
    from.by(round(length * radians.cos()), round(length * radians.sin()))
}

fn extend(model: &Model, limb: &Limb, start: Point, angle: f64, measure: Measure, depth: usize, board: &mut Board) {
    let mut at = start;
    let mut points = vec![start];
    for (place, run) in limb.places[1..].iter().zip(&limb.runs) {
        let length = model.runs[run.0].length.value() * measure.mm_per_metre;
        let to = along(at, angle, length.min(measure.longest));
        let whole = Whole { ends: [at, to], first: limb.places[points.len() - 1], length };
        board.stretches.push(Stretch { run: *run, from: at, to, whole });
        board.places.push((*place, to));
        points.push(to);
        at = to;
    }
    for (turn, (index, branch)) in limb.branches.iter().enumerate() {
        let from = points[*index];
        // What is on the left of the vehicle goes to the left of its trunk; the others go to alternate sides, so that
        // the board fills evenly.
        let alternate = if (turn + depth).is_multiple_of(2) { -1.0 } else { 1.0 };
        let flip = match side_of(model, branch).filter(|_| depth == 0) {
            Some(Side::Left) => -1.0,
            Some(Side::Right) => 1.0,
            None => alternate,
        };
        let angles = ANGLES.iter().map(|a| angle + a * flip);
        let mut best: Option<(f64, Board)> = None;
        for tried in angles {
            let mut attempt = board.clone();
            extend(model, branch, from, tried, measure, depth + 1, &mut attempt);
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

#[cfg(test)]
mod tests {
    use super::super::tree;
    use super::*;

    /// Seen from above, driving to the right: the left side is up.
    #[test]
    fn the_left_side_of_a_vehicle_lies_above_its_trunk() {
        for (name, front, left, right) in [("refuse-truck", "nose", "mirror-left", "mirror-right")] {
            let model = sample::demo(name);
            let trunk = &tree::grow(&model).trunks[0];
            for scale in [20.0, 50.0, 1000.0] {
                let board = lay(&model, trunk, Measure::whole(scale));
                let at = |name: &str| board.places.iter().find(|(p, _)| model.places[p.0].as_str() == name).unwrap().1;
                assert!(at(left).y < -1.0 && at(right).y > 1.0 && at(front).x > 1.0, "{name} 1:{scale}");
            }
        }
    }
}
