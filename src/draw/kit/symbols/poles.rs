//! Parts with two terminals.

use super::super::lines;
use super::super::scene::*;
use super::pen::{Pen, area, at};
use super::symbol::{PortSide, Symbol};

/// Parts with two terminals, current running downwards.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Pole {
    /// A fuse: a box with the line through it.
    Fuse,
    /// A circuit breaker.
    Breaker,
    /// A resistor: an empty box.
    Resistor,
    /// A capacitor.
    Capacitor,
    /// A diode; ports `A` (anode, top) and `K` (cathode, bottom).
    Diode,
    /// A Zener or suppressor diode; ports `A` and `K`.
    Zener,
    /// A light-emitting diode; ports `A` and `K`.
    Led,
    /// A lamp.
    Lamp,
    /// A motor.
    Motor,
    /// A buzzer or another sounder.
    Buzzer,
    /// A horn.
    Horn,
    /// A heating element.
    Heater,
    /// A socket that something else plugs into.
    Outlet,
    /// A loudspeaker.
    Speaker,
    /// A resistor: any load of known draw.
    Load,
}

impl Pole {
    /// Every one, for specimen sheets and tests.
    pub const ALL: [Self; 15] = [
        Self::Fuse,
        Self::Breaker,
        Self::Resistor,
        Self::Capacitor,
        Self::Diode,
        Self::Zener,
        Self::Led,
        Self::Lamp,
        Self::Motor,
        Self::Buzzer,
        Self::Horn,
        Self::Heater,
        Self::Outlet,
        Self::Speaker,
        Self::Load,
    ];
}

/// The symbol: 10 mm from port to port.
pub fn pole(kind: Pole) -> Symbol {
    let mut pen = Pen::default();
    let [first, second] = match kind {
        Pole::Diode | Pole::Zener | Pole::Led => ["A", "K"],
        _ => ["1", "2"],
    };
    let (reach, width) = draw(&mut pen, kind);
    pen.lead(first, at(0.0, -5.0), at(0.0, -reach), PortSide::Top);
    pen.lead(second, at(0.0, 5.0), at(0.0, reach), PortSide::Bottom);
    let [left, right] = width;
    pen.finish(area(left, -5.0, right, 5.0))
}

/// Draws the body; returns how far it reaches up and down, and its left and right edge.
fn draw(pen: &mut Pen, kind: Pole) -> (f64, [f64; 2]) {
    match kind {
        Pole::Fuse => {
            pen.boxed(at(0.0, 0.0), 2.5, 7.0).line(&[at(0.0, -3.5), at(0.0, 3.5)]);
            (3.5, [-1.25, 1.25])
        }
        Pole::Resistor => {
            pen.boxed(at(0.0, 0.0), 2.5, 7.0);
            (3.5, [-1.25, 1.25])
        }
        Pole::Load => {
            pen.boxed(at(0.0, 0.0), 5.0, 5.0).line(&[at(-2.5, 2.5), at(2.5, -2.5)]);
            (2.5, [-2.5, 2.5])
        }
        Pole::Breaker => {
            pen.line(&[at(0.0, -2.5), at(-2.2, 2.5)]).line(&[at(-0.7, 1.8), at(0.7, 3.2)]);
            pen.line(&[at(0.7, 1.8), at(-0.7, 3.2)]);
            (2.5, [-2.2, 0.9])
        }
        Pole::Capacitor => {
            let plate = Stroke::solid(super::super::colour::INK, lines::HEAVY);
            pen.line_as(&[at(-2.5, -0.6), at(2.5, -0.6)], plate).line_as(&[at(-2.5, 0.6), at(2.5, 0.6)], plate);
            (0.6, [-2.5, 2.5])
        }
        Pole::Diode => {
            diode(pen);
            (1.9, [-2.2, 2.2])
        }
        Pole::Zener => {
            diode(pen);
            pen.line(&[at(-2.2, 1.9), at(-2.2, 1.0)]);
            (1.9, [-2.2, 2.2])
        }
        Pole::Led => {
            diode(pen);
            for lift in [0.0, 1.5] {
                pen.line(&[at(2.3, -0.6 + lift), at(4.1, -2.4 + lift)]);
                pen.head(at(4.4, -2.7 + lift), 0.707, -0.707, 1.1);
            }
            (1.9, [-2.2, 4.6])
        }
        Pole::Lamp => {
            let k = 2.5 * std::f64::consts::FRAC_1_SQRT_2;
            pen.circle(at(0.0, 0.0), 2.5).line(&[at(-k, -k), at(k, k)]).line(&[at(k, -k), at(-k, k)]);
            (2.5, [-2.5, 2.5])
        }
        Pole::Motor => {
            pen.circle(at(0.0, 0.0), 3.4).letter(at(0.0, 0.0), "M", 4.0);
            (3.4, [-3.4, 3.4])
        }
        Pole::Buzzer => {
            // A dome with its flat side to the right; the leads end on the dome.
            pen.put(
                Path::new([
                    Seg::Move(at(1.2, -2.8)),
                    Seg::Arc { radius: 2.8, large: false, clockwise: false, to: at(1.2, 2.8) },
                    Seg::Close,
                ])
                .stroked(lines::symbol())
                .filled(super::super::colour::PAPER),
            );
            (2.5, [-1.6, 1.2])
        }
        Pole::Horn => {
            pen.boxed(at(-0.4, 0.0), 1.6, 3.0);
            pen.shape(&[at(0.4, -0.8), at(3.6, -2.6), at(3.6, 2.6), at(0.4, 0.8)]);
            (1.5, [-1.2, 3.6])
        }
        Pole::Heater => {
            pen.boxed(at(0.0, 0.0), 2.5, 7.0);
            for y in [-1.75, 0.0, 1.75] {
                pen.line(&[at(-1.25, y), at(1.25, y)]);
            }
            (3.5, [-1.25, 1.25])
        }
        Pole::Outlet => {
            pen.circle(at(0.0, 0.0), 3.0).dot(at(0.0, -1.1), 0.6).dot(at(0.0, 1.1), 0.6);
            (3.0, [-3.0, 3.0])
        }
        Pole::Speaker => {
            pen.boxed(at(0.0, 0.0), 1.8, 4.0);
            pen.shape(&[at(0.9, -2.0), at(3.2, -3.8), at(3.2, 3.8), at(0.9, 2.0)]);
            (2.0, [-0.9, 3.2])
        }
    }
}

/// A triangle with its point down, a bar at the point, and the line through it.
fn diode(pen: &mut Pen) {
    pen.shape(&[at(-2.2, -1.9), at(2.2, -1.9), at(0.0, 1.9)]);
    pen.line(&[at(-2.2, 1.9), at(2.2, 1.9)]).line(&[at(0.0, -1.9), at(0.0, 1.9)]);
}
