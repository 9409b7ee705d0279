//! What a symbol is: its items, the ports where wires join it, and its body; moved, turned and flipped as a whole.

use crate::scene::*;

/// Which way a wire leaves a port.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PortSide {
    /// Upwards.
    Top,
    /// To the right.
    Right,
    /// Downwards.
    Bottom,
    /// To the left.
    Left,
}

impl PortSide {
    fn turned(self) -> Self {
        match self {
            PortSide::Top => PortSide::Right,
            PortSide::Right => PortSide::Bottom,
            PortSide::Bottom => PortSide::Left,
            PortSide::Left => PortSide::Top,
        }
    }
    /// One step of `length` out of this side.
    pub fn step(self, length: f64) -> (f64, f64) {
        match self {
            PortSide::Top => (0.0, -length),
            PortSide::Right => (length, 0.0),
            PortSide::Bottom => (0.0, length),
            PortSide::Left => (-length, 0.0),
        }
    }
}

/// Where wires join a symbol.
#[derive(Debug, Clone, PartialEq)]
pub struct Port {
    /// The trade's name of the terminal: `86`, `87a`, `A` (anode), `1`.
    pub name: String,
    /// Its place.
    pub at: Point,
    /// Which way a wire leaves it.
    pub side: PortSide,
}

/// A symbol: what is drawn, where wires join it, and the box that wires and labels keep out of.
#[derive(Debug, Clone, PartialEq)]
pub struct Symbol {
    /// What is drawn.
    pub items: Vec<Item>,
    /// Where wires join.
    pub ports: Vec<Port>,
    /// The box around its body, leads included.
    pub body: Rect,
}

impl Symbol {
    /// A port by its name.
    pub fn port(&self, name: &str) -> Option<&Port> {
        self.ports.iter().find(|p| p.name == name)
    }
    /// The same symbol moved so that its origin comes to a place.
    pub fn at(mut self, place: Point) -> Self {
        self.items.iter_mut().for_each(|item| item.shift(place.x, place.y));
        self.ports.iter_mut().for_each(|port| port.at = port.at.by(place.x, place.y));
        self.body = self.body.by(place.x, place.y);
        self
    }
    /// The same symbol turned clockwise about its origin by quarter turns.
    pub fn turned(mut self, quarters: u8) -> Self {
        for _ in 0..quarters % 4 {
            self.items.iter_mut().for_each(turn);
            for port in &mut self.ports {
                port.at = turned(port.at);
                port.side = port.side.turned();
            }
            self.body = turned_rect(&self.body);
        }
        self
    }
    /// The same symbol upside down: mirrored about its middle line, lettering upright.
    pub fn flipped(mut self) -> Self {
        self.items.iter_mut().for_each(flip);
        for port in &mut self.ports {
            port.at = flipped(port.at);
            port.side = match port.side {
                PortSide::Top => PortSide::Bottom,
                PortSide::Bottom => PortSide::Top,
                side => side,
            };
        }
        self.body = flipped_rect(&self.body);
        self
    }
    /// The drawn items under a tag that names the part and keeps its body clear.
    pub fn group(self, tag: Tag) -> ItemGroup {
        let tag = Tag { outline: Some(self.body), ..tag };
        ItemGroup { tag, items: self.items }
    }
}

fn turned(p: Point) -> Point {
    Point::new(-p.y + 0.0, p.x)
}

fn turned_rect(r: &Rect) -> Rect {
    Rect::new(turned(Point::new(r.left, r.top)), turned(Point::new(r.right, r.bottom)))
}

fn flipped(p: Point) -> Point {
    Point::new(p.x, -p.y + 0.0)
}

fn flipped_rect(r: &Rect) -> Rect {
    Rect::new(flipped(Point::new(r.left, r.top)), flipped(Point::new(r.right, r.bottom)))
}

fn flip(item: &mut Item) {
    match item {
        Item::Group(group) => {
            group.tag.outline = group.tag.outline.map(|r| flipped_rect(&r));
            group.tag.at = group.tag.at.map(flipped);
            group.items.iter_mut().for_each(flip);
        }
        Item::Path(path) => path.segs.iter_mut().for_each(|seg| {
            *seg = match *seg {
                Seg::Move(p) => Seg::Move(flipped(p)),
                Seg::Line(p) => Seg::Line(flipped(p)),
                Seg::Cubic(a, b, c) => Seg::Cubic(flipped(a), flipped(b), flipped(c)),
                Seg::Arc { radius, large, clockwise, to } => {
                    Seg::Arc { radius, large, clockwise: !clockwise, to: flipped(to) }
                }
                Seg::Close => Seg::Close,
            }
        }),
        Item::Text(text) => {
            let middle = text.bounds().centre().y;
            text.at.y -= 2.0 * middle;
        }
    }
}

fn turn(item: &mut Item) {
    match item {
        Item::Group(group) => {
            group.tag.outline = group.tag.outline.map(|r| turned_rect(&r));
            group.tag.at = group.tag.at.map(turned);
            group.items.iter_mut().for_each(turn);
        }
        Item::Path(path) => path.segs.iter_mut().for_each(|seg| {
            *seg = match *seg {
                Seg::Move(p) => Seg::Move(turned(p)),
                Seg::Line(p) => Seg::Line(turned(p)),
                Seg::Cubic(a, b, c) => Seg::Cubic(turned(a), turned(b), turned(c)),
                Seg::Arc { radius, large, clockwise, to } => Seg::Arc { radius, large, clockwise, to: turned(to) },
                Seg::Close => Seg::Close,
            }
        }),
        // The letters stay level: only the middle of their box goes round.
        Item::Text(text) => {
            let (from, to) = (text.bounds().centre(), turned(text.bounds().centre()));
            text.at = text.at.by(to.x - from.x, to.y - from.y);
        }
    }
}
