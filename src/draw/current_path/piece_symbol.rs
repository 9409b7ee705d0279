//! The symbol of a piece as it stands on its path, the right way up.

use super::pieces::{Piece, Shape};
use super::placed::Stand;
use kit::symbols::{self, Blade, Contact, Symbol};
use states::Live;

/// The symbol around its own middle, with the upper pin straight above and the lower one straight below. A third
/// pin that is in use is on the right, where its column is; an unused one is on the left, out of the way.
/// Contacts and switches stand as they do in the live state, or else at rest.
pub(super) fn of(piece: &Piece, stand: &Stand, live: Option<&Live>) -> Symbol {
    let stands = live.map_or(Blade::Rest, |live| blade(piece, live));
    match piece.shape {
        Shape::Pole(pole) => upright(symbols::pole(pole), piece, stand),
        Shape::Coil(coil) => upright(symbols::coil(coil), piece, stand),
        Shape::Contact if piece.stays => throws(piece, stand, &|kind| symbols::staying(kind, stands)),
        Shape::Contact => throws(piece, stand, &|kind| symbols::contact(kind, stands)),
        Shape::Switch(actuator) => throws(piece, stand, &|kind| symbols::switch(kind, stands, actuator)),
        // A box is never drawn as a symbol on a path.
        Shape::Block(picture) => symbols::block(picture, &[], &[]),
    }
}

/// Where the blade of a contact or a switch stands.
pub(super) fn blade(piece: &Piece, live: &Live) -> Blade {
    let joins = |throw: usize| piece.pins.get(throw).is_some_and(|&pin| live.joins(piece.pins[0], pin));
    match piece.throws {
        [true, true] if joins(1) => Blade::Moved,
        [true, true] if !joins(2) => Blade::Between,
        [true, false] if joins(1) => Blade::Moved,
        [false, true] if !joins(1) => Blade::Moved,
        _ => Blade::Rest,
    }
}

fn upright(symbol: Symbol, piece: &Piece, stand: &Stand) -> Symbol {
    if piece.pins.first() == Some(&stand.upper) { symbol } else { symbol.flipped() }
}

fn throws(piece: &Piece, stand: &Stand, draw: &dyn Fn(Contact) -> Symbol) -> Symbol {
    let common_above = piece.pins[0] == stand.upper;
    let throw = if common_above { stand.lower } else { stand.upper };
    let made = piece.throws[0] && piece.pins.get(1) == Some(&throw);
    // The straight throw, and on which side the symbol has the other one.
    let (kind, side_right) = match (piece.throws, made) {
        ([true, false], _) => (Contact::Make, stand.side),
        ([false, _], _) => (Contact::Break, stand.side),
        ([true, true], true) => (Contact::MadeBelow, false),
        ([true, true], false) => (Contact::RestBelow, true),
    };
    let symbol = if common_above { draw(kind) } else { draw(kind).flipped() };
    if side_right == stand.side { symbol } else { symbol.turned(2).flipped() }
}
