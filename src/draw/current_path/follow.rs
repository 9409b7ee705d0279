//! Follows the wiring from the supplies down and makes of it a forest of current paths: each wire, joint and piece is
//! drawn once; a path that comes to something already drawn ends in a flag that names the other path.

mod wiring;

use super::forest::{Bar, Edge, End, Many, Root, Start, Stem, Step, Target, Top};
use super::path_order;
use super::pieces::{PieceId, Pieces};
use super::returns;
use super::spacing::{self, CROSSING, FLAG, PIECE, SHORT, WIRE};
use model::{Model, PartKind, PinId};
use wiring::MarkedWiring;

/// Deepest nesting of bars and boxes before a path is cut off.
const DEEPEST: usize = 24;

/// The forest of paths. `limit` is the depth below the rails, in millimetres, at which a path is cut off and goes on
/// in a path of its own.
pub(super) fn paths(model: &Model, pieces: &Pieces, limit: f64) -> Vec<Root> {
    let mut follower = PathFollower::new(model, pieces, limit);
    let tops = model.part_ids().filter(|&p| matches!(model.part(p).kind, PartKind::Supply | PartKind::Feed));
    for part in tops {
        let pin = model.part(part).pins[0];
        if follower.wiring.is_top(pin) {
            follower.start_at(pin);
            follower.finish_cuts();
        }
    }
    follower.sweep();
    returns::add(&mut follower.roots, model);
    returns::shorten(&mut follower.roots, model);
    path_order::sorted(follower.roots, pieces)
}

/// Follows paths one after the other.
struct PathFollower<'m> {
    wiring: MarkedWiring<'m>,
    limit: f64,
    roots: Vec<Root>,
    cuts: Vec<PinId>,
    /// How many boxes stand above: nothing comes down to here straight from a rail.
    boxes_above: usize,
}

impl<'m> PathFollower<'m> {
    fn new(model: &'m Model, pieces: &'m Pieces, limit: f64) -> Self {
        let wiring = MarkedWiring::new(model, pieces);
        Self { wiring, limit, roots: Vec::new(), cuts: Vec::new(), boxes_above: 0 }
    }

    /// A supply's wires are paths of their own; those of a vehicle's wire start together at its terminal.
    fn start_at(&mut self, pin: PinId) {
        self.wiring.drawn.pins[pin.0] = true;
        if self.wiring.model.part(self.wiring.model.pin(pin).part).kind == PartKind::Feed {
            if !self.wiring.undrawn(pin).is_empty() {
                let stem = self.below(pin, 0.0, 0);
                self.roots.push(Root { start: Start::Rail(pin), stem });
            }
            return;
        }
        for edge in self.wiring.undrawn(pin) {
            if !self.wiring.drawn.has(edge) {
                let stem = self.along(pin, edge, 0.0, 0);
                self.roots.push(Root { start: Start::Rail(pin), stem });
            }
        }
    }

    /// Paths that were cut off go on, each right after the one it belongs to.
    fn finish_cuts(&mut self) {
        while !self.cuts.is_empty() {
            let pin = self.cuts.remove(0);
            // What was to come may have been reached from its other side meanwhile.
            if self.wiring.undrawn(pin).is_empty() {
                continue;
            }
            let stem = self.below(pin, spacing::STUB, 0);
            self.roots.push(Root { start: Start::Cut { pin, from: None }, stem });
        }
    }

    /// What no supply reaches: boxes by their own, then loose ends, the highest first.
    fn sweep(&mut self) {
        for i in 0..self.wiring.pieces.list.len() {
            let id = PieceId(i);
            let used = self.wiring.pieces.get(id).pins.iter().any(|&pin| self.wiring.outside(pin).next().is_some());
            if self.wiring.pieces.get(id).is_block() && used && !self.wiring.drawn.pieces[i] {
                let many = self.many(id, None, 0.0, 0);
                self.roots.push(Root { start: Start::Box, stem: Stem { steps: Vec::new(), end: many } });
                self.finish_cuts();
            }
        }
        loop {
            let open = self.wiring.model.wire_ids().filter(|w| !self.wiring.drawn.wires[w.0]);
            let ends = open.flat_map(|w| self.wiring.model.wire(w).ends);
            let highest = ends.max_by(|a, b| {
                let free = |pin: &PinId| !self.wiring.drawn.pins[pin.0];
                (free(a), self.wiring.heights.get(*a))
                    .partial_cmp(&(free(b), self.wiring.heights.get(*b)))
                    .unwrap_or(std::cmp::Ordering::Equal)
                    .then(b.cmp(a))
            });
            let Some(pin) = highest else { return };
            let start = if self.wiring.drawn.pins[pin.0] { Start::Cut { pin, from: None } } else { Start::Loose(pin) };
            self.wiring.drawn.pins[pin.0] = true;
            let stem = self.below(pin, 0.0, 0);
            self.roots.push(Root { start, stem });
            self.finish_cuts();
        }
    }

    /// What is not yet drawn on a pin, from the pin down.
    fn below(&mut self, pin: PinId, y: f64, depth: usize) -> Stem {
        match self.wiring.undrawn(pin).as_slice() {
            [] => Stem { steps: Vec::new(), end: End::Open(pin) },
            &[edge] => self.along(pin, edge, y, depth),
            _ => Stem { steps: Vec::new(), end: self.bar(pin, y, depth) },
        }
    }

    /// From a pin along an edge, downwards, as far as it goes.
    fn along(&mut self, from: PinId, first: Edge, mut y: f64, depth: usize) -> Stem {
        let (mut pin, mut edge, mut steps) = (from, first, Vec::new());
        loop {
            let next = match edge {
                Edge::Piece(id) => match self.wiring.through(id, pin) {
                    Some(lower) => lower,
                    None => return Stem { steps, end: self.many_or_flag(id, pin, y, depth) },
                },
                _ => self.wiring.other_end(edge, pin),
            };
            self.wiring.drawn.mark(edge);
            steps.push(Step { edge, upper: pin, lower: next });
            y += spacing::height(edge);
            if let Some(end) = self.wiring.rail(next) {
                return Stem { steps, end };
            }
            if self.wiring.drawn.pins[next.0] {
                return Stem { steps, end: End::Flag(Target::Pin(next)) };
            }
            self.wiring.drawn.pins[next.0] = true;
            let rest = self.wiring.undrawn(next);
            let too_deep = !rest.is_empty() && (y + self.room(next, &rest) > self.limit || depth > DEEPEST);
            if too_deep && !matches!(edge, Edge::Piece(_)) {
                self.cuts.push(next);
                return Stem { steps, end: End::Flag(Target::Pin(next)) };
            }
            // A splice is shown even where it joins only two wires.
            let splice = self.wiring.model.part(self.wiring.model.pin(next).part).kind == PartKind::Splice;
            match rest.as_slice() {
                [] => return Stem { steps, end: self.open_or_box(next) },
                &[only] if !splice => (pin, edge) = (next, only),
                _ => return Stem { steps, end: self.bar(next, y, depth) },
            }
        }
    }

    /// A pin with nothing more on it is an open end, or it belongs to a box that stands elsewhere.
    fn open_or_box(&self, pin: PinId) -> End {
        let pieces = self.wiring.pieces;
        let drawn = |id: &&PieceId| pieces.get(**id).is_block() && self.wiring.drawn.pieces[id.0];
        pieces.of(pin).iter().find(drawn).map_or(End::Open(pin), |id| End::Flag(Target::Piece(*id, pin)))
    }

    /// How much further down a path comes at least: before it can be cut off again, with the flag there.
    fn room(&self, pin: PinId, rest: &[Edge]) -> f64 {
        let of = |edge: &Edge| match *edge {
            Edge::Piece(id) if self.wiring.pieces.get(id).is_block() && self.wiring.enters(id, pin) => {
                self.wiring.pieces.get(id).height + WIRE + FLAG
            }
            Edge::Piece(id) if self.wiring.pieces.get(id).is_block() => SHORT + FLAG,
            Edge::Piece(_) => PIECE + WIRE + FLAG,
            Edge::Joint(_) => CROSSING + FLAG,
            Edge::Wire(_) if self.wiring.rail(self.wiring.other_end(*edge, pin)).is_some() => WIRE,
            Edge::Wire(_) => WIRE + FLAG,
        };
        rest.iter().map(of).fold(0.0, f64::max)
    }

    /// A box is drawn where its supply arrives; what else comes to it points there.
    fn many_or_flag(&mut self, id: PieceId, pin: PinId, y: f64, depth: usize) -> End {
        if self.wiring.drawn.pieces[id.0] || !self.wiring.enters(id, pin) {
            return End::Flag(Target::Piece(id, pin));
        }
        self.many(id, Some(pin), y, depth)
    }

    /// Several edges on one pin.
    fn bar(&mut self, pin: PinId, y: f64, depth: usize) -> End {
        let (mut downs, mut up) = (Vec::new(), Vec::new());
        for edge in self.wiring.undrawn(pin) {
            let beyond = match edge {
                Edge::Piece(id) => self.wiring.through(id, pin),
                _ => Some(self.wiring.other_end(edge, pin)),
            };
            let rises = beyond.is_some_and(|other| self.wiring.is_top(other) || self.wiring.heights.rises(pin, other));
            if rises { up.push(edge) } else { downs.push(edge) }
        }
        let tops: Vec<Top> = up.into_iter().map(|edge| self.top(pin, edge)).collect();
        let y = tops.iter().map(spacing::rise).fold(y, f64::max) + spacing::BAR;
        let mut stems = Vec::new();
        for edge in downs {
            if !self.wiring.drawn.has(edge) {
                stems.push(self.along(pin, edge, y, depth + 1));
            }
        }
        End::Bar(Box::new(Bar { pin, downs: stems, tops }))
    }

    /// What comes to a pin from above along an edge: a whole path where it is a plain one, else a stub.
    fn top(&mut self, pin: PinId, edge: Edge) -> Top {
        if self.boxes_above == 0
            && let Some((rail, steps)) = self.wiring.rise(pin, edge, self.limit)
        {
            for step in &steps {
                self.wiring.drawn.mark(step.edge);
                self.wiring.drawn.pins[step.upper.0] = true;
            }
            return Top::Rise { rail, steps };
        }
        match edge {
            Edge::Piece(id) => Top::Stub { from: Target::Piece(id, pin), wire: None, whole: false },
            Edge::Joint(_) => {
                Top::Stub { from: Target::Pin(self.wiring.other_end(edge, pin)), wire: None, whole: false }
            }
            Edge::Wire(wire) => {
                // The far end stands already, and pointed here: nobody else will draw the wire.
                let far = self.wiring.other_end(edge, pin);
                let whole = self.wiring.drawn.pins[far.0];
                if whole {
                    self.wiring.drawn.mark(edge);
                }
                Top::Stub { from: Target::Pin(far), wire: Some(wire), whole }
            }
        }
    }

    /// What comes to a pin whose wires meet elsewhere: its only wire, or a lead from its node.
    fn lead_to(&self, pin: PinId) -> Top {
        let edges: Vec<Edge> = self.wiring.outside(pin).collect();
        match edges[..] {
            [edge @ Edge::Wire(wire)] => {
                let far = self.wiring.other_end(edge, pin);
                Top::Stub { from: Target::Pin(far), wire: Some(wire), whole: false }
            }
            [edge] => Top::Stub { from: Target::Pin(self.wiring.other_end(edge, pin)), wire: None, whole: false },
            _ => Top::Stub { from: Target::Pin(pin), wire: None, whole: false },
        }
    }

    /// A piece with several pins in use, all of them at once.
    fn many(&mut self, id: PieceId, arrival: Option<PinId>, y: f64, depth: usize) -> End {
        self.wiring.drawn.pieces[id.0] = true;
        let piece = self.wiring.pieces.get(id).clone();
        let used: Vec<PinId> =
            piece.pins.iter().copied().filter(|&p| Some(p) == arrival || self.wiring.in_use(p, id)).collect();
        let (mut above, below): (Vec<PinId>, Vec<PinId>) =
            used.into_iter().partition(|&p| self.wiring.above(&piece, p, arrival));
        above.sort_by_key(|&p| Some(p) != arrival);
        let mut uppers = Vec::new();
        for pin in above {
            uppers.push((pin, self.tops(pin, arrival)));
        }
        let y = uppers.iter().flat_map(|(_, tops)| tops).map(spacing::rise).fold(y, f64::max) + piece.height;
        let mut lowers = Vec::new();
        self.boxes_above += usize::from(piece.is_block());
        for pin in below {
            let stem = if self.wiring.drawn.pins[pin.0] {
                Stem { steps: Vec::new(), end: End::Flag(Target::Pin(pin)) }
            } else {
                self.wiring.drawn.pins[pin.0] = true;
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

    /// What comes to an upper pin of a piece.
    fn tops(&mut self, pin: PinId, arrival: Option<PinId>) -> Vec<Top> {
        if Some(pin) == arrival {
            return vec![Top::Arrival];
        }
        if self.wiring.drawn.pins[pin.0] {
            return vec![self.lead_to(pin)];
        }
        self.wiring.drawn.pins[pin.0] = true;
        self.wiring.undrawn(pin).into_iter().map(|edge| self.top(pin, edge)).collect()
    }
}
