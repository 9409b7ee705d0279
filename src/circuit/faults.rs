//! Faults of a circuit in any state, and dangers of one state. A faulty circuit is solved too; these functions name
//! what is wrong with it.

use super::circuit::{Circuit, LEAST_OHMS, Law};
use super::ids::{BranchId, NEGATIVE, NodeId};
use super::state::Solution;
use quantity::{Amps, Ohms, Volts};
use std::collections::{BTreeMap, BinaryHeap};

/// A path from a source's positive to its negative through conductors alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Short {
    /// The source.
    pub source: BranchId,
    /// The current that it delivers.
    pub amps: Amps,
    /// The branches from its positive to its negative, in order.
    pub path: Vec<BranchId>,
    /// Resistance of the path, without the source's own.
    pub ohms: Ohms,
}

/// Two sources that work against each other: one takes current back.
#[derive(Debug, Clone, PartialEq)]
pub struct Contradiction {
    /// The source that is driven backwards.
    pub source: BranchId,
    /// The current into it.
    pub amps: Amps,
}

impl Circuit {
    /// Groups of nodes that nothing joins to the battery's negative, in any state: each in the order of the nodes.
    pub fn islands(&self) -> Vec<Vec<NodeId>> {
        let mut group: Vec<usize> = (0..self.nodes.len()).collect();
        fn find(group: &[usize], mut node: usize) -> usize {
            while group[node] != node {
                node = group[node];
            }
            node
        }
        for branch in &self.branches {
            let (a, b) = (find(&group, branch.from.index()), find(&group, branch.to.index()));
            group[a.max(b)] = a.min(b);
        }
        let mut islands: BTreeMap<usize, Vec<NodeId>> = BTreeMap::new();
        for node in 1..self.nodes.len() {
            let first = find(&group, node);
            if first != 0 {
                islands.entry(first).or_default().push(NodeId(node as u32));
            }
        }
        islands.into_values().collect()
    }

    /// Conductors that close a ring without resistance with others before them. The current round such a ring is
    /// undetermined.
    pub fn zero_ohm_loops(&self) -> Vec<BranchId> {
        let mut group: Vec<usize> = (0..self.nodes.len()).collect();
        fn find(group: &[usize], mut node: usize) -> usize {
            while group[node] != node {
                node = group[node];
            }
            node
        }
        let mut loops = vec![];
        for (k, branch) in self.branches.iter().enumerate() {
            let no_ohms = match branch.law {
                Law::Conductor { ohms, .. } => ohms <= LEAST_OHMS,
                _ => false,
            };
            if no_ohms {
                let (a, b) = (find(&group, branch.from.index()), find(&group, branch.to.index()));
                match a == b {
                    true => loops.push(BranchId(k as u32)),
                    false => group[a.max(b)] = a.min(b),
                }
            }
        }
        loops
    }
}

impl Solution {
    /// Sources that are short-circuited in this state: conductors alone connect their poles, with so little resistance
    /// that the source would deliver at least `least`.
    pub fn shorts(&self, circuit: &Circuit, least: Amps) -> Vec<Short> {
        let each = circuit.branches.iter().enumerate().filter_map(|(k, branch)| match &branch.law {
            Law::Source { volts, ohms } if self.state.holds(&branch.when) => {
                let source = BranchId(k as u32);
                let (path, way) = self.least_resistance(circuit, branch.to, branch.from)?;
                let total = ohms.value() + way;
                let greatest = volts[2].value().abs() / total.max(LEAST_OHMS.value());
                let short = Short { source, amps: self.amps(source), path, ohms: Ohms::new(way) };
                (greatest >= least.value() && self.amps(source).value() >= 0.5 * least.value()).then_some(short)
            }
            _ => None,
        });
        each.collect()
    }

    /// Sources that take current back from another source, more than `least`.
    pub fn contradictions(&self, circuit: &Circuit, least: Amps) -> Vec<Contradiction> {
        let each = circuit.branches.iter().enumerate().filter_map(|(k, branch)| {
            let source = BranchId(k as u32);
            let amps = -self.amps(source);
            let is_source = matches!(branch.law, Law::Source { volts, .. } if volts[2] > Volts::new(0.0));
            (is_source && amps > least).then_some(Contradiction { source, amps })
        });
        each.collect()
    }

    /// The path of lowest resistance through closed conductors (Dijkstra's shortest path).
    fn least_resistance(&self, circuit: &Circuit, from: NodeId, to: NodeId) -> Option<(Vec<BranchId>, f64)> {
        let mut near: Vec<Vec<(u32, u32, f64)>> = vec![vec![]; circuit.nodes.len()];
        for (k, branch) in circuit.branches.iter().enumerate() {
            if let Law::Conductor { ohms, .. } = branch.law
                && self.state.holds(&branch.when)
            {
                let ohms = ohms.max(LEAST_OHMS).value();
                near[branch.from.index()].push((branch.to.0, k as u32, ohms));
                near[branch.to.index()].push((branch.from.0, k as u32, ohms));
            }
        }
        let mut best = vec![(f64::INFINITY, None); near.len()];
        best[from.index()].0 = 0.0;
        // Positive numbers order as their bits do.
        let mut waiting = BinaryHeap::from([(std::cmp::Reverse(0u64), from.0)]);
        while let Some((std::cmp::Reverse(bits), node)) = waiting.pop() {
            let here = f64::from_bits(bits);
            if node == to.0 {
                break;
            }
            if here > best[node as usize].0 {
                continue;
            }
            for (other, branch, ohms) in &near[node as usize] {
                let there = here + ohms;
                if there < best[*other as usize].0 {
                    best[*other as usize] = (there, Some((node, *branch)));
                    waiting.push((std::cmp::Reverse(there.to_bits()), *other));
                }
            }
        }
        let (mut path, mut at) = (vec![], to.0);
        while at != from.0 {
            let (before, branch) = best[at as usize].1?;
            path.push(BranchId(branch));
            at = before;
        }
        path.reverse();
        let _ = NEGATIVE;
        Some((path, best[to.index()].0))
    }
}
