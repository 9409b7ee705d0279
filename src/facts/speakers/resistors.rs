//! The resistance of a network of resistors between two of its nodes.

use quantity::Ohms;
use std::collections::{BTreeMap, BTreeSet};

/// A resistor between two nodes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Link {
    pub ends: [usize; 2],
    pub ohms: Ohms,
}

/// How many resistors lead from one node to another, and their resistance together; `None` if none does. Dead ends do not
/// count.
///
/// Each node between is removed by the star-mesh transformation: resistors from it to others become resistors among these, with
/// the conductance gᵢ·gⱼ/Σg (A. Rosen, A new network theorem, Journal of the IEE 62, 1924, 916-918: from memory).
pub(super) fn between(links: &[Link], from: usize, to: usize) -> Option<(usize, Ohms)> {
    let links = on_the_way(links, from, to);
    let mut mesh: BTreeMap<usize, BTreeMap<usize, f64>> = BTreeMap::new();
    let add = |mesh: &mut BTreeMap<usize, BTreeMap<usize, f64>>, [a, b]: [usize; 2], siemens: f64| {
        *mesh.entry(a).or_default().entry(b).or_default() += siemens;
        *mesh.entry(b).or_default().entry(a).or_default() += siemens;
    };
    for link in &links {
        add(&mut mesh, link.ends, 1.0 / link.ohms.value());
    }
    let inner: Vec<usize> = mesh.keys().copied().filter(|node| ![from, to].contains(node)).collect();
    for node in inner {
        let star: Vec<(usize, f64)> = mesh.remove(&node).into_iter().flatten().collect();
        let total: f64 = star.iter().map(|(_, siemens)| siemens).sum();
        for (i, (a, one)) in star.iter().enumerate() {
            mesh.entry(*a).or_default().remove(&node);
            for (b, other) in &star[i + 1..] {
                add(&mut mesh, [*a, *b], one * other / total);
            }
        }
    }
    let siemens = mesh.get(&from)?.get(&to)?;
    Some((links.len(), Ohms::new(1.0 / siemens)))
}

/// The links that are reached from a node without going through the other, without dead ends.
fn on_the_way(links: &[Link], from: usize, to: usize) -> Vec<Link> {
    let mut reached = BTreeSet::from([from]);
    while let Some(next) = links.iter().find_map(|link| {
        let [a, b] = link.ends.map(|end| end != to && reached.contains(&end));
        (a != b).then(|| link.ends[usize::from(a)]).filter(|end| *end != to && !reached.contains(end))
    }) {
        reached.insert(next);
    }
    let is_reached = |link: &&Link| link.ends[0] != link.ends[1] && link.ends.iter().any(|end| reached.contains(end));
    let mut left: Vec<Link> = links.iter().filter(is_reached).copied().collect();
    loop {
        let uses = |node: usize| left.iter().filter(|link| link.ends.contains(&node)).count();
        let is_through = |link: &&Link| link.ends.iter().all(|end| [from, to].contains(end) || uses(*end) > 1);
        let through: Vec<Link> = left.iter().filter(is_through).copied().collect();
        if through.len() == left.len() {
            return left;
        }
        left = through;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn link(a: usize, b: usize, ohms: f64) -> Link {
        Link { ends: [a, b], ohms: Ohms::new(ohms) }
    }

    fn assert_is(links: &[Link], count: usize, ohms: f64) {
        let (found, total) = between(links, 0, 1).unwrap();
        assert!(found == count && (total.value() - ohms).abs() < 1e-9, "{found} {total}");
    }

    /// By hand: parallel, in series, and a bridge that is not balanced (1, 2, 2, 1 and 1 Ω: 7/5 Ω).
    #[test]
    fn resistances_are_those_of_the_textbook() {
        assert_is(&[link(0, 1, 4.0), link(1, 0, 4.0)], 2, 2.0);
        assert_is(&[link(0, 2, 4.0), link(2, 1, 8.0)], 2, 12.0);
        assert_is(&[link(0, 2, 1.0), link(0, 3, 2.0), link(2, 1, 2.0), link(3, 1, 1.0), link(2, 3, 1.0)], 5, 1.4);
    }

    #[test]
    fn dead_ends_and_what_lies_beyond_the_far_node_do_not_count() {
        assert_is(&[link(0, 1, 4.0), link(0, 5, 4.0), link(1, 6, 4.0), link(7, 8, 4.0)], 1, 4.0);
        assert_eq!(between(&[link(0, 5, 4.0), link(0, 5, 4.0)], 0, 1), None);
        assert_eq!(between(&[link(0, 0, 4.0)], 0, 1), None);
    }

    /// Thirty resistors on a net that leads nowhere, and a chain of thirty pairs.
    #[test]
    fn many_resistors_take_no_longer() {
        let nowhere: Vec<Link> = (0..30).map(|_| link(0, 2, 4.0)).collect();
        assert_eq!(between(&nowhere, 0, 1), None);
        let node = |at: usize| {
            if at == 30 {
                1
            } else if at == 0 {
                0
            } else {
                at + 1
            }
        };
        let chain: Vec<Link> = (0..30).flat_map(|at| [link(node(at), node(at + 1), 4.0); 2]).collect();
        assert_is(&chain, 60, 60.0);
    }
}
