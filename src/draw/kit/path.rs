//! Lines and areas, and how they are drawn.

use super::colour::Rgb;
use super::geometry::{Point, Rect, Seg, around, cubics};

/// Dashes of a stroke: lengths of ink and gap in turn (ink, gap, ink, gap), and how far into them the line begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dash {
    /// Ink, gap, ink, gap, in millimetres.
    pub pattern: [f64; 4],
    /// Where in the pattern the line begins.
    pub offset: f64,
}

impl Dash {
    /// Equal dashes: `ink` long with `gap` between.
    pub const fn even(ink: f64, gap: f64) -> Self {
        Self { pattern: [ink, gap, ink, gap], offset: 0.0 }
    }
    /// Long and short in turn: the boundary of an assembly.
    pub const fn chain(long: f64, gap: f64, short: f64) -> Self {
        Self { pattern: [long, gap, short, gap], offset: 0.0 }
    }
}

/// How a path is drawn. Ends are cut square and corners rounded, in every writer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Colour of the line.
    pub colour: Rgb,
    /// Line width, millimetres.
    pub width: f64,
    /// Dashes, or none for a full line.
    pub dash: Option<Dash>,
}

impl Stroke {
    /// A full line.
    pub const fn solid(colour: Rgb, width: f64) -> Self {
        Self { colour, width, dash: None }
    }
    /// A dashed line.
    pub const fn dashed(colour: Rgb, width: f64, dash: Dash) -> Self {
        Self { colour, width, dash: Some(dash) }
    }
}

/// A line or an area.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    /// Its steps.
    pub segs: Vec<Seg>,
    /// How its line is drawn, if at all.
    pub stroke: Option<Stroke>,
    /// What it is filled with (non-zero rule), if at all.
    pub fill: Option<Rgb>,
}

impl Path {
    /// From its steps, neither stroked nor filled yet.
    pub fn new(segs: impl Into<Vec<Seg>>) -> Self {
        Self { segs: segs.into(), stroke: None, fill: None }
    }
    /// A straight line.
    pub fn line(from: Point, to: Point) -> Self {
        Self::new([Seg::Move(from), Seg::Line(to)])
    }
    /// A line through all points.
    pub fn polyline(points: &[Point]) -> Self {
        let steps = points.iter().enumerate();
        Self::new(steps.map(|(i, &p)| if i == 0 { Seg::Move(p) } else { Seg::Line(p) }).collect::<Vec<_>>())
    }
    /// A closed figure through all points.
    pub fn polygon(points: &[Point]) -> Self {
        let mut path = Self::polyline(points);
        path.segs.push(Seg::Close);
        path
    }
    /// A rectangle.
    pub fn rect(r: &Rect) -> Self {
        let corner = Point::new;
        Self::polygon(&[
            corner(r.left, r.top),
            corner(r.right, r.top),
            corner(r.right, r.bottom),
            corner(r.left, r.bottom),
        ])
    }
    /// A rectangle with round corners.
    pub fn rounded(r: &Rect, radius: f64) -> Self {
        let k = radius.clamp(0.0, r.width().min(r.height()) / 2.0);
        let turn = |x, y| Seg::Arc { radius: k, large: false, clockwise: true, to: Point::new(x, y) };
        let line = |x, y| Seg::Line(Point::new(x, y));
        Self::new([
            Seg::Move(Point::new(r.left + k, r.top)),
            line(r.right - k, r.top),
            turn(r.right, r.top + k),
            line(r.right, r.bottom - k),
            turn(r.right - k, r.bottom),
            line(r.left + k, r.bottom),
            turn(r.left, r.bottom - k),
            line(r.left, r.top + k),
            turn(r.left + k, r.top),
            Seg::Close,
        ])
    }
    /// A circle.
    pub fn circle(centre: Point, radius: f64) -> Self {
        let half = |x| Seg::Arc { radius, large: false, clockwise: true, to: Point::new(x, centre.y) };
        Self::new([Seg::Move(centre.by(-radius, 0.0)), half(centre.x + radius), half(centre.x - radius), Seg::Close])
    }
    /// The same with its line drawn.
    pub fn stroked(mut self, stroke: Stroke) -> Self {
        self.stroke = Some(stroke);
        self
    }
    /// The same with its area filled.
    pub fn filled(mut self, colour: Rgb) -> Self {
        self.fill = Some(colour);
        self
    }
    /// The rectangle around its ink, half the line width included. Curves count by their control points, arcs by
    /// their true extent.
    pub fn bounds(&self) -> Option<Rect> {
        let margin = self.stroke.map_or(0.0, |s| s.width / 2.0);
        let points = cubics(&self.segs).into_iter().flat_map(|seg| match seg {
            Seg::Move(p) | Seg::Line(p) => vec![p],
            Seg::Cubic(a, b, c) => vec![a, b, c],
            Seg::Arc { to, .. } => vec![to],
            Seg::Close => vec![],
        });
        around(points.map(|p| Rect::new(p, p))).map(|r| r.inflate(margin))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_circle_is_as_wide_as_it_is_high() {
        let circle = Path::circle(Point::new(10.0, 10.0), 5.0).bounds().unwrap();
        assert!((circle.left - 5.0).abs() < 1e-9 && (circle.bottom - 15.0).abs() < 1e-9);
    }
}
