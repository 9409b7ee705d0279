//! Points, rectangles and the steps of a path, in millimetres on paper, x to the right and y **down**.

/// A place on the sheet, millimetres from its top left corner.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

impl Point {
    /// From millimetres right and down.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }
    /// Moved right by `dx` and down by `dy`.
    pub fn by(self, dx: f64, dy: f64) -> Self {
        Self::new(self.x + dx, self.y + dy)
    }
    /// In another size, about the origin.
    pub fn scaled(self, by: f64) -> Self {
        Self::new(self.x * by, self.y * by)
    }
    /// Straight distance to another point.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

/// Width and height, millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Size {
    /// Extent to the right.
    pub width: f64,
    /// Extent down.
    pub height: f64,
}

impl Size {
    /// From millimetres.
    pub const fn new(width: f64, height: f64) -> Self {
        Self { width, height }
    }
}

/// An upright rectangle, `left ≤ right` and `top ≤ bottom`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Smallest x.
    pub left: f64,
    /// Smallest y.
    pub top: f64,
    /// Largest x.
    pub right: f64,
    /// Largest y.
    pub bottom: f64,
}

impl Rect {
    /// From two opposite corners, in any order.
    pub fn new(a: Point, b: Point) -> Self {
        Self { left: a.x.min(b.x), top: a.y.min(b.y), right: a.x.max(b.x), bottom: a.y.max(b.y) }
    }
    /// From the top left corner and a size.
    pub fn sized(at: Point, size: Size) -> Self {
        Self::new(at, at.by(size.width, size.height))
    }
    /// Around a centre.
    pub fn centred(at: Point, size: Size) -> Self {
        Self::sized(at.by(-size.width / 2.0, -size.height / 2.0), size)
    }
    /// Extent to the right.
    pub fn width(&self) -> f64 {
        self.right - self.left
    }
    /// Extent down.
    pub fn height(&self) -> f64 {
        self.bottom - self.top
    }
    /// Width and height.
    pub fn size(&self) -> Size {
        Size::new(self.width(), self.height())
    }
    /// The point in the middle.
    pub fn centre(&self) -> Point {
        Point::new((self.left + self.right) / 2.0, (self.top + self.bottom) / 2.0)
    }
    /// Whether the two share some area; touching edges do not count.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right && other.left < self.right && self.top < other.bottom && other.top < self.bottom
    }
    /// Whether the point is inside or on the edge.
    pub fn contains(&self, p: Point) -> bool {
        (self.left..=self.right).contains(&p.x) && (self.top..=self.bottom).contains(&p.y)
    }
    /// Whether the other lies wholly inside (edges may touch).
    pub fn contains_rect(&self, other: &Self) -> bool {
        self.left <= other.left && other.right <= self.right && self.top <= other.top && other.bottom <= self.bottom
    }
    /// Grown by `margin` on every side; shrunk when negative, to its centre at most.
    pub fn inflate(&self, margin: f64) -> Self {
        let (dx, dy) = (margin.max(-self.width() / 2.0), margin.max(-self.height() / 2.0));
        Self { left: self.left - dx, top: self.top - dy, right: self.right + dx, bottom: self.bottom + dy }
    }
    /// The smallest rectangle around both.
    pub fn union(&self, other: &Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }
    /// In another size, about the origin.
    pub fn scaled(&self, by: f64) -> Self {
        Self { left: self.left * by, top: self.top * by, right: self.right * by, bottom: self.bottom * by }
    }
    /// Moved right by `dx` and down by `dy`.
    pub fn by(&self, dx: f64, dy: f64) -> Self {
        Self { left: self.left + dx, top: self.top + dy, right: self.right + dx, bottom: self.bottom + dy }
    }
}

/// The smallest rectangle around all of them, none for none.
pub fn around(rects: impl IntoIterator<Item = Rect>) -> Option<Rect> {
    rects.into_iter().reduce(|a, b| a.union(&b))
}

/// One step of a path. Every path begins with a `Move`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seg {
    /// Lift the pen and start here.
    Move(Point),
    /// A straight line to here.
    Line(Point),
    /// A cubic Bézier curve: two control points and its end.
    Cubic(Point, Point, Point),
    /// A circular arc to `to`; `large` takes the longer way round, `clockwise` as seen on paper.
    Arc { radius: f64, large: bool, clockwise: bool, to: Point },
    /// Back to the last `Move`.
    Close,
}

/// The step moved right by `dx` and down by `dy`.
pub fn moved(seg: Seg, dx: f64, dy: f64) -> Seg {
    match seg {
        Seg::Move(p) => Seg::Move(p.by(dx, dy)),
        Seg::Line(p) => Seg::Line(p.by(dx, dy)),
        Seg::Cubic(a, b, c) => Seg::Cubic(a.by(dx, dy), b.by(dx, dy), c.by(dx, dy)),
        Seg::Arc { radius, large, clockwise, to } => Seg::Arc { radius, large, clockwise, to: to.by(dx, dy) },
        Seg::Close => Seg::Close,
    }
}

/// The step in another size, about the origin.
pub fn scaled(seg: Seg, by: f64) -> Seg {
    match seg {
        Seg::Move(p) => Seg::Move(p.scaled(by)),
        Seg::Line(p) => Seg::Line(p.scaled(by)),
        Seg::Cubic(a, b, c) => Seg::Cubic(a.scaled(by), b.scaled(by), c.scaled(by)),
        Seg::Arc { radius, large, clockwise, to } => {
            Seg::Arc { radius: radius * by, large, clockwise, to: to.scaled(by) }
        }
        Seg::Close => Seg::Close,
    }
}

/// The same steps with every arc turned into cubic curves of at most a quarter turn (error below 0.03 % of the radius).
pub fn cubics(segs: &[Seg]) -> Vec<Seg> {
    let (mut out, mut start, mut here) = (Vec::with_capacity(segs.len()), Point::default(), Point::default());
    for &seg in segs {
        match seg {
            Seg::Arc { radius, large, clockwise, to } => arc(here, radius, large, clockwise, to, &mut out),
            other => out.push(other),
        }
        match seg {
            Seg::Move(p) => (start, here) = (p, p),
            Seg::Line(p) | Seg::Cubic(_, _, p) | Seg::Arc { to: p, .. } => here = p,
            Seg::Close => here = start,
        }
    }
    out
}

/// Endpoint to centre form as in the SVG 1.1 specification, F.6.5, for a circle; then quarter curves with handles of
/// 4/3 · tan(angle/4).
fn arc(from: Point, radius: f64, large: bool, clockwise: bool, to: Point, out: &mut Vec<Seg>) {
    let chord = from.distance(to);
    if chord < 1e-9 || radius < 1e-9 {
        out.push(Seg::Line(to));
        return;
    }
    let radius = radius.max(chord / 2.0);
    let height = (radius * radius - chord * chord / 4.0).max(0.0).sqrt();
    let side = if large == clockwise { -1.0 } else { 1.0 };
    let (ux, uy) = ((to.x - from.x) / chord, (to.y - from.y) / chord);
    let centre = Point::new((from.x + to.x) / 2.0 - uy * height * side, (from.y + to.y) / 2.0 + ux * height * side);
    let first = (from.y - centre.y).atan2(from.x - centre.x);
    let mut sweep = (to.y - centre.y).atan2(to.x - centre.x) - first;
    if clockwise && sweep < 0.0 {
        sweep += std::f64::consts::TAU;
    } else if !clockwise && sweep > 0.0 {
        sweep -= std::f64::consts::TAU;
    }
    let pieces = (sweep.abs() / std::f64::consts::FRAC_PI_2 - 1e-6).ceil().max(1.0);
    let step = sweep / pieces;
    let handle = 4.0 / 3.0 * (step / 4.0).tan() * radius;
    for i in 0..pieces as usize {
        let (a, b) = (first + step * i as f64, first + step * (i + 1) as f64);
        let on = |t: f64| Point::new(centre.x + radius * t.cos(), centre.y + radius * t.sin());
        let end = if i + 1 == pieces as usize { to } else { on(b) };
        out.push(Seg::Cubic(
            on(a).by(-handle * a.sin(), handle * a.cos()),
            end.by(handle * b.sin(), -handle * b.cos()),
            end,
        ));
    }
}

/// Distance of a point from a stretch of line.
pub fn from_line(p: Point, a: Point, b: Point) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let square = dx * dx + dy * dy;
    let t = if square > 0.0 { (((p.x - a.x) * dx + (p.y - a.y) * dy) / square).clamp(0.0, 1.0) } else { 0.0 };
    p.distance(Point::new(a.x + dx * t, a.y + dy * t))
}

/// Whether a stretch of line comes into a rectangle (Liang and Barsky's clipping), and which part of it does.
pub fn clipped(a: Point, b: Point, r: &Rect) -> Option<(Point, Point)> {
    // Most lines pass far from most rectangles.
    let beyond = |a: f64, b: f64, low: f64, high: f64| (a < low && b < low) || (a > high && b > high);
    if beyond(a.x, b.x, r.left, r.right) || beyond(a.y, b.y, r.top, r.bottom) {
        return None;
    }
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
    use crate::path::Path;

    #[test]
    fn touching_rectangles_do_not_overlap() {
        let a = Rect::sized(Point::new(0.0, 0.0), Size::new(10.0, 10.0));
        assert!(!a.overlaps(&a.by(10.0, 0.0)));
        assert!(a.overlaps(&a.by(9.99, 9.99)));
        assert!(a.contains_rect(&a) && !a.contains_rect(&a.by(0.01, 0.0)));
        assert_eq!(a.inflate(-20.0).size(), Size::new(0.0, 0.0));
    }

    #[test]
    fn arcs_take_the_way_that_is_asked_for() {
        let (from, to) = (Point::new(0.0, 0.0), Point::new(10.0, 0.0));
        let top = |large, clockwise| {
            Path::new([Seg::Move(from), Seg::Arc { radius: 6.0, large, clockwise, to }]).bounds().unwrap()
        };
        // As seen on paper a clockwise arc from left to right bulges upwards, towards smaller y.
        assert!(top(false, true).top < -2.0 && top(false, true).bottom < 1e-9);
        assert!(top(true, true).top < -8.0);
        assert!(top(false, false).bottom > 2.0 && top(true, false).bottom > 8.0);
    }

    #[test]
    fn clipping_keeps_what_is_inside() {
        let r = Rect::new(Point::new(0.0, 0.0), Point::new(10.0, 10.0));
        let p = Point::new;
        assert_eq!(clipped(p(-5.0, 5.0), p(15.0, 5.0), &r), Some((p(0.0, 5.0), p(10.0, 5.0))));
        assert_eq!(clipped(p(2.0, 2.0), p(3.0, 3.0), &r), Some((p(2.0, 2.0), p(3.0, 3.0))));
        assert_eq!(clipped(p(-5.0, -1.0), p(15.0, -1.0), &r), None);
    }
}
