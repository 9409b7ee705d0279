//! Nodes that a low resistance joins to the battery or to a source: the load of a voltmeter does not change their voltage.

use circuit::{BranchId, Change, Circuit, Law, NEGATIVE, NodeId, State, Variant};
use quantity::Ohms;

/// A node behind less resistance is held: 10 MΩ take less than a thousandth of its voltage away.
const LOW: Ohms = Ohms::new(5000.0);

/// The branches of a circuit that obey Ohm's law, and sources, by the nodes that they end in.
pub(crate) struct HeldNodes {
    at: Vec<Vec<(BranchId, NodeId, Ohms)>>,
}

impl HeldNodes {
    pub fn new(circuit: &Circuit) -> HeldNodes {
        let mut at = vec![Vec::new(); circuit.nodes.len()];
        for (number, branch) in circuit.branches.iter().enumerate() {
            let ohms = match branch.law {
                Law::Conductor { ohms, .. } | Law::Source { ohms, .. } => ohms,
                _ => continue,
            };
            for (node, other) in [(branch.from, branch.to), (branch.to, branch.from)] {
                at[node.index()].push((BranchId(number as u32), other, ohms));
            }
        }
        HeldNodes { at }
    }

    /// Whether a path of little resistance joins a node to the battery's negative, through sources as well, in a state of a
    /// changed circuit.
    pub fn holds(&self, circuit: &Circuit, node: NodeId, state: &State, variant: &Variant) -> bool {
        // What else is fitted the other way round or fed with another voltage conducts as before.
        let added = |branch: BranchId| -> Ohms {
            let series = variant.changes().iter().filter_map(|change| match change {
                Change::InSeries(id, ohms) if *id == branch => Some(*ohms),
                _ => None,
            });
            series.fold(Ohms::new(0.0), |sum, ohms| sum + ohms)
        };
        let is_there = |branch: BranchId| {
            let when = &circuit.branches[branch.index()].when;
            variant.presence(branch).unwrap_or_else(|| state.holds(when))
        };
        let mut reached = vec![(node, Ohms::new(0.0))];
        let mut next = 0;
        while let Some((node, so_far)) = reached.get(next).copied() {
            if node == NEGATIVE {
                return true;
            }
            next += 1;
            let own = self.at[node.index()].iter().filter(|(branch, ..)| is_there(*branch));
            let own = own.map(|(branch, other, ohms)| (*other, *ohms + added(*branch)));
            let links = variant.links().filter_map(|(from, to, ohms)| match node {
                _ if node == from => Some((to, ohms)),
                _ if node == to => Some((from, ohms)),
                _ => None,
            });
            for (other, ohms) in own.chain(links).collect::<Vec<_>>() {
                let whole = so_far + ohms;
                if whole < LOW && !reached.iter().any(|(known, _)| *known == other) {
                    reached.push((other, whole));
                }
            }
        }
        false
    }
}
