//! How straight the wires of a drawing run: crossings, bends, and drawn length over straight distance.

use super::read;
use kit::geometry::Point;
use std::collections::BTreeSet;
use std::fmt;

/// Longest chord of a bow or of a rounded corner, millimetres.
pub(super) const CHORD: f64 = 0.9;

/// How the wires of a drawing run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Routes {
    /// How many times a wire bows over another.
    pub crossings: usize,
    /// Corners of all wires.
    pub bends: usize,
    /// Length of all wires, millimetres.
    pub drawn: f64,
    /// Straight distances between the ends of all wires, millimetres.
    pub straight: f64,
}

impl Routes {
    /// Drawn length over straight distance; 1 without wires.
    pub fn detour(&self) -> f64 {
        if self.straight > 0.0 { self.drawn / self.straight } else { 1.0 }
    }
    /// Of several sheets together.
    pub fn and(self, other: Self) -> Self {
        Self {
            crossings: self.crossings + other.crossings,
            bends: self.bends + other.bends,
            drawn: self.drawn + other.drawn,
            straight: self.straight + other.straight,
        }
    }
}

impl fmt::Display for Routes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} crossings, {} bends, drawn {:.2} × straight", self.crossings, self.bends, self.detour())
    }
}

/// Measures the wires; the bows that are painted a second time, on top, do not count again.
pub(super) fn routes(lines: &[&read::Line]) -> Routes {
    let wires: Vec<&read::Line> = lines.iter().copied().filter(|line| line.wire.is_some()).collect();
    let mut routes = Routes::default();
    let mut crossed = BTreeSet::new();
    for wire in &wires {
        for (other, line) in wires.iter().enumerate().filter(|(_, line)| line.wire != wire.wire) {
            for (c, d) in line.steps().filter(|(c, d)| c.x == d.x && (c.y - d.y).abs() > 2.0 * CHORD) {
                if bows_over(wire, c.x, c.y.min(d.y), c.y.max(d.y)) {
                    crossed.insert((wire.wire.clone(), other, (c.x * 100.0) as i64));
                }
            }
        }
        // A bow on top has no ends of its own.
        if !wire.named() {
            continue;
        }
        for run in &wire.runs {
            let long: Vec<(Point, Point)> =
                run.windows(2).map(|p| (p[0], p[1])).filter(|(a, b)| a.distance(*b) > CHORD).collect();
            routes.bends += long.windows(2).filter(|p| level(p[0]) != level(p[1])).count();
            routes.drawn += run.windows(2).map(|p| p[0].distance(p[1])).sum::<f64>();
            if let (Some(first), Some(last)) = (run.first(), run.last()) {
                routes.straight += first.distance(*last);
            }
        }
    }
    routes.crossings = crossed.len();
    routes
}

fn level((a, b): (Point, Point)) -> bool {
    (a.y - b.y).abs() < (a.x - b.x).abs()
}

/// Whether a line bows over what stands upright at `x` between two heights: a bow is drawn of short chords.
pub(super) fn bows_over(line: &read::Line, x: f64, top: f64, bottom: f64) -> bool {
    let bounds = &line.bounds;
    if x < bounds.left || x > bounds.right || bottom < bounds.top || top > bounds.bottom {
        return false;
    }
    let chords = |(p, q): &(Point, Point)| p.distance(*q) < CHORD && p.y.min(q.y) > top && p.y.max(q.y) < bottom;
    line.steps().filter(chords).any(|(p, q)| p.x.min(q.x) < x - 1e-6 && p.x.max(q.x) > x + 1e-6)
        || line.runs.iter().any(|run| {
            // The top of a bow may be where two chords meet.
            run.windows(3).any(|t| {
                (t[1].x - x).abs() < 1e-6
                    && (t[0].x - x) * (t[2].x - x) < 0.0
                    && t[0].distance(t[1]).min(t[1].distance(t[2])) < CHORD
                    && t[1].y > top
                    && t[1].y < bottom
            })
        })
}
