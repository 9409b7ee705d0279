//! The one way to change a circuit: branches open, closed, joined, corroded, or supplied with another voltage.
//!
//! A [`Variant`] is a list of changes by typed ids. [`Circuit::with`] makes the changed circuit itself;
//! the engine solves it in place (`Solver::set_variant`), without another elimination plan.

use super::circuit::{Circuit, LEAST_OHMS, Law};
use super::ids::{BranchId, NodeId};
use super::laws::{Curve, LinePiece};
use super::logic::Logic;
use quantity::{Ohms, Volts};

/// One change of a circuit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// The branch is never there: a broken wire, an open fuse, a contact that doesn't make.
    Open(BranchId),
    /// The branch is always there: a contact that sticks, a shield that is joined.
    Closed(BranchId),
    /// A resistance in series with the branch: a corroded joint.
    InSeries(BranchId, Ohms),
    /// A resistance between two nodes: a short, a chafed wire.
    Between(NodeId, NodeId, Ohms),
    /// A source has this voltage at every corner.
    Supply(BranchId, Volts),
    /// The branch is fitted the other way round: a diode whose band is at the wrong end.
    Reversed(BranchId),
}

/// Changes of a circuit, all at once. If several say whether one branch is there, or give a voltage to one source, the
/// last counts; resistances add up.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Variant {
    changes: Vec<Change>,
}

impl FromIterator<Change> for Variant {
    fn from_iter<I: IntoIterator<Item = Change>>(changes: I) -> Variant {
        Variant { changes: changes.into_iter().collect() }
    }
}

impl From<Change> for Variant {
    fn from(change: Change) -> Variant {
        Variant { changes: vec![change] }
    }
}

impl Variant {
    /// The circuit as it is.
    pub const NONE: Variant = Variant { changes: vec![] };

    /// These branches open.
    pub fn open(branches: impl IntoIterator<Item = BranchId>) -> Variant {
        branches.into_iter().map(Change::Open).collect()
    }

    /// Every source of a circuit at this voltage.
    pub fn supplied(circuit: &Circuit, volts: Volts) -> Variant {
        let sources = (0..circuit.branches.len() as u32).map(BranchId);
        let sources = sources.filter(|id| matches!(circuit.branches[id.index()].law, Law::Source { .. }));
        sources.map(|id| Change::Supply(id, volts)).collect()
    }

    /// These changes and one more.
    pub fn and(mut self, change: Change) -> Variant {
        self.changes.push(change);
        self
    }

    /// The changes, in order.
    pub fn changes(&self) -> &[Change] {
        &self.changes
    }

    /// Whether it changes nothing.
    pub fn is_none(&self) -> bool {
        self.changes.is_empty()
    }

    /// Whether a solver of the unchanged circuit can take it: a resistance in series with a load of constant power
    /// makes another law, and a reversed branch has other ends, which only the changed circuit has.
    pub fn is_in_place(&self, circuit: &Circuit) -> bool {
        self.changes.iter().all(|change| match change {
            Change::InSeries(branch, _) => !matches!(
                circuit.branches[branch.index()].law,
                Law::Power { .. } | Law::Drawn { .. } | Law::Regulated { .. }
            ),
            Change::Reversed(_) => false,
            _ => true,
        })
    }

    /// Whether it says that a branch is there or open; `None` if the condition of the branch decides.
    pub fn presence(&self, branch: BranchId) -> Option<bool> {
        self.changes.iter().rev().find_map(|change| match change {
            Change::Open(id) if *id == branch => Some(false),
            Change::Closed(id) if *id == branch => Some(true),
            _ => None,
        })
    }

    /// The curve of a branch with its changes. Only a source takes a supply voltage.
    pub fn curve(&self, branch: BranchId, law: &Law, mut curve: Curve) -> Curve {
        let is_source = matches!(law, Law::Source { .. });
        for change in &self.changes {
            curve = match (*change, curve) {
                (Change::Supply(id, volts), Curve::Straight { slope, .. }) if id == branch && is_source => {
                    Curve::Straight { slope, offset: slope * volts.value() }
                }
                (Change::InSeries(id, ohms), curve) if id == branch => in_series(curve, ohms.value()),
                (_, curve) => curve,
            };
        }
        curve
    }

    /// The branches that it changes, each once.
    pub fn branches(&self) -> Vec<BranchId> {
        let mut branches: Vec<BranchId> = self.changes.iter().filter_map(|change| change.branch()).collect();
        branches.sort_unstable();
        branches.dedup();
        branches
    }

    /// The resistances that it puts between nodes.
    pub fn links(&self) -> impl Iterator<Item = (NodeId, NodeId, Ohms)> {
        self.changes.iter().filter_map(|change| match *change {
            Change::Between(from, to, ohms) if from != to => Some((from, to, ohms.max(LEAST_OHMS))),
            _ => None,
        })
    }
}

impl Change {
    fn branch(&self) -> Option<BranchId> {
        match self {
            Change::Open(id)
            | Change::Closed(id)
            | Change::InSeries(id, _)
            | Change::Supply(id, _)
            | Change::Reversed(id) => Some(*id),
            Change::Between(..) => None,
        }
    }
}

impl Circuit {
    /// The changed circuit. Every node and branch keeps its id; those that a variant adds come after them.
    pub fn with(&self, variant: &Variant) -> Circuit {
        let mut circuit = self.clone();
        for change in &variant.changes {
            match *change {
                Change::Open(id) => circuit.branches[id.index()].when = Logic::Never,
                Change::Closed(id) => circuit.branches[id.index()].when = Logic::Always,
                Change::Supply(id, volts) => {
                    if let Law::Source { volts: all, .. } = &mut circuit.branches[id.index()].law {
                        *all = [volts; 3];
                    }
                }
                Change::Between(from, to, ohms) => {
                    circuit.resistor("joined", from, to, ohms);
                }
                Change::InSeries(id, ohms) => {
                    let between = circuit.node("in series");
                    let to = std::mem::replace(&mut circuit.branches[id.index()].to, between);
                    circuit.resistor("in series", between, to, ohms);
                }
                Change::Reversed(id) => {
                    let branch = &mut circuit.branches[id.index()];
                    std::mem::swap(&mut branch.from, &mut branch.to);
                }
            }
        }
        circuit
    }
}

/// A law with a resistance in series: i = s·v + o with v = u − i·R is i = (s·u + o) / (1 + s·R), and a piece ends at
/// its own end plus the drop over the resistance.
fn in_series(curve: Curve, ohms: f64) -> Curve {
    let straight = |slope: f64, offset: f64| {
        let share = 1.0 / (1.0 + slope * ohms);
        (slope * share, offset * share)
    };
    match curve {
        Curve::Straight { slope, offset } => {
            let (slope, offset) = straight(slope, offset);
            Curve::Straight { slope, offset }
        }
        Curve::Pieces(pieces) => Curve::Pieces(
            pieces
                .into_iter()
                .map(|piece| {
                    let (slope, offset) = straight(piece.slope, piece.offset);
                    let end = if piece.upto.is_finite() { piece.slope * piece.upto + piece.offset } else { 0.0 };
                    LinePiece { upto: piece.upto + end * ohms, slope, offset }
                })
                .collect(),
        ),
        Curve::Power { .. } => panic!("a load of constant power with a resistance in series has another law"),
        Curve::Open => Curve::Open,
    }
}
