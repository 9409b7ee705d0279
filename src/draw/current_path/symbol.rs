//! The symbol of a piece as it stands on its path, the right way up.

use super::pieces::{Piece, Shape};
use crate::draw::symbols::{self, Contact, Symbol};
use crate::model::PinId;

/// The symbol around its own middle, with `upper` straight above and `lower` straight below.
pub(super) fn of(piece: &Piece, upper: PinId, lower: PinId) -> Symbol {
    match piece.shape {
        Shape::Pole(pole) => upright(symbols::pole(pole), piece, upper),
        Shape::Coil(coil) => upright(symbols::coil(coil), piece, upper),
        Shape::Contact => throws(piece, upper, lower, &|kind| symbols::contact(kind)),
        Shape::Switch(actuator) => throws(piece, upper, lower, &|kind| symbols::switch(kind, actuator)),
        // A box is never drawn as a symbol on a path.
        Shape::Block(picture) => symbols::block(picture, &[], &[]),
    }
}

fn upright(symbol: Symbol, piece: &Piece, upper: PinId) -> Symbol {
    if piece.pins.first() == Some(&upper) { symbol } else { symbol.flipped() }
}

fn throws(piece: &Piece, upper: PinId, lower: PinId, draw: &dyn Fn(Contact) -> Symbol) -> Symbol {
    let common_above = piece.pins[0] == upper;
    let throw = if common_above { lower } else { upper };
    let made = piece.throws[0] && piece.pins.get(1) == Some(&throw);
    match (piece.throws, made, common_above) {
        ([true, false], _, true) => draw(Contact::Make),
        ([true, false], _, false) => draw(Contact::Make).flipped(),
        ([false, _], _, true) => draw(Contact::Break),
        ([false, _], _, false) => draw(Contact::Break).flipped(),
        ([true, true], true, true) => draw(Contact::MadeBelow),
        // Half a turn, so that the other throw is on the right, where its column is.
        ([true, true], true, false) => draw(Contact::MadeBelow).turned(2),
        ([true, true], false, true) => draw(Contact::RestBelow),
        ([true, true], false, false) => draw(Contact::RestBelow).flipped(),
    }
}
