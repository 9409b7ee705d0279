//! The order in which nodes are eliminated, and where everything then goes. Made once for a circuit, used at every corner.

use super::circuit::{Circuit, Law, Logic, Rule, place_in};

/// The battery's negative in place of a column.
pub(super) const NONE: u32 = u32::MAX;

/// Lists of different lengths in one.
#[derive(Debug, Clone, Default)]
pub(super) struct Lists<T> {
    starts: Vec<u32>,
    items: Vec<T>,
}

impl<T: Copy> Lists<T> {
    /// From (list, item) pairs; items keep their order within a list.
    pub(super) fn new(count: usize, pairs: &[(u32, T)]) -> Self {
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
    pub(super) fn of(&self, list: usize) -> &[T] {
        &self.items[self.starts[list] as usize..self.starts[list + 1] as usize]
    }
}

/// Elimination order and fill of a circuit's conductance matrix.
///
/// Node by node a star is turned into the mesh between its neighbours. The first `fixed` columns are nodes that no branch
/// which switches or bends touches; they are eliminated once per corner. The others are redone from a changed column
/// along its path in the elimination tree: a column's parent is the first of its rows (Liu 1990, on elimination trees).
#[derive(Debug, Clone)]
pub(super) struct Plan {
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
    /// Slots by their row, those in changing columns only: (column, slot).
    pub incoming: Lists<(u32, u32)>,
    /// For each slot the pairs of slots, of one changing column each, whose product it receives.
    pub products: Lists<(u32, u32)>,
    /// Words of a set of changing columns.
    pub words: usize,
    /// For each changing column the set of columns on its path.
    pub paths: Vec<u64>,
}

/// Whether a branch may change from state to state.
pub(super) fn changes(circuit: &Circuit, branch: usize) -> bool {
    let branch = &circuit.branches[branch];
    let straight = matches!(branch.law, Law::Conductor { .. } | Law::Source { .. } | Law::Pulsed { .. });
    !straight || branch.when != Logic::Always
}

impl Plan {
    /// Chooses the order by least degree, then by least depth so that paths are short.
    pub(super) fn new(circuit: &Circuit) -> Plan {
        let nodes = circuit.nodes.len();
        let mut changing = vec![false; nodes];
        let mut near: Vec<Vec<u32>> = vec![vec![]; nodes];
        for (k, branch) in circuit.branches.iter().enumerate() {
            let (a, b) = (branch.from.0, branch.to.0);
            if changes(circuit, k) {
                changing[a as usize] = true;
                changing[b as usize] = true;
            }
            if a != b && a != 0 && b != 0 && !near[a as usize].contains(&b) {
                near[a as usize].push(b);
                near[b as usize].push(a);
            }
        }
        for actor in &circuit.actors {
            if let Rule::Threshold { plus, minus, .. } = actor.rule {
                changing[plus.index()] = true;
                changing[minus.index()] = true;
            }
        }
        let (order, fixed, rows_by_node) = eliminate(near, &changing);
        Plan::lay_out(nodes, &order, fixed, &rows_by_node)
    }

    fn lay_out(nodes: usize, order: &[u32], fixed: usize, rows_by_node: &[Vec<u32>]) -> Plan {
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
        let slots = |column: usize| starts[column]..starts[column + 1];
        let rows_of = |column: u32| &rows[starts[column as usize] as usize..starts[column as usize + 1] as usize];
        let mut incoming = vec![];
        let mut products = vec![];
        for column in fixed..columns {
            for slot in slots(column) {
                incoming.push((rows[slot as usize], (column as u32, slot)));
                for other in slot + 1..starts[column + 1] {
                    let (row, into) = (rows[slot as usize], rows[other as usize]);
                    // Eliminating the column has joined all of its rows.
                    let target = starts[row as usize] as usize + place_in(rows_of(row), &into);
                    products.push((target as u32, (slot, other)));
                }
            }
        }
        let words = (columns - fixed).div_ceil(64);
        let mut paths = vec![0u64; (columns - fixed) * words];
        for column in (fixed..columns).rev() {
            let at = column - fixed;
            if let Some(parent) = slots(column).next().map(|slot| rows[slot as usize] as usize - fixed) {
                let (head, tail) = paths.split_at_mut((at + 1) * words);
                let from = (parent - at - 1) * words;
                head[at * words..].copy_from_slice(&tail[from..from + words]);
            }
            paths[at * words + at / 64] |= 1 << (at % 64);
        }
        Plan {
            columns,
            fixed,
            column_of,
            incoming: Lists::new(columns, &incoming),
            products: Lists::new(rows.len(), &products),
            starts,
            rows,
            words,
            paths,
        }
    }

    /// Slots of a column.
    pub(super) fn slots(&self, column: usize) -> std::ops::Range<usize> {
        self.starts[column] as usize..self.starts[column + 1] as usize
    }

    /// The slot of two columns, `NONE` if one is the battery's negative or they are the same.
    pub(super) fn slot(&self, a: u32, b: u32) -> u32 {
        if a == NONE || b == NONE || a == b {
            return NONE;
        }
        let (first, last) = (a.min(b), a.max(b));
        self.slots(first as usize).find(|slot| self.rows[*slot] == last).map_or(NONE, |slot| slot as u32)
    }

    /// The columns to redo when this one changes.
    pub(super) fn path(&self, column: u32) -> &[u64] {
        let at = (column as usize - self.fixed) * self.words;
        &self.paths[at..at + self.words]
    }
}

/// The nodes in elimination order, how many of them are fixed, and each node's neighbours at its elimination.
fn eliminate(mut near: Vec<Vec<u32>>, changing: &[bool]) -> (Vec<u32>, usize, Vec<Vec<u32>>) {
    let nodes = near.len();
    let mut left: Vec<u32> = (1..nodes as u32).collect();
    let mut depth = vec![0u32; nodes];
    let mut order = Vec::with_capacity(left.len());
    let mut mark = vec![0u32; nodes];
    let mut fixed = None;
    while !left.is_empty() {
        // A node with more than two neighbours would fill in, so it waits even if nothing on it changes.
        let waits = |node: u32| fixed.is_none() && (changing[node as usize] || near[node as usize].len() > 2);
        let key = |node: u32| (near[node as usize].len() as u64) << 32 | u64::from(depth[node as usize]);
        let best = (0..left.len()).filter(|i| !waits(left[*i])).min_by_key(|i| key(left[*i]));
        let Some(at) = best else {
            fixed = Some(order.len());
            continue;
        };
        let node = left.swap_remove(at);
        let neighbours = std::mem::take(&mut near[node as usize]);
        for &one in &neighbours {
            let i = one as usize;
            depth[i] = depth[i].max(depth[node as usize] + 1);
            let list = &mut near[i];
            list.retain(|other| *other != node);
            list.iter().for_each(|other| mark[*other as usize] = one);
            for &other in &neighbours {
                if other != one && mark[other as usize] != one {
                    list.push(other);
                }
            }
            // A mark of one round must not look like one of the next.
            list.iter().for_each(|other| mark[*other as usize] = 0);
        }
        near[node as usize] = neighbours;
        order.push(node);
    }
    let fixed = fixed.unwrap_or(order.len());
    (order, fixed, near)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::NEGATIVE;
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
        let plan = Plan::new(&circuit);
        assert_eq!((plan.columns, plan.fixed, plan.rows.len()), (6, 5, 5));
        assert_eq!(plan.column_of[nodes[5].index()], 5);
        assert_eq!(plan.paths, [1]);
    }
}
