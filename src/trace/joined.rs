//! Nodes that wires and mated cavities join: to an ohmmeter, a short is the same anywhere on them, but for the resistance of
//! the wires.

use circuit::{BranchId, Change, Circuit, NodeId, Variant};

/// For each node, the first of those that it is joined to.
pub(crate) struct JoinedNodes {
    first: Vec<usize>,
    /// The wires and joints.
    by: Vec<BranchId>,
}

impl JoinedNodes {
    /// Joined by these wires and joints.
    pub fn new(circuit: &Circuit, by: Vec<BranchId>) -> JoinedNodes {
        let mut joined = JoinedNodes { first: (0..circuit.nodes.len()).collect(), by };
        for id in joined.by.clone() {
            let branch = &circuit.branches[id.index()];
            let [one, other] = [branch.from, branch.to].map(|node| joined.of(node));
            joined.first[one.max(other)] = one.min(other);
        }
        joined
    }

    fn of(&self, node: NodeId) -> usize {
        let mut at = node.index();
        while self.first[at] != at {
            at = self.first[at];
        }
        at
    }

    /// The changes of shorts, each between the first of the nodes that are joined, so that shorts which an ohmmeter does not
    /// tell apart have equal ones. `None` for faults that open a wire or a joint, or change something else.
    pub fn same_shorts(&self, variant: &Variant) -> Option<Vec<Change>> {
        let first = |node: NodeId| NodeId(self.of(node) as u32);
        let change = |change: &Change| match *change {
            Change::Between(from, to, ohms) => {
                let [one, other] = [first(from), first(to)];
                Some(Change::Between(one.min(other), one.max(other), ohms))
            }
            Change::Open(branch) if !self.by.contains(&branch) => Some(Change::Open(branch)),
            _ => None,
        };
        variant.changes().iter().map(change).collect()
    }
}
