//! The order in which nodes are eliminated, and the fill that follows from it. Made once for a circuit, used at every
//! corner.

use circuit::{ActorRule, Circuit, Law, Logic, place_in};
use std::collections::BTreeSet;

/// The battery's negative in place of a column, and the parent of the last column.
pub const NONE: u32 = u32::MAX;

/// Lists of different lengths in one.
#[derive(Debug, Clone, Default)]
pub struct Lists<T> {
    starts: Vec<u32>,
    items: Vec<T>,
}

impl<T: Copy> Lists<T> {
    /// From (list, item) pairs; items keep their order within a list.
    pub fn new(count: usize, pairs: &[(u32, T)]) -> Self {
        let mut starts = vec![0u32; count + 1];
        for (list, _) in pairs {
            starts[*list as usize + 1] += 1;
        }
        for i in 0..count {
            starts[i + 1] += starts[i];
        }
        let mut next = starts.clone();
        let mut items: Vec<T> = pairs.iter().map(|pair| pair.1).collect();
        for (list, item) in pairs {
            items[next[*list as usize] as usize] = *item;
            next[*list as usize] += 1;
        }
        Lists { starts, items }
    }

    /// One list.
    pub fn of(&self, list: usize) -> &[T] {
        &self.items[self.starts[list] as usize..self.starts[list + 1] as usize]
    }
}

/// The contributions to a column from the columns eliminated before it.
#[derive(Debug, Clone)]
pub(crate) struct Fill {
    /// For each column its slots in other columns: (column, slot).
    pub incoming: Lists<(u32, u32)>,
    /// For each slot the pairs of slots, of one column each, whose product it receives.
    pub products: Lists<(u32, u32)>,
}

/// Elimination order and fill of a circuit's conductance matrix.
///
/// Node by node a star is turned into the mesh between its neighbours. The first `fixed` columns are nodes that no
/// branch which switches or bends touches; they are eliminated once per corner, and again only where a variant of the
/// circuit changes them. A changed column is redone with all columns on its path in the elimination tree: a column's
/// parent is the first of its rows (Liu 1990, on elimination trees).
#[derive(Debug, Clone)]
pub struct EliminationPlan {
    /// Columns: every node but the battery's negative.
    pub columns: usize,
    /// Columns that never change.
    pub fixed: usize,
    /// Column of each node, [`NONE`] for the battery's negative.
    pub column_of: Vec<u32>,
    /// First slot of each column.
    pub starts: Vec<u32>,
    /// Row of each slot: a later column.
    pub rows: Vec<u32>,
    /// Contributions from fixed columns.
    pub(crate) from_fixed: Fill,
    /// Contributions from changing columns.
    pub(crate) from_changing: Fill,
    /// The next column on each column's path, [`NONE`] at its end.
    pub parents: Vec<u32>,
}

/// Whether a branch may change from state to state.
pub fn changes(circuit: &Circuit, branch: usize) -> bool {
    let branch = &circuit.branches[branch];
    let straight = matches!(branch.law, Law::Conductor { .. } | Law::Source { .. } | Law::Pulsed { .. });
    !straight || branch.when != Logic::Always
}

impl EliminationPlan {
    /// Chooses the order by lowest degree, then by lowest depth so that paths are short.
    pub fn new(circuit: &Circuit) -> EliminationPlan {
        let nodes = circuit.nodes.len();
        let mut changing = vec![false; nodes];
        let mut near: Vec<BTreeSet<u32>> = vec![BTreeSet::new(); nodes];
        for (k, branch) in circuit.branches.iter().enumerate() {
            let (a, b) = (branch.from.0, branch.to.0);
            if changes(circuit, k) {
                changing[a as usize] = true;
                changing[b as usize] = true;
            }
            if a != b && a != 0 && b != 0 {
                near[a as usize].insert(b);
                near[b as usize].insert(a);
            }
        }
        for actor in &circuit.actors {
            if let ActorRule::Threshold { plus, minus, .. } = actor.rule {
                changing[plus.index()] = true;
                changing[minus.index()] = true;
            }
        }
        let (order, fixed, rows_by_node) = Elimination::new(near, changing).run();
        EliminationPlan::lay_out(nodes, &order, fixed, &rows_by_node)
    }

    fn lay_out(nodes: usize, order: &[u32], fixed: usize, rows_by_node: &[BTreeSet<u32>]) -> EliminationPlan {
        let columns = order.len();
        let mut column_of = vec![NONE; nodes];
        for (column, node) in order.iter().enumerate() {
            column_of[*node as usize] = column as u32;
        }
        let (mut starts, mut rows) = (vec![0], vec![]);
        for node in order {
            let first = rows.len();
            rows.extend(rows_by_node[*node as usize].iter().map(|other| column_of[*other as usize]));
            rows[first..].sort_unstable();
            starts.push(rows.len() as u32);
        }
        let fill = |from: std::ops::Range<usize>| {
            let rows_of = |column: u32| &rows[starts[column as usize] as usize..starts[column as usize + 1] as usize];
            let (mut incoming, mut products) = (vec![], vec![]);
            for column in from {
                for slot in starts[column]..starts[column + 1] {
                    let row = rows[slot as usize];
                    incoming.push((row, (column as u32, slot)));
                    for other in slot + 1..starts[column + 1] {
                        // Eliminating the column has joined all of its rows.
                        let target = starts[row as usize] as usize + place_in(rows_of(row), &rows[other as usize]);
                        products.push((target as u32, (slot, other)));
                    }
                }
            }
            Fill { incoming: Lists::new(columns, &incoming), products: Lists::new(rows.len(), &products) }
        };
        let first_row = |column: usize| rows[starts[column] as usize..starts[column + 1] as usize].first();
        EliminationPlan {
            columns,
            fixed,
            column_of,
            from_fixed: fill(0..fixed),
            from_changing: fill(fixed..columns),
            parents: (0..columns).map(|column| first_row(column).copied().unwrap_or(NONE)).collect(),
            starts,
            rows,
        }
    }

    /// Slots of a column.
    pub fn slots(&self, column: usize) -> std::ops::Range<usize> {
        self.starts[column] as usize..self.starts[column + 1] as usize
    }

    /// The slot of two columns; `None` if one is the battery's negative, they are the same, or nothing joins them.
    pub fn slot(&self, a: u32, b: u32) -> Option<usize> {
        if a == NONE || b == NONE || a == b {
            return None;
        }
        let slots = self.slots(a.min(b) as usize);
        self.rows[slots.clone()].binary_search(&a.max(b)).ok().map(|at| slots.start + at)
    }
}

/// The elimination of a graph node by node.
struct Elimination {
    /// Neighbours that are left; for an eliminated node, those that it had then.
    near: Vec<BTreeSet<u32>>,
    changing: Vec<bool>,
    depth: Vec<u32>,
    /// Nodes that are left, and the place of each among them.
    left: Vec<u32>,
    place: Vec<u32>,
    /// Nodes that may come next by degree, depth and place.
    queue: BTreeSet<[u32; 3]>,
    /// Whether nodes that change, or would fill in, are still held back.
    first_round: bool,
}

impl Elimination {
    fn new(near: Vec<BTreeSet<u32>>, changing: Vec<bool>) -> Elimination {
        let nodes = near.len() as u32;
        let mut new = Elimination {
            depth: vec![0; near.len()],
            left: (1..nodes).collect(),
            place: (0..nodes).map(|node| node.saturating_sub(1)).collect(),
            queue: BTreeSet::new(),
            first_round: true,
            near,
            changing,
        };
        (1..nodes).for_each(|node| new.enqueue(node));
        new
    }

    /// The nodes in elimination order, how many of them are fixed, and each node's neighbours at its elimination.
    fn run(mut self) -> (Vec<u32>, usize, Vec<BTreeSet<u32>>) {
        let mut order = Vec::with_capacity(self.left.len());
        while let Some([_, _, place]) = self.queue.first().copied() {
            order.push(self.eliminate(place as usize));
        }
        let fixed = order.len();
        self.first_round = false;
        self.left.clone().into_iter().for_each(|node| self.enqueue(node));
        while let Some([_, _, place]) = self.queue.first().copied() {
            order.push(self.eliminate(place as usize));
        }
        (order, fixed, self.near)
    }

    fn key(&self, node: u32) -> [u32; 3] {
        let i = node as usize;
        [self.near[i].len() as u32, self.depth[i], self.place[i]]
    }

    /// A node with more than two neighbours would fill in, so it waits even if nothing on it changes.
    fn enqueue(&mut self, node: u32) {
        let i = node as usize;
        if !self.first_round || (!self.changing[i] && self.near[i].len() <= 2) {
            self.queue.insert(self.key(node));
        }
    }

    fn dequeue(&mut self, node: u32) {
        self.queue.remove(&self.key(node));
    }

    fn eliminate(&mut self, place: usize) -> u32 {
        let node = self.left[place];
        self.dequeue(node);
        // The last one takes its place.
        if let Some(&last) = self.left.last().filter(|last| **last != node) {
            self.dequeue(last);
            self.place[last as usize] = place as u32;
            self.enqueue(last);
        }
        self.left.swap_remove(place);
        let neighbours: Vec<u32> = self.near[node as usize].iter().copied().collect();
        for &one in &neighbours {
            self.dequeue(one);
            let i = one as usize;
            self.depth[i] = self.depth[i].max(self.depth[node as usize] + 1);
            self.near[i].remove(&node);
            self.near[i].extend(neighbours.iter().filter(|other| **other != one));
            self.enqueue(one);
        }
        node
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use circuit::NEGATIVE;
    use quantity::Ohms;

    /// A chain of wires behind a switch: the chain is eliminated once, and nothing fills in.
    #[test]
    fn a_chain_is_fixed_and_does_not_fill_in() {
        let mut circuit = Circuit::new();
        let nodes: Vec<_> = (0..6).map(|i| circuit.node(format!("n{i}"))).collect();
        for pair in nodes.windows(2) {
            circuit.resistor("wire", pair[0], pair[1], Ohms::new(1.0));
        }
        let input = circuit.input("switch", &["off", "on"]);
        let law = Law::Conductor { ohms: Ohms::new(1.0), copper: false };
        circuit.switched("switch", nodes[5], NEGATIVE, law, Logic::At(input, 1));
        let plan = EliminationPlan::new(&circuit);
        assert_eq!((plan.columns, plan.fixed, plan.rows.len()), (6, 5, 5));
        assert_eq!(plan.column_of[nodes[5].index()], 5);
        assert_eq!(plan.parents, [1, 2, 3, 4, 5, NONE]);
    }
}
