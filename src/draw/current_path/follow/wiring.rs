//! The wiring with a mark on what has been drawn, and the questions that following it asks.

use crate::current_path::box_sizes::TALLEST;
use crate::current_path::forest::{Edge, End, Step};
use crate::current_path::pieces::{Piece, PieceId, Pieces, powers, upper};
use crate::current_path::potentials::Heights;
use crate::current_path::spacing::{self, WIRE};
use model::{ElementKind, Model, PartKind, PinId};

/// The wires, joints and pieces on each pin, and which of them have been drawn.
pub(super) struct MarkedWiring<'m> {
    pub model: &'m Model,
    pub pieces: &'m Pieces,
    pub heights: Heights,
    incident: Vec<Vec<Edge>>,
    pub drawn: Drawn,
}

/// What has been drawn.
pub(super) struct Drawn {
    pub wires: Vec<bool>,
    pub joints: Vec<bool>,
    pub pieces: Vec<bool>,
    pub pins: Vec<bool>,
}

impl Drawn {
    pub fn has(&self, edge: Edge) -> bool {
        match edge {
            Edge::Wire(w) => self.wires[w.0],
            Edge::Joint(j) => self.joints[j],
            Edge::Piece(p) => self.pieces[p.0],
        }
    }
    pub fn mark(&mut self, edge: Edge) {
        match edge {
            Edge::Wire(w) => self.wires[w.0] = true,
            Edge::Joint(j) => self.joints[j] = true,
            Edge::Piece(p) => self.pieces[p.0] = true,
        }
    }
}

impl<'m> MarkedWiring<'m> {
    /// With nothing drawn yet.
    pub fn new(model: &'m Model, pieces: &'m Pieces) -> Self {
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
        Self { model, pieces, heights: Heights::of(model), incident, drawn }
    }

    /// Whether the pin is a supply or a wire of the vehicle that is live when it is on.
    pub fn is_top(&self, pin: PinId) -> bool {
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
    pub fn rail(&self, pin: PinId) -> Option<End> {
        match self.model.part(self.model.pin(pin).part).kind {
            PartKind::Ground => Some(End::Ground(pin)),
            PartKind::Supply | PartKind::Feed => Some(End::Vehicle(pin)),
            _ => None,
        }
    }

    /// Wires and joints of a pin, drawn or not.
    pub fn outside(&self, pin: PinId) -> impl Iterator<Item = Edge> + '_ {
        self.incident[pin.0].iter().copied().filter(|e| !matches!(e, Edge::Piece(_)))
    }

    pub fn undrawn(&self, pin: PinId) -> Vec<Edge> {
        self.incident[pin.0].iter().copied().filter(|&e| !self.drawn.has(e)).collect()
    }

    pub fn other_end(&self, edge: Edge, pin: PinId) -> PinId {
        let [a, b] = match edge {
            Edge::Wire(w) => self.model.wire(w).ends,
            Edge::Joint(j) => self.model.joints[j].pins,
            Edge::Piece(_) => [pin, pin],
        };
        if a == pin { b } else { a }
    }

    /// The other pin of a piece with two pins in use; `None` if more are in use, or if the piece is a box.
    pub fn through(&self, id: PieceId, pin: PinId) -> Option<PinId> {
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

    pub fn in_use(&self, pin: PinId, piece: PieceId) -> bool {
        self.incident[pin.0].iter().any(|&e| e != Edge::Piece(piece))
    }

    pub fn enters(&self, id: PieceId, pin: PinId) -> bool {
        let piece = self.pieces.get(id);
        if !piece.is_block() || powers(self.model, pin) {
            return true;
        }
        let used = |p: &&PinId| self.outside(**p).next().is_some();
        upper(self.model, pin) && !piece.pins.iter().filter(used).any(|&p| powers(self.model, p))
    }

    /// The unbranched way up from a pin to a rail, from the top down; `None` if it branches or stands elsewhere.
    pub fn rise(&self, pin: PinId, first: Edge, limit: f64) -> Option<(PinId, Vec<Step>)> {
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
                return (y + TALLEST + WIRE <= limit).then_some((upper, steps));
            }
            let mut on = self.incident[upper.0].iter().copied().filter(|&e| e != edge);
            let (next, more) = (on.next()?, on.next());
            if more.is_some() || self.drawn.pins[upper.0] || self.rail(upper).is_some() {
                return None;
            }
            (lower, edge) = (upper, next);
        }
    }

    /// Whether a pin is on the upper edge of its piece.
    pub fn above(&self, piece: &Piece, pin: PinId, arrival: Option<PinId>) -> bool {
        if piece.is_block() {
            let sinks = piece_outputs(self.model, piece).any(|(p, high_side)| p == pin && !high_side);
            return Some(pin) == arrival || sinks || upper(self.model, pin);
        }
        let by_common = arrival == piece.pins.first().copied();
        (pin == piece.pins[0]) == by_common
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

/// The semiconductor outputs of a piece's part: pin, and whether it switches the high side.
fn piece_outputs<'m>(model: &'m Model, piece: &Piece) -> impl Iterator<Item = (PinId, bool)> + 'm {
    model.part(piece.part).elements.iter().filter_map(|&e| match &model.element(e).kind {
        ElementKind::Output { pin, high_side, .. } => Some((*pin, *high_side)),
        _ => None,
    })
}
