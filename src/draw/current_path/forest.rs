//! A forest of current paths: what the wiring looks like once it has been followed from the supplies down.

use super::pieces::PieceId;
use model::{PinId, WireId};

/// What joins pins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Edge {
    Wire(WireId),
    /// Index into the model's joints.
    Joint(usize),
    Piece(PieceId),
}

/// One thing on a path, between the pin above and the pin below.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Step {
    pub edge: Edge,
    pub upper: PinId,
    pub lower: PinId,
}

/// Steps one below the other, and what they come to.
#[derive(Debug, Clone)]
pub(super) struct Stem {
    pub steps: Vec<Step>,
    pub end: End,
}

impl Stem {
    /// Whether the last step goes through a symbol.
    pub fn ends_on_piece(&self) -> bool {
        self.steps.last().is_some_and(|step| matches!(step.edge, Edge::Piece(_)))
    }

    /// How many columns it takes.
    pub fn columns(&self) -> usize {
        match &self.end {
            End::Bar(bar) => bar.downs.iter().map(Stem::columns).sum::<usize>().max(1) + bar.tops.len(),
            End::Many(many) => {
                let above: usize = many.uppers.iter().map(|(_, tops)| tops.len()).sum();
                above.max(many.lowers.iter().map(|(_, stem)| stem.columns()).sum()).max(1)
            }
            _ => 1,
        }
    }
}

/// What a path comes to.
#[derive(Debug, Clone)]
pub(super) enum End {
    /// A ground point, on the rail at the foot.
    Ground(PinId),
    /// A wire of the vehicle, reached from above.
    Vehicle(PinId),
    /// Something that stands on another path.
    Flag(Target),
    /// A pin with nothing else on it.
    Open(PinId),
    /// Several wires on one splice or terminal.
    Bar(Box<Bar>),
    /// A piece with more than two pins in use.
    Many(Box<Many>),
}

/// What a flag points to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Target {
    /// Where the wires of a pin come together.
    Pin(PinId),
    /// A pin at its piece.
    Piece(PieceId, PinId),
}

impl Target {
    /// The pin itself.
    pub fn pin(self) -> PinId {
        match self {
            Self::Pin(pin) | Self::Piece(_, pin) => pin,
        }
    }

    /// The far pin of the wire or joint that a flag at `pin` represents; `None` for other flags.
    pub fn far_from(self, pin: PinId) -> Option<PinId> {
        if let Self::Pin(far) = self { Some(far).filter(|far| *far != pin) } else { None }
    }
}

/// Several wires on one pin.
#[derive(Debug, Clone)]
pub(super) struct Bar {
    pub pin: PinId,
    /// What goes on below.
    pub downs: Vec<Stem>,
    /// What else comes from above.
    pub tops: Vec<Top>,
}

/// A piece with several pins in use; a box, or a change-over contact.
#[derive(Debug, Clone)]
pub(super) struct Many {
    pub piece: PieceId,
    /// The pins on its upper edge; first the pin where the path arrives.
    pub uppers: Vec<(PinId, Vec<Top>)>,
    /// On its lower edge.
    pub lowers: Vec<(PinId, Stem)>,
}

/// What comes to a pin from above.
#[derive(Debug, Clone)]
pub(super) enum Top {
    /// The path itself.
    Arrival,
    /// A path straight from a supply or a wire of the vehicle.
    Rise { rail: PinId, steps: Vec<Step> },
    /// Something that stands on another path; `whole` where its wire is drawn here.
    Stub { from: Target, wire: Option<WireId>, whole: bool },
}

/// A path's beginning.
#[derive(Debug, Clone)]
pub(super) struct Root {
    pub start: Start,
    pub stem: Stem,
}

/// Where a path begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Start {
    /// A supply's rail, or a wire of the vehicle.
    Rail(PinId),
    /// A pin that nothing feeds.
    Loose(PinId),
    /// A path that was cut off because the sheet has an end.
    Cut {
        pin: PinId,
        /// What the path came from before it was cut off, and the wire between.
        from: Option<(Target, Option<WireId>)>,
    },
    /// A box that nothing feeds.
    Box,
}
