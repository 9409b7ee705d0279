//! Follows the wiring from the supplies down and makes of it a forest of current paths: each wire, joint and piece is
//! drawn once; where a path comes to something that stands elsewhere, it ends in a flag that names the other path.

mod branches;

use super::forest::{Edge, End, Root, Start, Stem, Step, Target};
use super::pieces::{PieceId, Pieces};
use super::potentials::Heights;
use super::spacing::{self, BLOCK, PIECE, WIRE};
use model::{ElementKind, Model, PartKind, PinId};

/// Deepest nesting of bars and boxes before a path is cut off.
const DEEPEST: usize = 24;

/// The forest of paths. `limit` is the depth below the rails, in millimetres, at which a path is cut off and goes on
/// in a path of its own.
pub(super) fn paths(model: &Model, pieces: &Pieces, limit: f64) -> Vec<Root> {
    let mut grower = Grower::new(model, pieces, limit);
    let tops = model.part_ids().filter(|&p| matches!(model.part(p).kind, PartKind::Supply | PartKind::Feed));
    for part in tops {
        let pin = model.part(part).pins[0];
        if grower.is_top(pin) {
            grower.start_at(pin);
            grower.finish_cuts();
        }
    }
    grower.sweep();
    grower.roots
}

struct Grower<'m> {
    model: &'m Model,
    pieces: &'m Pieces,
    heights: Heights,
    limit: f64,
    incident: Vec<Vec<Edge>>,
    drawn: Drawn,
    roots: Vec<Root>,
    cuts: Vec<PinId>,
    /// How many boxes stand above: nothing comes down to here straight from a rail.
    boxes_above: usize,
}

/// What has been drawn.
struct Drawn {
    wires: Vec<bool>,
    joints: Vec<bool>,
    pieces: Vec<bool>,
    pins: Vec<bool>,
}

impl Drawn {
    fn has(&self, edge: Edge) -> bool {
        match edge {
            Edge::Wire(w) => self.wires[w.0],
            Edge::Joint(j) => self.joints[j],
            Edge::Piece(p) => self.pieces[p.0],
        }
    }
    fn mark(&mut self, edge: Edge) {
        match edge {
            Edge::Wire(w) => self.wires[w.0] = true,
            Edge::Joint(j) => self.joints[j] = true,
            Edge::Piece(p) => self.pieces[p.0] = true,
        }
    }
}

impl<'m> Grower<'m> {
    fn new(model: &'m Model, pieces: &'m Pieces, limit: f64) -> Self {
        let mut incident: Vec<Vec<Edge>> =
            model.pin_ids().map(|pin| pieces.of(pin).iter().map(|&p| Edge::Piece(p)).collect()).collect();
        for id in model.wire_ids() {
            model.wire(id).ends.iter().for_each(|pin| incident[pin.0].push(Edge::Wire(id)));
        }
        for i in live_joints(model, &incident) {
            model.joints[i].pins.iter().for_each(|pin| incident[pin.0].push(Edge::Joint(i)));
        }
        let drawn = Drawn {
            wires: vec![false; model.wires.len()],
            joints: vec![false; model.joints.len()],
            pieces: vec![false; pieces.list.len()],
            pins: vec![false; model.pins.len()],
        };
        let heights = Heights::of(model);
        Self { model, pieces, heights, limit, incident, drawn, roots: Vec::new(), cuts: Vec::new(), boxes_above: 0 }
    }

    /// Whether the pin is a supply or a wire of the vehicle that is live when it is on.
    fn is_top(&self, pin: PinId) -> bool {
        let part = self.model.part(self.model.pin(pin).part);
        match part.kind {
            PartKind::Supply => true,
            PartKind::Feed => part
                .elements
                .iter()
                .any(|&e| matches!(&self.model.element(e).kind, ElementKind::Feed(feed) if feed.from.is_some())),
            _ => false,
        }
    }

    /// What ends a path at this pin, if it is a rail.
    fn rail(&self, pin: PinId) -> Option<End> {
        match self.model.part(self.model.pin(pin).part).kind {
            PartKind::Ground => Some(End::Ground(pin)),
            PartKind::Supply | PartKind::Feed => Some(End::Vehicle(pin)),
            _ => None,
        }
    }

    /// Wires and joints of a pin, drawn or not.
    fn outside(&self, pin: PinId) -> impl Iterator<Item = Edge> + '_ {
        self.incident[pin.0].iter().copied().filter(|e| !matches!(e, Edge::Piece(_)))
    }

    fn undrawn(&self, pin: PinId) -> Vec<Edge> {
        self.incident[pin.0].iter().copied().filter(|&e| !self.drawn.has(e)).collect()
    }

    fn other_end(&self, edge: Edge, pin: PinId) -> PinId {
        let [a, b] = match edge {
            Edge::Wire(w) => self.model.wire(w).ends,
            Edge::Joint(j) => self.model.joints[j].pins,
            Edge::Piece(_) => [pin, pin],
        };
        if a == pin { b } else { a }
    }

    /// A supply's wires are paths of their own; those of a vehicle's wire hang together from its terminal.
    fn start_at(&mut self, pin: PinId) {
        self.drawn.pins[pin.0] = true;
        if self.model.part(self.model.pin(pin).part).kind == PartKind::Feed {
            if !self.undrawn(pin).is_empty() {
                let stem = self.below(pin, 0.0, 0);
                self.roots.push(Root { start: Start::Rail(pin), stem });
            }
            return;
        }
        for edge in self.undrawn(pin) {
            if !self.drawn.has(edge) {
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
            if self.undrawn(pin).is_empty() {
                continue;
            }
            let stem = self.below(pin, spacing::STUB, 0);
            self.roots.push(Root { start: Start::Cut(pin), stem });
        }
    }

    /// What no supply reaches: boxes by their own, then loose ends, the highest first.
    fn sweep(&mut self) {
        for i in 0..self.pieces.list.len() {
            let id = PieceId(i);
            let used = self.pieces.get(id).pins.iter().any(|&pin| self.outside(pin).next().is_some());
            if self.pieces.get(id).is_block() && used && !self.drawn.pieces[i] {
                let many = self.many(id, None, 0.0, 0);
                self.roots.push(Root { start: Start::Box, stem: Stem { steps: Vec::new(), end: many } });
                self.finish_cuts();
            }
        }
        loop {
            let open = self.model.wire_ids().filter(|w| !self.drawn.wires[w.0]);
            let ends = open.flat_map(|w| self.model.wire(w).ends);
            let highest = ends.max_by(|a, b| {
                let free = |pin: &PinId| !self.drawn.pins[pin.0];
                (free(a), self.heights.get(*a))
                    .partial_cmp(&(free(b), self.heights.get(*b)))
                    .unwrap_or(std::cmp::Ordering::Equal)
                    .then(b.cmp(a))
            });
            let Some(pin) = highest else { return };
            let start = if self.drawn.pins[pin.0] { Start::Cut(pin) } else { Start::Loose(pin) };
            self.drawn.pins[pin.0] = true;
            let stem = self.below(pin, 0.0, 0);
            self.roots.push(Root { start, stem });
            self.finish_cuts();
        }
    }

    /// What is not yet drawn on a pin, from the pin down.
    fn below(&mut self, pin: PinId, y: f64, depth: usize) -> Stem {
        match self.undrawn(pin).as_slice() {
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
                Edge::Piece(id) => match self.through(id, pin) {
                    Some(lower) => lower,
                    None => return Stem { steps, end: self.many_or_flag(id, pin, y, depth) },
                },
                _ => self.other_end(edge, pin),
            };
            self.drawn.mark(edge);
            steps.push(Step { edge, upper: pin, lower: next });
            y += spacing::height(edge);
            if let Some(end) = self.rail(next) {
                return Stem { steps, end };
            }
            if self.drawn.pins[next.0] {
                return Stem { steps, end: End::Flag(Target::Pin(next)) };
            }
            self.drawn.pins[next.0] = true;
            let rest = self.undrawn(next);
            let too_deep = !rest.is_empty() && (y + self.room(next, &rest) > self.limit || depth > DEEPEST);
            if too_deep && !matches!(edge, Edge::Piece(_)) {
                self.cuts.push(next);
                return Stem { steps, end: End::Flag(Target::Pin(next)) };
            }
            // A splice is shown even where it joins only two wires.
            let splice = self.model.part(self.model.pin(next).part).kind == PartKind::Splice;
            match rest.as_slice() {
                [] => return Stem { steps, end: End::Open(next) },
                &[only] if !splice => (pin, edge) = (next, only),
                _ => return Stem { steps, end: self.bar(next, y, depth) },
            }
        }
    }

    /// How much further down a path comes at least before it can be cut off again.
    fn room(&self, pin: PinId, rest: &[Edge]) -> f64 {
        let of = |edge: &Edge| match *edge {
            Edge::Piece(id) if self.pieces.get(id).is_block() && self.enters(id, pin) => BLOCK + WIRE,
            Edge::Piece(id) if self.pieces.get(id).is_block() => 0.0,
            Edge::Piece(_) | Edge::Joint(_) => PIECE + WIRE,
            Edge::Wire(_) => WIRE,
        };
        rest.iter().map(of).fold(0.0, f64::max)
    }

    /// The pin by which a piece of two pins in use is left; none where more are in use, or where it is a box.
    fn through(&self, id: PieceId, pin: PinId) -> Option<PinId> {
        let piece = self.pieces.get(id);
        if piece.is_block() {
            return None;
        }
        let others: Vec<PinId> = piece.pins.iter().copied().filter(|&p| p != pin).collect();
        let used: Vec<PinId> = others.iter().copied().filter(|&p| self.in_use(p, id)).collect();
        match (used.as_slice(), others.as_slice()) {
            (&[only], _) | ([], &[only, ..]) => Some(only),
            _ => None,
        }
    }

    fn in_use(&self, pin: PinId, piece: PieceId) -> bool {
        self.incident[pin.0].iter().any(|&e| e != Edge::Piece(piece))
    }
}

/// Joints with something on both sides: a mated cavity without a wire is not drawn.
fn live_joints(model: &Model, incident: &[Vec<Edge>]) -> Vec<usize> {
    let mut on: Vec<usize> = incident.iter().map(Vec::len).collect();
    model.joints.iter().flat_map(|j| j.pins).for_each(|pin| on[pin.0] += 1);
    let mut live: Vec<usize> = (0..model.joints.len()).collect();
    loop {
        let (kept, dead): (Vec<usize>, Vec<usize>) =
            live.iter().copied().partition(|&j| model.joints[j].pins.iter().all(|p| on[p.0] > 1));
        if dead.is_empty() {
            return kept;
        }
        dead.iter().flat_map(|&j| model.joints[j].pins).for_each(|pin| on[pin.0] -= 1);
        live = kept;
    }
}
