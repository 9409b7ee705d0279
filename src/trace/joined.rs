//! Nodes that wires and mated cavities join: to an ohmmeter, a short is the same anywhere on them, but for the resistance of
//! the wires.

use circuit::{BranchId, Change, Circuit, NodeId, Variant};
use petgraph::unionfind::UnionFind;

/// Nodes that are joined, each set under one of its nodes.
pub(crate) struct JoinedNodes {
    sets: UnionFind<usize>,
    /// The wires and joints.
    by: Vec<BranchId>,
}

impl JoinedNodes {
    /// Joined by these wires and joints.
    pub fn new(circuit: &Circuit, by: Vec<BranchId>) -> JoinedNodes {
        let mut sets = UnionFind::new(circuit.nodes.len());
        for id in &by {
            let branch = &circuit.branches[id.index()];
            sets.union(branch.from.index(), branch.to.index());
        }
        JoinedNodes { sets, by }
    }

    /// The changes of shorts, each between two sets of joined nodes: shorts that an ohmmeter does not distinguish have equal
    /// changes. `None` for faults that open a wire or a joint, or change something else.
    pub fn same_shorts(&self, variant: &Variant) -> Option<Vec<Change>> {
        let set = |node: NodeId| NodeId(self.sets.find(node.index()) as u32);
        let change = |change: &Change| match *change {
            Change::Between(from, to, ohms) => {
                let [one, other] = [set(from), set(to)];
                Some(Change::Between(one.min(other), one.max(other), ohms))
            }
            Change::Open(branch) if !self.by.contains(&branch) => Some(Change::Open(branch)),
            _ => None,
        };
        variant.changes().iter().map(change).collect()
    }
}
