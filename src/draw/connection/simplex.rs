//! Heights on a grid: integer positions that keep all minimum distances and, among those, lie closest to the wished
//! ones.
//!
//! This is the linear program *minimise Σ weight · |y[to] − y[from] − distance| subject to y[to] − y[from] ≥ least*.
//! Its dual is a minimum-cost flow, solved here by the primal network simplex method with strongly feasible spanning
//! trees (R. Ahuja, T. Magnanti, J. Orlin, *Network Flows*, 1993, chapter 11) and block-search pricing; the heights are
//! the node potentials. Integer data give integer heights. Runs in a few milliseconds for some thousand nodes.

/// Asks for `y[to] − y[from]` to be `distance`, at a price of `weight` for each unit it is off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wish {
    pub from: usize,
    pub to: usize,
    pub distance: i64,
    pub weight: i64,
}

/// Demands `y[to] − y[from] ≥ least`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limit {
    pub from: usize,
    pub to: usize,
    pub least: i64,
}

/// The heights of `nodes` nodes, node 0 at height 0. The sum of the limits round a cycle of them must not be positive,
/// and every node must be connected to node 0 by wishes of positive weight, or its height would be arbitrary.
pub(super) fn heights(nodes: usize, wishes: &[Wish], limits: &[Limit]) -> Vec<i64> {
    let mut tree = Tree::new(nodes, wishes, limits);
    tree.optimise();
    let ground = tree.potential[0];
    tree.potential[..nodes].iter().map(|p| ground - p).collect()
}

/// Capacity of an arc that may carry any flow.
const UNBOUNDED: i64 = i64::MAX;
/// Cost of the arcs that hang the first tree on the root: more than any path of real arcs can cost.
const ROOT_COST: i64 = 1 << 40;

#[derive(Debug, Clone, Copy)]
struct Arc {
    from: usize,
    to: usize,
    capacity: i64,
    cost: i64,
    flow: i64,
}

/// The spanning tree of basic arcs, rooted at the extra node `parent.len() - 1`.
struct Tree {
    arcs: Vec<Arc>,
    real_arcs: usize,
    in_tree: Vec<bool>,
    potential: Vec<i64>,
    parent: Vec<usize>,
    parent_arc: Vec<usize>,
    depth: Vec<usize>,
    children: Vec<Vec<usize>>,
}

impl Tree {
    fn new(nodes: usize, wishes: &[Wish], limits: &[Limit]) -> Self {
        let mut arcs = Vec::with_capacity(2 * wishes.len() + limits.len() + nodes);
        let arc = |from, to, capacity, cost| Arc { from, to, capacity, cost, flow: 0 };
        for w in wishes.iter().filter(|w| w.from != w.to && w.weight > 0) {
            arcs.push(arc(w.from, w.to, w.weight, -w.distance));
            arcs.push(arc(w.to, w.from, w.weight, w.distance));
        }
        arcs.extend(limits.iter().map(|l| arc(l.from, l.to, UNBOUNDED, -l.least)));
        let (real_arcs, root) = (arcs.len(), nodes);
        arcs.extend((0..nodes).map(|node| arc(node, root, UNBOUNDED, ROOT_COST)));
        let mut in_tree = vec![false; arcs.len()];
        in_tree[real_arcs..].fill(true);
        let mut potential = vec![-ROOT_COST; nodes];
        potential.push(0);
        let mut depth = vec![1; nodes];
        depth.push(0);
        let mut children = vec![Vec::new(); nodes];
        children.push((0..nodes).collect());
        Self {
            in_tree,
            real_arcs,
            potential,
            parent: vec![root; nodes + 1],
            parent_arc: (real_arcs..real_arcs + nodes).chain([usize::MAX]).collect(),
            depth,
            children,
            arcs,
        }
    }

    fn reduced_cost(&self, arc: &Arc) -> i64 {
        arc.cost + self.potential[arc.from] - self.potential[arc.to]
    }

    /// Pivots until no arc can lower the cost.
    fn optimise(&mut self) {
        let block = ((self.real_arcs as f64).sqrt() as usize).max(16);
        let mut next = 0;
        while let Some(entering) = self.entering(&mut next, block) {
            self.pivot(entering);
        }
    }

    /// The worst arc of the first block that has one, searching on from where the last search ended.
    fn entering(&self, next: &mut usize, block: usize) -> Option<usize> {
        let (mut best, mut worst) = (0, None);
        let mut left_in_block = block;
        for _ in 0..self.real_arcs {
            let index = *next;
            *next = if index + 1 == self.real_arcs { 0 } else { index + 1 };
            if !self.in_tree[index] {
                let arc = &self.arcs[index];
                let cost = self.reduced_cost(arc);
                let gain = if arc.flow == 0 { -cost } else { cost };
                if gain > best {
                    (best, worst) = (gain, Some(index));
                }
            }
            left_in_block -= 1;
            if left_in_block == 0 {
                if worst.is_some() {
                    break;
                }
                left_in_block = block;
            }
        }
        worst
    }

    /// Sends as much flow as fits around the cycle that the entering arc closes, and exchanges it for the arc that
    /// blocks: the last one met when walking the cycle from its apex in the direction of the flow, which keeps the tree
    /// strongly feasible and so rules out endless exchanges without gain.
    fn pivot(&mut self, entering: usize) {
        let arc = self.arcs[entering];
        let (first, second) = if arc.flow == 0 { (arc.from, arc.to) } else { (arc.to, arc.from) };
        let apex = self.apex(first, second);
        let (mut most, mut leaving) = (arc.capacity, None);
        let mut node = first;
        while node != apex {
            let room = self.room(node, false);
            if room < most {
                (most, leaving) = (room, Some((node, first, second)));
            }
            node = self.parent[node];
        }
        node = second;
        while node != apex {
            let room = self.room(node, true);
            if room <= most {
                (most, leaving) = (room, Some((node, second, first)));
            }
            node = self.parent[node];
        }
        if most > 0 {
            self.arcs[entering].flow += if arc.flow == 0 { most } else { -most };
            self.push(first, apex, most, false);
            self.push(second, apex, most, true);
        }
        if let Some((cut, hang, under)) = leaving {
            self.exchange(entering, cut, hang, under);
        }
    }

    fn apex(&self, mut a: usize, mut b: usize) -> usize {
        while a != b {
            if self.depth[a] >= self.depth[b] {
                a = self.parent[a];
            } else {
                b = self.parent[b];
            }
        }
        a
    }

    /// How much more flow fits between a node and its parent, towards the parent or from it.
    fn room(&self, node: usize, upward: bool) -> i64 {
        let arc = &self.arcs[self.parent_arc[node]];
        if (arc.from == node) != upward {
            arc.flow
        } else if arc.capacity == UNBOUNDED {
            UNBOUNDED
        } else {
            arc.capacity - arc.flow
        }
    }

    fn push(&mut self, mut node: usize, apex: usize, amount: i64, upward: bool) {
        while node != apex {
            let arc = &mut self.arcs[self.parent_arc[node]];
            arc.flow += if (arc.from == node) == upward { amount } else { -amount };
            node = self.parent[node];
        }
    }

    /// Cuts the tree above `cut` and hangs the loose part by its node `hang` under `under`, on the entering arc.
    fn exchange(&mut self, entering: usize, cut: usize, hang: usize, under: usize) {
        self.in_tree[self.parent_arc[cut]] = false;
        self.in_tree[entering] = true;
        let (mut node, mut new_parent, mut new_arc) = (hang, under, entering);
        loop {
            let (old_parent, old_arc) = (self.parent[node], self.parent_arc[node]);
            self.children[old_parent].retain(|&child| child != node);
            self.children[new_parent].push(node);
            self.parent[node] = new_parent;
            self.parent_arc[node] = new_arc;
            if node == cut {
                break;
            }
            (node, new_parent, new_arc) = (old_parent, node, old_arc);
        }
        let arc = self.arcs[entering];
        let excess = self.reduced_cost(&arc);
        let shift = if arc.from == hang { -excess } else { excess };
        let mut loose = vec![hang];
        while let Some(node) = loose.pop() {
            self.potential[node] += shift;
            self.depth[node] = self.depth[self.parent[node]] + 1;
            loose.extend_from_slice(&self.children[node]);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn price(y: &[i64], wishes: &[Wish]) -> i64 {
        wishes.iter().map(|w| w.weight * (y[w.to] - y[w.from] - w.distance).abs()).sum()
    }

    #[test]
    fn a_stack_moves_to_where_most_of_it_is_wished() {
        // Three boxes at least 4 apart below the top; two of them wish for 10, the last for 11.
        let limits = [(0, 1, 0), (1, 2, 4), (2, 3, 4)].map(|(from, to, least)| Limit { from, to, least });
        let wishes = [(0, 1, 10, 1), (0, 2, 10, 5), (0, 3, 11, 1)].map(|(from, to, distance, weight)| Wish {
            from,
            to,
            distance,
            weight,
        });
        let y = heights(4, &wishes, &limits);
        assert_eq!(y[2], 10);
        assert_eq!(y[1], 6);
        assert_eq!(y[3], 14);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// Against trying all heights from 0 to 7 of four nodes.
        #[test]
        fn no_other_heights_are_cheaper(
            wants in prop::collection::vec((0usize..5, 0usize..5, -3i64..6, 1i64..4), 1..9),
            chain in prop::collection::vec(0i64..3, 3),
        ) {
            let mut wishes: Vec<Wish> = wants
                .into_iter()
                .map(|(from, to, distance, weight)| Wish { from, to, distance, weight })
                .collect();
            wishes.extend((1..5).map(|to| Wish { from: 0, to, distance: 0, weight: 1 }));
            let mut limits: Vec<Limit> =
                chain.iter().enumerate().map(|(i, &least)| Limit { from: i + 1, to: i + 2, least }).collect();
            limits.extend((1..5).map(|to| Limit { from: 0, to, least: 0 }));
            let y = heights(5, &wishes, &limits);
            prop_assert_eq!(y[0], 0);
            prop_assert!(limits.iter().all(|l| y[l.to] - y[l.from] >= l.least));
            let mut best = i64::MAX;
            for code in 0..8i64.pow(4) {
                let other = [0, code % 8, code / 8 % 8, code / 64 % 8, code / 512];
                if limits.iter().all(|l| other[l.to] - other[l.from] >= l.least) {
                    best = best.min(price(&other, &wishes));
                }
            }
            prop_assert!(price(&y, &wishes) <= best, "{y:?}: {} > {best}", price(&y, &wishes));
        }
    }
}
