//! Where paths branch: bars that several wires join, boxes and contacts with several pins, and what comes to them from
//! above.

use super::Grower;
use crate::current_path::forest::{Bar, Edge, End, Many, Stem, Step, Target, Top};
use crate::current_path::pieces::{Piece, PieceId, powers, upper};
use crate::current_path::spacing::{self, BLOCK, WIRE};
use model::{ElementKind, Model, PinId};

impl Grower<'_> {
    /// A box is drawn where its supply arrives; what else comes to it points there.
    pub(super) fn many_or_flag(&mut self, id: PieceId, pin: PinId, y: f64, depth: usize) -> End {
        if self.drawn.pieces[id.0] || !self.enters(id, pin) {
            return End::Flag(Target::Piece(id, pin));
        }
        self.many(id, Some(pin), y, depth)
    }

    pub(super) fn enters(&self, id: PieceId, pin: PinId) -> bool {
        let piece = self.pieces.get(id);
        if !piece.is_block() || powers(self.model, pin) {
            return true;
        }
        let used = |p: &&PinId| self.outside(**p).next().is_some();
        upper(self.model, pin) && !piece.pins.iter().filter(used).any(|&p| powers(self.model, p))
    }

    /// Several edges on one pin.
    pub(super) fn bar(&mut self, pin: PinId, y: f64, depth: usize) -> End {
        let (mut downs, mut up) = (Vec::new(), Vec::new());
        for edge in self.undrawn(pin) {
            let beyond = match edge {
                Edge::Piece(id) => self.through(id, pin),
                _ => Some(self.other_end(edge, pin)),
            };
            let rises = beyond.is_some_and(|other| self.is_top(other) || self.heights.rises(pin, other));
            if rises { up.push(edge) } else { downs.push(edge) }
        }
        let tops: Vec<Top> = up.into_iter().map(|edge| self.top(pin, edge)).collect();
        let y = tops.iter().map(spacing::rise).fold(y, f64::max) + spacing::BAR;
        let mut stems = Vec::new();
        for edge in downs {
            if !self.drawn.has(edge) {
                stems.push(self.along(pin, edge, y, depth + 1));
            }
        }
        End::Bar(Box::new(Bar { pin, downs: stems, tops }))
    }

    /// What comes to a pin from above along an edge: a whole path where it is a plain one, else a stub.
    fn top(&mut self, pin: PinId, edge: Edge) -> Top {
        if self.boxes_above == 0
            && let Some((rail, steps)) = self.rise(pin, edge)
        {
            for step in &steps {
                self.drawn.mark(step.edge);
                self.drawn.pins[step.upper.0] = true;
            }
            return Top::Rise { rail, steps };
        }
        match edge {
            Edge::Piece(id) => Top::Stub { from: Target::Piece(id, pin), wire: None, whole: false },
            Edge::Joint(_) => Top::Stub { from: Target::Pin(self.other_end(edge, pin)), wire: None, whole: false },
            Edge::Wire(wire) => {
                // The far end stands already, and pointed here: nobody else will draw the wire.
                let far = self.other_end(edge, pin);
                let whole = self.drawn.pins[far.0];
                if whole {
                    self.drawn.mark(edge);
                }
                Top::Stub { from: Target::Pin(far), wire: Some(wire), whole }
            }
        }
    }

    /// The unbranched way up from a pin to a rail, from the top down; none where it branches or stands elsewhere.
    fn rise(&self, pin: PinId, first: Edge) -> Option<(PinId, Vec<Step>)> {
        let (mut lower, mut edge, mut steps) = (pin, first, Vec::new());
        let mut y = 0.0;
        loop {
            if self.drawn.has(edge) || steps.iter().any(|s: &Step| s.edge == edge) {
                return None;
            }
            let upper = match edge {
                Edge::Piece(id) => self.through(id, lower)?,
                _ => self.other_end(edge, lower),
            };
            steps.push(Step { edge, upper, lower });
            y += spacing::height(edge);
            if self.is_top(upper) {
                steps.reverse();
                return (y + BLOCK + WIRE <= self.limit).then_some((upper, steps));
            }
            let mut on = self.incident[upper.0].iter().copied().filter(|&e| e != edge);
            let (next, more) = (on.next()?, on.next());
            if more.is_some() || self.drawn.pins[upper.0] || self.rail(upper).is_some() {
                return None;
            }
            (lower, edge) = (upper, next);
        }
    }

    /// A piece with several pins in use, all of them at once.
    pub(super) fn many(&mut self, id: PieceId, arrival: Option<PinId>, y: f64, depth: usize) -> End {
        self.drawn.pieces[id.0] = true;
        let piece = self.pieces.get(id).clone();
        let used: Vec<PinId> =
            piece.pins.iter().copied().filter(|&p| Some(p) == arrival || self.in_use(p, id)).collect();
        let (mut above, below): (Vec<PinId>, Vec<PinId>) =
            used.into_iter().partition(|&p| self.above(&piece, p, arrival));
        above.sort_by_key(|&p| Some(p) != arrival);
        let mut uppers = Vec::new();
        for pin in above {
            uppers.push((pin, self.tops(pin, arrival)));
        }
        let y = uppers.iter().flat_map(|(_, tops)| tops).map(spacing::rise).fold(y, f64::max) + spacing::many(&piece);
        let mut lowers = Vec::new();
        self.boxes_above += usize::from(piece.is_block());
        for pin in below {
            let stem = if self.drawn.pins[pin.0] {
                Stem { steps: Vec::new(), end: End::Flag(Target::Pin(pin)) }
            } else {
                self.drawn.pins[pin.0] = true;
                self.below(pin, y, depth + 1)
            };
            lowers.push((pin, stem));
        }
        self.boxes_above -= usize::from(piece.is_block());
        // The way to ground goes straight on below the arrival; what spreads stands last, so that the box stays small.
        lowers.sort_by_key(|(_, stem)| (!matches!(stem.end, End::Ground(_)), stem.columns()));
        if !piece.is_block() {
            // The contact closed at rest stands straight below the common one.
            lowers.sort_by_key(|(pin, _)| piece.pins.iter().rev().position(|p| p == pin));
        }
        End::Many(Box::new(Many { piece: id, uppers, lowers }))
    }

    /// Whether a pin is on the upper edge of its piece.
    fn above(&self, piece: &Piece, pin: PinId, arrival: Option<PinId>) -> bool {
        if piece.is_block() {
            let sinks = piece_outputs(self.model, piece).any(|(p, high_side)| p == pin && !high_side);
            return Some(pin) == arrival || sinks || upper(self.model, pin);
        }
        let by_common = arrival == piece.pins.first().copied();
        (pin == piece.pins[0]) == by_common
    }

    /// What comes to an upper pin of a piece.
    fn tops(&mut self, pin: PinId, arrival: Option<PinId>) -> Vec<Top> {
        if Some(pin) == arrival {
            return vec![Top::Arrival];
        }
        if self.drawn.pins[pin.0] {
            let wire = self.outside(pin).find_map(|e| if let Edge::Wire(w) = e { Some(w) } else { None });
            return vec![Top::Stub { from: Target::Pin(pin), wire, whole: false }];
        }
        self.drawn.pins[pin.0] = true;
        self.undrawn(pin).into_iter().map(|edge| self.top(pin, edge)).collect()
    }
}

/// The semiconductor outputs of a piece's part: pin, and whether it switches the high side.
fn piece_outputs<'m>(model: &'m Model, piece: &Piece) -> impl Iterator<Item = (PinId, bool)> + 'm {
    model.part(piece.part).elements.iter().filter_map(|&e| match &model.element(e).kind {
        ElementKind::Output { pin, high_side, .. } => Some((*pin, *high_side)),
        _ => None,
    })
}
