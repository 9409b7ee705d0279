//! Symbols for parts, drawn after the general shapes of IEC 60617 (from memory of the standard) in our own hand.
//!
//! A symbol stands around its own origin with current running downwards; its ports, where wires join, lie on the
//! 2.5 mm module of [`super::lines`]. It is moved and turned whole; its lettering stays level.

mod blocks;
mod contacts;
mod joints;
mod pen;
mod poles;
pub mod specimen;

pub use blocks::{Picture, block, picture};
pub use contacts::{Actuator, Blade, Coil, Contact, coil, contact, relay, switch};
pub use joints::{Ground, battery, connector, ground, splice, terminal};
pub use poles::{Pole, pole};

use super::scene::*;

/// Which way a wire leaves a port.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Upwards.
    Top,
    /// To the right.
    Right,
    /// Downwards.
    Bottom,
    /// To the left.
    Left,
}

impl Side {
    fn turned(self) -> Self {
        match self {
            Side::Top => Side::Right,
            Side::Right => Side::Bottom,
            Side::Bottom => Side::Left,
            Side::Left => Side::Top,
        }
    }
    /// One step of `length` out of this side.
    pub fn step(self, length: f64) -> (f64, f64) {
        match self {
            Side::Top => (0.0, -length),
            Side::Right => (length, 0.0),
            Side::Bottom => (0.0, length),
            Side::Left => (-length, 0.0),
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
    pub side: Side,
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
                Side::Top => Side::Bottom,
                Side::Bottom => Side::Top,
                side => side,
            };
        }
        self.body = flipped_rect(&self.body);
        self
    }
    /// The drawn items under a tag that names the part and keeps its body clear.
    pub fn group(self, tag: Tag) -> Group {
        let tag = Tag { outline: Some(self.body), ..tag };
        Group { tag, items: self.items }
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

#[cfg(test)]
mod tests {
    use super::super::lines::MODULE;
    use super::*;

    fn on_module(p: Point) -> bool {
        let off = |v: f64| (v / MODULE - (v / MODULE).round()).abs();
        off(p.x) < 1e-9 && off(p.y) < 1e-9
    }

    fn all() -> Vec<(String, Symbol)> {
        super::specimen::all()
    }

    #[test]
    fn ports_stand_on_the_module_and_at_the_edge_of_the_body() {
        for (name, symbol) in all() {
            for quarter in 0..4 {
                let symbol = symbol.clone().turned(quarter);
                for port in &symbol.ports {
                    assert!(on_module(port.at), "{name} port {} at {:?}", port.name, port.at);
                    if symbol.body.width() < MODULE {
                        continue; // a dot: wires join in its middle
                    }
                    let (dx, dy) = port.side.step(0.1);
                    assert!(
                        symbol.body.contains(port.at) && !symbol.body.contains(port.at.by(dx, dy)),
                        "{name} port {} at {:?}, body {:?}",
                        port.name,
                        port.at,
                        symbol.body
                    );
                }
            }
        }
    }

    #[test]
    fn all_ink_is_within_the_body() {
        for (name, symbol) in all() {
            let ink = around(symbol.items.iter().filter_map(Item::bounds)).unwrap();
            assert!(symbol.body.inflate(0.5).contains_rect(&ink), "{name}: ink {ink:?}, body {:?}", symbol.body);
        }
    }

    #[test]
    fn port_names_are_unique_in_a_symbol() {
        for (name, symbol) in all() {
            let mut names: Vec<_> = symbol.ports.iter().map(|p| &p.name).collect();
            names.sort();
            names.dedup();
            assert_eq!(names.len(), symbol.ports.len(), "{name}");
        }
    }

    #[test]
    fn what_is_flipped_twice_is_as_it_was() {
        for (name, symbol) in all() {
            let twice = symbol.clone().flipped().flipped();
            let ink = |s: &Symbol| around(s.items.iter().filter_map(Item::bounds)).unwrap();
            let (a, b) = (ink(&symbol), ink(&twice));
            assert!((a.top - b.top).abs() < 1e-9 && (a.right - b.right).abs() < 1e-9, "{name}");
            let (once, body) = (ink(&symbol.clone().flipped()), symbol.flipped().body);
            assert!(body.inflate(0.5).contains_rect(&once), "{name}");
        }
    }

    #[test]
    fn four_quarter_turns_come_home() {
        for (name, symbol) in all() {
            let round = symbol.clone().turned(1).turned(1).turned(1).turned(1);
            for (a, b) in round.ports.iter().zip(&symbol.ports) {
                assert!(a.at.distance(b.at) < 1e-9 && a.side == b.side, "{name}");
            }
        }
    }
}
