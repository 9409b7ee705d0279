//! Draws symbols: strokes in the symbol's line, collected into items.

use super::super::colour::{INK, PAPER};
use super::super::lines;
use super::super::scene::*;
use super::symbol::{Port, PortSide, Symbol};

/// Items and ports of a symbol under construction.
#[derive(Debug, Default)]
pub(super) struct Pen {
    items: Vec<Item>,
    ports: Vec<Port>,
}

/// A point, for short.
pub(super) const fn at(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

impl Pen {
    /// Anything.
    pub fn put(&mut self, item: impl Into<Item>) -> &mut Self {
        self.items.push(item.into());
        self
    }
    /// A line through points, in the symbol's line.
    pub fn line(&mut self, points: &[Point]) -> &mut Self {
        self.put(Path::polyline(points).stroked(lines::symbol()))
    }
    /// A line of another kind.
    pub fn line_as(&mut self, points: &[Point], stroke: Stroke) -> &mut Self {
        self.put(Path::polyline(points).stroked(stroke))
    }
    /// A figure through points, its area left as paper.
    pub fn shape(&mut self, points: &[Point]) -> &mut Self {
        self.put(Path::polygon(points).stroked(lines::symbol()).filled(PAPER))
    }
    /// A filled figure.
    pub fn solid(&mut self, points: &[Point]) -> &mut Self {
        self.put(Path::polygon(points).filled(INK))
    }
    /// A box around a centre.
    pub fn boxed(&mut self, centre: Point, width: f64, height: f64) -> &mut Self {
        let path = Path::rect(&Rect::centred(centre, Size::new(width, height)));
        self.put(path.stroked(lines::symbol()).filled(PAPER))
    }
    /// An open circle.
    pub fn circle(&mut self, centre: Point, radius: f64) -> &mut Self {
        self.put(Path::circle(centre, radius).stroked(lines::symbol()).filled(PAPER))
    }
    /// A filled dot.
    pub fn dot(&mut self, centre: Point, radius: f64) -> &mut Self {
        self.put(Path::circle(centre, radius).filled(INK))
    }
    /// Part of a circle.
    pub fn arc(&mut self, from: Point, radius: f64, clockwise: bool, to: Point) -> &mut Self {
        let segs = [Seg::Move(from), Seg::Arc { radius, large: false, clockwise, to }];
        self.put(Path::new(segs).stroked(lines::symbol()))
    }
    /// Lettering centred on a point.
    pub fn letter(&mut self, centre: Point, text: &str, height: f64) -> &mut Self {
        self.put(TextItem::new(centre, text, height).anchored(Anchor::Middle).centred_on(centre.y))
    }
    /// An arrow head with its tip at `tip`, pointing along (dx, dy), a unit vector.
    pub fn head(&mut self, tip: Point, dx: f64, dy: f64, size: f64) -> &mut Self {
        let back = tip.by(-dx * size, -dy * size);
        let half = size * 0.38;
        self.solid(&[tip, back.by(-dy * half, dx * half), back.by(dy * half, -dx * half)])
    }
    /// A port.
    pub fn port(&mut self, name: &str, place: Point, side: PortSide) -> &mut Self {
        self.ports.push(Port { name: name.into(), at: place, side });
        self
    }
    /// A lead from a port to the body.
    pub fn lead(&mut self, name: &str, from: Point, to: Point, side: PortSide) -> &mut Self {
        self.line(&[from, to]).port(name, from, side)
    }
    /// The finished symbol with the box it takes.
    pub fn finish(self, body: Rect) -> Symbol {
        Symbol { items: self.items, ports: self.ports, body }
    }
}

/// A box from its edges.
pub(super) fn area(left: f64, top: f64, right: f64, bottom: f64) -> Rect {
    Rect::new(at(left, top), at(right, bottom))
}
