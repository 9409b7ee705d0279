//! Where wires meet: splices, terminals, connectors, grounds, and the battery they all come from.

use super::super::colour::INK;
use super::super::lines;
use super::super::scene::*;
use super::pen::{Pen, area, at};
use super::symbol::{PortSide, Symbol};

/// Kinds of ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum GroundSymbol {
    /// The vehicle's body or frame.
    Chassis,
    /// The negative side in general.
    Earth,
}

/// A ground point; its port `1` is at the origin, on top.
pub fn ground(kind: GroundSymbol) -> Symbol {
    let mut pen = Pen::default();
    pen.lead("1", at(0.0, 0.0), at(0.0, 2.5), PortSide::Top);
    match kind {
        GroundSymbol::Earth => {
            for (y, half) in [(2.5, 2.5), (3.5, 1.6), (4.5, 0.7)] {
                pen.line(&[at(-half, y), at(half, y)]);
            }
        }
        GroundSymbol::Chassis => {
            pen.line_as(&[at(-2.5, 2.5), at(2.5, 2.5)], Stroke::solid(INK, lines::HEAVY));
            for x in [-2.5, -0.8, 0.9, 2.5] {
                pen.line(&[at(x, 2.5), at(x - 1.2, 4.5)]);
            }
        }
    }
    pen.finish(area(-3.7, 0.0, 2.7, 4.7))
}

/// A battery, plus on top; ports `+` and `-`.
pub fn battery() -> Symbol {
    let mut pen = Pen::default();
    let thick = Stroke::solid(INK, lines::HEAVY);
    pen.lead("+", at(0.0, -5.0), at(0.0, -1.5), PortSide::Top).lead("-", at(0.0, 5.0), at(0.0, 1.6), PortSide::Bottom);
    for y in [-1.5, 0.5] {
        pen.line(&[at(-3.0, y), at(3.0, y)]).line_as(&[at(-1.5, y + 1.0), at(1.5, y + 1.0)], thick);
    }
    pen.letter(at(2.2, -3.1), "+", lines::LABEL);
    pen.finish(area(-3.0, -5.0, 3.4, 5.0))
}

/// A splice: the dot that says wires are joined. Its port `1` is the dot itself.
pub fn splice() -> Symbol {
    let mut pen = Pen::default();
    pen.dot(at(0.0, 0.0), 0.9);
    pen.port("1", at(0.0, 0.0), PortSide::Bottom);
    pen.finish(area(-0.9, -0.9, 0.9, 0.9))
}

/// A terminal: a small open circle, port `1` in its middle.
pub fn terminal() -> Symbol {
    let mut pen = Pen::default();
    pen.circle(at(0.0, 0.0), 0.9);
    pen.port("1", at(0.0, 0.0), PortSide::Bottom);
    pen.finish(area(-0.9, -0.9, 0.9, 0.9))
}

/// A wire crossing a connector: the pin half and the socket half. Ports `1` (top) and `2` (bottom), 5 mm apart; the
/// pin comes from above when `pin_above`.
pub fn connector(pin_above: bool) -> Symbol {
    let mut pen = Pen::default();
    let flip = if pin_above { 1.0 } else { -1.0 };
    let y = |v: f64| v * flip;
    pen.line(&[at(0.0, y(-2.5)), at(0.0, y(-1.5))]).line(&[at(0.0, y(2.5)), at(0.0, y(1.3))]);
    let blade = Path::rounded(&area(-0.55, y(-1.6), 0.55, y(0.5)), 0.3).filled(INK);
    pen.put(blade).arc(at(-1.3, y(0.0)), 1.3, !pin_above, at(1.3, y(0.0)));
    pen.port("1", at(0.0, -2.5), PortSide::Top).port("2", at(0.0, 2.5), PortSide::Bottom);
    pen.finish(area(-1.5, -2.5, 1.5, 2.5))
}

/// The outline of a flag that refers to another path: the point is below. The origin is in the middle of its top.
pub fn pennant(half: f64) -> [Point; 5] {
    [at(-half, 0.0), at(half, 0.0), at(half, 4.6), at(0.0, 7.0), at(-half, 4.6)]
}

/// A flag with the number of another path; its port `1` is at its point.
pub fn reference(number: &str) -> Symbol {
    const HALF: f64 = 3.0;
    let mut pen = Pen::default();
    let lifted: Vec<Point> = pennant(HALF).iter().map(|p| p.by(0.0, -7.0)).collect();
    pen.shape(&lifted).letter(at(0.0, -4.5), number, lines::SMALL);
    pen.port("1", at(0.0, 0.0), PortSide::Bottom);
    pen.finish(area(-HALF, -7.0, HALF, 0.0))
}
