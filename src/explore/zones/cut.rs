//! The nodes of the trunk, with given masters, and the groups into which the rest falls.

use circuit::{ActorId, ActorRule, Circuit, InputId, LEAST_OHMS, Law, Logic, NEGATIVE, NodeId};
use engine::Lists;
use std::collections::{BTreeMap, BinaryHeap};

/// A node that this much resistance or less joins to the battery's negative, through sources or not, may be trunk.
pub(crate) const STIFF_OHMS: f64 = 0.5;

/// What a cut leaves out, to find what keeps zones together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Loosened {
    Nothing,
    /// This node is stiff.
    Stiff(NodeId),
    /// This actor joins nothing.
    Without(ActorId),
}

/// A circuit cut at its trunk.
pub(crate) struct TrunkCut<'c> {
    pub circuit: &'c Circuit,
    loosened: Loosened,
    pub masters: Vec<bool>,
    /// Nodes that are kept out of the trunk.
    pub soft: Vec<bool>,
    /// By node.
    pub trunk: Vec<bool>,
    /// Branches on each node, but those from a node to itself; and actors that look at it.
    on: Lists<u32>,
    looked_at: Lists<u32>,
    /// Resistance of the branches that can be part of the trunk, if their ends are.
    ohms: Vec<Option<f64>>,
    /// Union-find over nodes, actors, inputs and branches, one after the other.
    parent: Vec<u32>,
}

impl<'c> TrunkCut<'c> {
    /// With no node soft.
    pub(crate) fn new(circuit: &'c Circuit, masters: &[bool]) -> Self {
        TrunkCut::loosened(circuit, masters, &vec![false; circuit.nodes.len()], Loosened::Nothing)
    }

    pub(crate) fn loosened(circuit: &'c Circuit, masters: &[bool], soft: &[bool], loosened: Loosened) -> Self {
        let elements = circuit.nodes.len() + circuit.actors.len() + circuit.inputs.len() + circuit.branches.len();
        let mut on = Vec::with_capacity(2 * circuit.branches.len());
        for (k, branch) in circuit.branches.iter().enumerate().filter(|(_, b)| b.from != b.to) {
            on.extend([branch.from, branch.to].map(|end| (end.0, k as u32)));
        }
        let mut looked_at = vec![];
        for (i, actor) in circuit.actors.iter().enumerate() {
            if let ActorRule::Threshold { plus, minus, .. } = actor.rule {
                looked_at.extend([plus, minus].map(|end| (end.0, i as u32)));
            }
        }
        let mut cut = TrunkCut {
            circuit,
            loosened,
            masters: masters.to_vec(),
            soft: soft.to_vec(),
            trunk: vec![false; circuit.nodes.len()],
            on: Lists::new(circuit.nodes.len(), &on),
            looked_at: Lists::new(circuit.nodes.len(), &looked_at),
            ohms: vec![],
            parent: (0..elements as u32).collect(),
        };
        cut.ohms = (0..circuit.branches.len()).map(|k| cut.conducts(k)).collect();
        cut.find_trunk();
        cut.join();
        cut.prune();
        cut
    }

    fn node(&self, id: NodeId) -> usize {
        id.index()
    }

    pub(crate) fn actor(&self, id: ActorId) -> usize {
        self.circuit.nodes.len() + id.index()
    }

    pub(crate) fn input(&self, id: InputId) -> usize {
        self.circuit.nodes.len() + self.circuit.actors.len() + id.index()
    }

    pub(crate) fn branch(&self, k: usize) -> usize {
        self.circuit.nodes.len() + self.circuit.actors.len() + self.circuit.inputs.len() + k
    }

    pub(crate) fn find(&self, mut element: usize) -> usize {
        while self.parent[element] as usize != element {
            element = self.parent[element] as usize;
        }
        element
    }

    /// Finds, and halves the way for the next time.
    fn find_shortening(&mut self, mut element: usize) -> usize {
        while self.parent[element] as usize != element {
            self.parent[element] = self.parent[self.parent[element] as usize];
            element = self.parent[element] as usize;
        }
        element
    }

    fn union(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find_shortening(a), self.find_shortening(b));
        // The lower one stays, so that the result doesn't depend on the order of joining.
        self.parent[a.max(b)] = a.min(b) as u32;
    }

    fn only_masters(&self, logic: &Logic) -> bool {
        let mut only = true;
        let mut actors = false;
        logic.visit(&mut |input| only &= self.masters[input.index()], &mut |_| actors = true);
        only && !actors
    }

    /// The resistance of a branch that can be part of the trunk, if its ends are.
    fn conducts(&self, k: usize) -> Option<f64> {
        let branch = &self.circuit.branches[k];
        match branch.law {
            Law::Conductor { ohms, .. } | Law::Source { ohms, .. } if self.only_masters(&branch.when) => {
                Some(ohms.max(LEAST_OHMS).value())
            }
            _ => None,
        }
    }

    /// Nodes near enough to the battery's negative (Dijkstra's shortest paths by resistance).
    fn find_trunk(&mut self) {
        let mut distance = vec![f64::INFINITY; self.trunk.len()];
        distance[0] = 0.0;
        // Positive numbers order as their bits do.
        let mut waiting = BinaryHeap::from([(std::cmp::Reverse(0u64), 0u32)]);
        while let Some((std::cmp::Reverse(bits), node)) = waiting.pop() {
            let here = f64::from_bits(bits);
            if here > distance[node as usize] {
                continue;
            }
            for k in self.on.of(node as usize) {
                let Some(ohms) = self.ohms[*k as usize] else { continue };
                let branch = &self.circuit.branches[*k as usize];
                let other = if branch.from.0 == node { branch.to.0 } else { branch.from.0 };
                let there = here + ohms;
                if there <= STIFF_OHMS && there < distance[other as usize] && !self.soft[other as usize] {
                    distance[other as usize] = there;
                    waiting.push((std::cmp::Reverse(there.to_bits()), other));
                }
            }
        }
        self.trunk = distance.iter().map(|d| d.is_finite()).collect();
        if let Loosened::Stiff(node) = self.loosened {
            self.trunk[node.index()] = true;
        }
    }

    /// Whether a branch is the trunk's own.
    pub(crate) fn is_trunk(&self, k: usize) -> bool {
        let branch = &self.circuit.branches[k];
        self.ohms[k].is_some() && self.trunk[branch.from.index()] && self.trunk[branch.to.index()]
    }

    /// Adds the inputs and actors that a condition names, except masters.
    fn add_logic(&self, logic: &Logic, to: &mut Vec<usize>) {
        // One at a time, since both closures need the list.
        logic.visit(
            &mut |id| {
                if !self.masters[id.index()] {
                    to.push(self.input(id))
                }
            },
            &mut |_| {},
        );
        logic.visit(&mut |_| {}, &mut |id| {
            if self.loosened != Loosened::Without(id) {
                to.push(self.actor(id))
            }
        });
    }

    fn add_nodes(&self, ends: [NodeId; 2], to: &mut Vec<usize>) {
        to.extend(ends.into_iter().filter(|end| !self.trunk[end.index()]).map(|end| self.node(end)));
    }

    fn join_all(&mut self, first: usize, others: &mut Vec<usize>) {
        others.drain(..).for_each(|other| self.union(first, other));
    }

    /// Joins what belongs together once the trunk is out.
    fn join(&mut self) {
        let circuit = self.circuit;
        let mut all: Vec<usize> = vec![];
        for (k, branch) in circuit.branches.iter().enumerate() {
            if self.is_trunk(k) {
                continue;
            }
            self.add_nodes([branch.from, branch.to], &mut all);
            self.add_logic(&branch.when, &mut all);
            if let Law::Drawn { output, .. } = branch.law {
                all.push(self.branch(output.index()));
            }
            self.join_all(self.branch(k), &mut all);
        }
        for (i, actor) in circuit.actors.iter().enumerate() {
            if self.loosened == Loosened::Without(ActorId(i as u32)) {
                continue;
            }
            self.add_logic(&actor.powered, &mut all);
            match &actor.rule {
                ActorRule::Threshold { plus, minus, .. } => self.add_nodes([*plus, *minus], &mut all),
                ActorRule::Latch { set, reset } => {
                    self.add_logic(set, &mut all);
                    self.add_logic(reset, &mut all);
                }
                ActorRule::Toggle { start }
                | ActorRule::Hold { start }
                | ActorRule::Delay { start }
                | ActorRule::Pulse { start } => {
                    self.add_logic(start, &mut all);
                }
            }
            self.join_all(self.actor(ActorId(i as u32)), &mut all);
        }
        for (i, input) in circuit.inputs.iter().enumerate() {
            if self.masters[i] {
                continue;
            }
            self.add_logic(&input.needs, &mut all);
            all.extend(input.excludes.iter().map(|other| self.input(*other)));
            self.join_all(self.input(InputId(i as u32)), &mut all);
        }
    }

    /// Gives a zone the ends of the trunk to which nothing else connects.
    fn prune(&mut self) {
        let mut waiting: Vec<usize> = (1..self.trunk.len()).filter(|n| self.trunk[*n]).collect();
        while let Some(node) = waiting.pop() {
            if !self.trunk[node] {
                continue;
            }
            if let (Some(k), Some(zone)) = (self.only_trunk_branch(node), self.only_zone(node))
                && self.may_leave(k)
            {
                self.trunk[node] = false;
                self.union(zone, node);
                self.union(zone, self.branch(k));
                let branch = &self.circuit.branches[k];
                let other = if branch.from.index() == node { branch.to } else { branch.from };
                if other != NEGATIVE {
                    waiting.push(other.index());
                }
            }
        }
    }

    fn only_trunk_branch(&self, node: usize) -> Option<usize> {
        let mut trunk = self.on.of(node).iter().map(|k| *k as usize).filter(|k| self.is_trunk(*k));
        trunk.next().filter(|_| trunk.next().is_none())
    }

    /// The one zone that connects to a node, by a branch or by an actor that looks at it.
    fn only_zone(&self, node: usize) -> Option<usize> {
        let hang = self.on.of(node).iter().map(|k| *k as usize).filter(|k| !self.is_trunk(*k));
        let branches = hang.map(|k| self.find(self.branch(k)));
        let actors = self.looked_at.of(node).iter().map(|i| self.find(self.actor(ActorId(*i))));
        let mut zones = branches.chain(actors);
        let first = zones.next()?;
        zones.all(|zone| zone == first).then_some(first)
    }

    /// A source stays in the trunk: it is what holds it.
    fn may_leave(&self, k: usize) -> bool {
        matches!(self.circuit.branches[k].law, Law::Conductor { .. })
    }

    /// Combinations of positions in the largest zone, as a power of two, in hundredths so that it is a whole number.
    pub(crate) fn size(&self) -> usize {
        let mut sizes: BTreeMap<usize, f64> = BTreeMap::new();
        for (i, input) in self.circuit.inputs.iter().enumerate().filter(|(i, _)| !self.masters[*i]) {
            let zone = self.find(self.input(InputId(i as u32)));
            *sizes.entry(zone).or_default() += (input.positions.len() as f64).log2();
        }
        (sizes.values().fold(0.0, |a: f64, b| a.max(*b)) * 100.0) as usize
    }

    /// Inputs and actors of the zone with the most combinations of positions.
    pub(crate) fn greatest(&self) -> (Vec<InputId>, Vec<ActorId>) {
        let inputs = || (0..self.circuit.inputs.len() as u32).map(InputId).filter(|id| !self.masters[id.index()]);
        let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
        inputs().for_each(|id| *counts.entry(self.find(self.input(id))).or_default() += 1);
        let Some((zone, _)) = counts.iter().max_by_key(|(zone, count)| (**count, std::cmp::Reverse(**zone))) else {
            return (vec![], vec![]);
        };
        let actors = (0..self.circuit.actors.len() as u32).map(ActorId);
        (
            inputs().filter(|id| self.find(self.input(*id)) == *zone).collect(),
            actors.filter(|id| self.find(self.actor(*id)) == *zone).collect(),
        )
    }

    /// Nodes of the trunk to which something connects, and the others.
    pub(crate) fn trunk_nodes(&self) -> (Vec<NodeId>, Vec<NodeId>) {
        let mut hung = vec![false; self.trunk.len()];
        for (k, branch) in self.circuit.branches.iter().enumerate() {
            if !self.is_trunk(k) {
                hung[branch.from.index()] = true;
                hung[branch.to.index()] = true;
            }
        }
        for actor in &self.circuit.actors {
            if let ActorRule::Threshold { plus, minus, .. } = actor.rule {
                hung[plus.index()] = true;
                hung[minus.index()] = true;
            }
        }
        let nodes = (1..self.trunk.len()).filter(|n| self.trunk[*n]).map(|n| NodeId(n as u32));
        nodes.partition(|node| hung[node.index()])
    }
}
