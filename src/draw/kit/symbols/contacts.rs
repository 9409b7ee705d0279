//! Coils, contacts, switches, and whole relays.
//!
//! Contacts are drawn with their blade hung from the feed side, at rest unless it is said otherwise; a blade moves from
//! left to right.

use super::super::colour::PAPER;
use super::super::lines;
use super::super::scene::*;
use super::pen::{Pen, area, at};
use super::symbol::{PortSide, Symbol};

/// Kinds of relay coil; ports `86` (top) and `85` (bottom).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CoilSymbol {
    /// Nothing across it.
    Plain,
    /// With a diode across it, cathode at 86.
    Diode,
    /// With a resistor across it.
    Resistor,
    /// One that sets a latching relay.
    Set,
    /// One that resets a latching relay.
    Reset,
    /// One that toggles a latching relay.
    Toggle,
}

impl CoilSymbol {
    /// Every kind.
    pub const ALL: [Self; 6] = [Self::Plain, Self::Diode, Self::Resistor, Self::Set, Self::Reset, Self::Toggle];
}

/// Kinds of contact; port `30` on top, `87` and `87a` below.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Contact {
    /// Open at rest.
    Make,
    /// Closed at rest; its lower port is `87a`.
    Break,
    /// Changes over from `87a` to `87`, the common in the middle.
    ChangeOver,
    /// Changes over, with `87` straight below the common and `87a` on the left side.
    MadeBelow,
    /// Changes over, with `87a` straight below the common and `87` on the right side.
    RestBelow,
}

impl Contact {
    /// Every kind.
    pub const ALL: [Self; 5] = [Self::Make, Self::Break, Self::ChangeOver, Self::MadeBelow, Self::RestBelow];
}

/// Position of a contact's blade.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Blade {
    /// At rest: without power, not moved by hand.
    Rest,
    /// Moved by its coil, or by hand.
    Moved,
    /// On no throw, of a switch with more positions than throws.
    Between,
}

impl Blade {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Rest, Self::Moved, Self::Between];
}

/// What moves a switch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Actuator {
    /// By hand; it stays where it is put.
    Toggle,
    /// Pushed; it springs back.
    Push,
    /// Pushed; it latches.
    Latch,
    /// Turned, as a key or a selector.
    Turn,
    /// A door, a pedal or a lever, by a roller.
    Roller,
    /// A magnet.
    Magnet,
    /// Pressure.
    Pressure,
    /// Heat.
    Temperature,
    /// A float.
    Level,
}

impl Actuator {
    /// Every kind.
    pub const ALL: [Self; 9] = [
        Self::Toggle,
        Self::Push,
        Self::Latch,
        Self::Turn,
        Self::Roller,
        Self::Magnet,
        Self::Pressure,
        Self::Temperature,
        Self::Level,
    ];
}

/// A coil, 10 mm from port to port.
pub fn coil(kind: CoilSymbol) -> Symbol {
    let mut pen = Pen::default();
    pen.lead("86", at(0.0, -5.0), at(0.0, -2.0), PortSide::Top).lead(
        "85",
        at(0.0, 5.0),
        at(0.0, 2.0),
        PortSide::Bottom,
    );
    pen.boxed(at(0.0, 0.0), 7.5, 4.0);
    let mut right = 3.75;
    match kind {
        CoilSymbol::Plain => {}
        CoilSymbol::Set | CoilSymbol::Reset | CoilSymbol::Toggle => {
            let letter = match kind {
                CoilSymbol::Set => "S",
                CoilSymbol::Reset => "R",
                _ => "T",
            };
            pen.line(&[at(-0.75, -2.0), at(-0.75, 2.0)]);
            pen.letter(at(-2.25, 0.0), letter, lines::LABEL);
        }
        CoilSymbol::Diode | CoilSymbol::Resistor => {
            right = 7.8;
            let x = 6.25;
            pen.line(&[at(0.0, -3.4), at(x, -3.4), at(x, 3.4), at(0.0, 3.4)]);
            pen.dot(at(0.0, -3.4), 0.5).dot(at(0.0, 3.4), 0.5);
            if kind == CoilSymbol::Diode {
                pen.shape(&[at(x - 1.4, 1.2), at(x + 1.4, 1.2), at(x, -1.2)]);
                pen.line(&[at(x - 1.4, -1.2), at(x + 1.4, -1.2)]).line(&[at(x, -1.2), at(x, 1.2)]);
            } else {
                pen.boxed(at(x, 0.0), 1.6, 4.2);
            }
        }
    }
    pen.finish(area(-3.75, -5.0, right, 5.0))
}

/// A contact, 10 mm from port to port.
pub fn contact(kind: Contact, stands: Blade) -> Symbol {
    let mut pen = Pen::default();
    blade(&mut pen, kind, stands, ["30", "87", "87a"]);
    let (left, right) = span(kind);
    pen.finish(area(left, -5.0, right, 5.0))
}

/// A contact that stays as its relay has put it: with a small circle at its hinge (IEC 60617, stay-put contact, from
/// memory).
pub fn staying(kind: Contact, stands: Blade) -> Symbol {
    let mut symbol = contact(kind, stands);
    let hinge = Path::circle(at(0.0, -2.5), 0.7).stroked(lines::symbol()).filled(PAPER);
    symbol.items.push(hinge.into());
    symbol.body = symbol.body.union(&area(-0.7, -5.0, 0.7, 5.0));
    symbol
}

/// How far a contact reaches to the left and right.
fn span(kind: Contact) -> (f64, f64) {
    match kind {
        Contact::Make => (-2.4, 0.4),
        Contact::Break => (-0.4, 2.6),
        Contact::ChangeOver => (-2.7, 2.7),
        Contact::MadeBelow => (-7.5, 0.4),
        Contact::RestBelow => (-0.4, 7.5),
    }
}

/// Draws the blade from the common port on top, and the fixed contacts; returns where a link takes hold of it.
fn blade(pen: &mut Pen, kind: Contact, stands: Blade, [common, make, rest]: [&str; 3]) -> Point {
    pen.lead(common, at(0.0, -5.0), at(0.0, -2.5), PortSide::Top);
    // Where the blade's tip is, and how far each fixed contact reaches to meet it or not.
    let tip = match (kind, stands) {
        (Contact::Make, Blade::Moved) => {
            pen.line(&[at(0.0, 2.5), at(-1.43, 2.5)]);
            at(-1.46, 2.6)
        }
        (Contact::Make, _) => at(-2.2, 2.0),
        (Contact::Break, Blade::Rest) => {
            pen.line(&[at(0.0, 2.5), at(2.23, 2.5)]);
            at(2.28, 2.6)
        }
        (Contact::Break, _) => {
            pen.line(&[at(0.0, 2.5), at(1.1, 2.5)]);
            at(2.4, 1.4)
        }
        (Contact::ChangeOver, stands) => {
            let [left, right] = match stands {
                Blade::Rest => [-1.49, 1.2],
                Blade::Moved => [-1.2, 1.49],
                Blade::Between => [-1.4, 1.4],
            };
            pen.line(&[at(-2.5, 2.5), at(left, 2.5)]).line(&[at(2.5, 2.5), at(right, 2.5)]);
            match stands {
                Blade::Rest => at(-1.7, 3.2),
                Blade::Moved => at(1.7, 3.2),
                Blade::Between => at(0.0, 2.2),
            }
        }
        (Contact::MadeBelow, Blade::Moved) => {
            pen.line(&[at(0.0, 2.5), at(-1.43, 2.5)]);
            at(-1.46, 2.6)
        }
        (Contact::MadeBelow, Blade::Rest) => at(-2.37, 2.6),
        (Contact::MadeBelow, Blade::Between) => at(-1.6, 1.6),
        (Contact::RestBelow, Blade::Rest) => {
            pen.line(&[at(0.0, 2.5), at(1.43, 2.5)]);
            at(1.46, 2.6)
        }
        (Contact::RestBelow, Blade::Moved) => at(2.37, 2.6),
        (Contact::RestBelow, Blade::Between) => at(1.6, 1.6),
    };
    // The fixed contact at the side touches the blade when it is closed, and keeps away from it when it is open.
    let side = |on: Blade| if stands == on { 2.32 } else { 3.4 };
    match kind {
        Contact::Make => pen.lead(make, at(0.0, 5.0), at(0.0, 2.5), PortSide::Bottom),
        Contact::Break => pen.lead(rest, at(0.0, 5.0), at(0.0, 2.5), PortSide::Bottom),
        Contact::ChangeOver => pen.lead(rest, at(-2.5, 5.0), at(-2.5, 2.5), PortSide::Bottom).lead(
            make,
            at(2.5, 5.0),
            at(2.5, 2.5),
            PortSide::Bottom,
        ),
        Contact::MadeBelow => pen.lead(make, at(0.0, 5.0), at(0.0, 2.5), PortSide::Bottom).lead(
            rest,
            at(-7.5, 2.5),
            at(-side(Blade::Rest), 2.5),
            PortSide::Left,
        ),
        Contact::RestBelow => pen.lead(rest, at(0.0, 5.0), at(0.0, 2.5), PortSide::Bottom).lead(
            make,
            at(7.5, 2.5),
            at(side(Blade::Moved), 2.5),
            PortSide::Right,
        ),
    };
    pen.line(&[at(0.0, -2.5), tip]);
    // Half way down the blade's height, where it has come to across.
    at(tip.x * 2.5 / (tip.y + 2.5), 0.0)
}

/// A switch: common port `1` on top, `2` made by moving it, `3` made at rest.
pub fn switch(kind: Contact, stands: Blade, actuator: Actuator) -> Symbol {
    let mut pen = Pen::default();
    let hold = blade(&mut pen, kind, stands, ["1", "2", "3"]);
    let end = -6.0;
    // A letter in a box stands clear of the link.
    let boxed = matches!(actuator, Actuator::Pressure | Actuator::Temperature);
    pen.line_as(&[at(if boxed { end + 1.3 } else { end }, 0.0), hold], lines::link());
    moved_by(&mut pen, actuator, end);
    pen.finish(area(end - 1.3, -5.0, span(kind).1, 5.0))
}

/// What moves a switch, at the outer end of its link. The shapes follow IEC 60617 (from memory): arms of a bracket
/// towards the contact mean pushing, away from it pulling, one each way turning.
fn moved_by(pen: &mut Pen, actuator: Actuator, end: f64) {
    let bracket = |pen: &mut Pen, upper: f64| {
        pen.line(&[at(end + upper, -1.5), at(end, -1.5), at(end, 1.5), at(end + 0.9, 1.5)]);
    };
    // A detent in the link: it stays where it is put.
    let detent = |pen: &mut Pen| {
        pen.line(&[at(-4.9, 0.0), at(-4.2, 1.3), at(-3.5, 0.0)]);
    };
    let lettered = |pen: &mut Pen, letter: &str| {
        pen.boxed(at(end, 0.0), 2.6, 3.2).letter(at(end, 0.0), letter, lines::SMALL);
    };
    match actuator {
        Actuator::Toggle => {
            pen.line(&[at(end, -1.5), at(end, 1.5)]);
            detent(pen);
        }
        Actuator::Push => bracket(pen, 0.9),
        Actuator::Latch => {
            bracket(pen, 0.9);
            detent(pen);
        }
        Actuator::Turn => bracket(pen, -0.9),
        Actuator::Roller => {
            pen.circle(at(end, 0.0), 1.2).dot(at(end, 0.0), 0.3);
        }
        Actuator::Magnet => {
            pen.boxed(at(end, 0.0), 1.4, 4.0);
            pen.solid(&[at(end - 0.7, 0.0), at(end + 0.7, 0.0), at(end + 0.7, 2.0), at(end - 0.7, 2.0)]);
        }
        Actuator::Pressure => lettered(pen, "P"),
        Actuator::Temperature => lettered(pen, "T"),
        Actuator::Level => {
            pen.circle(at(end, 0.0), 1.3).line(&[at(end - 1.3, 0.0), at(end + 1.3, 0.0)]);
        }
    }
}

/// A whole relay in its case: coil, contact, and the link between. The contact stands 10 mm right of the coil.
pub fn relay(coil_kind: CoilSymbol, contact_kind: Contact) -> Symbol {
    let shift = if matches!(coil_kind, CoilSymbol::Diode | CoilSymbol::Resistor) { 15.0 } else { 10.0 };
    let (left, right) = (coil(coil_kind), contact(contact_kind, Blade::Rest).at(at(shift, 0.0)));
    let mut pen = Pen::default();
    let case = area(-5.0, -5.0, shift + 5.0, 5.0);
    pen.put(Path::rect(&case).stroked(lines::boundary()));
    let hold = shift + blade(&mut Pen::default(), contact_kind, Blade::Rest, ["", "", ""]).x;
    pen.line_as(&[at(left.body.right, 0.0), at(hold, 0.0)], lines::link());
    let mut whole = pen.finish(case);
    whole.items.extend(left.items);
    whole.items.extend(right.items);
    whole.ports = left.ports.into_iter().chain(right.ports).collect();
    whole
}
