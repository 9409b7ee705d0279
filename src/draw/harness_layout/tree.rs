//! The runs as a tree: the longest way through the harness is its trunk, everything else branches off.

use model::{Model, PlaceId, RunId, bundle};
use petgraph::unionfind::UnionFind;

/// A place of the tree, with the branches that leave it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Limb {
    /// The places along it, the first being where it leaves the limb before it.
    pub places: Vec<PlaceId>,
    /// The runs between them, one fewer.
    pub runs: Vec<RunId>,
    /// Limbs that leave it, each with the index of its first place in `places`.
    pub branches: Vec<(usize, Limb)>,
}

/// The trees of a harness, the longest first, and the runs that would close a ring.
pub(super) struct Forest {
    pub trunks: Vec<Limb>,
    pub rings: Vec<RunId>,
}

/// Grows the trees. Where runs form a ring, the one with the fewest wires is left out and reported.
pub(super) fn grow(model: &Model) -> Forest {
    let mut order: Vec<RunId> = (0..model.runs.len()).map(RunId).collect();
    order.sort_by_key(|run| (usize::MAX - bundle::wires_in(model, *run).len(), *run));
    let mut joined = UnionFind::<usize>::new(model.places.len());
    let (mut kept, mut rings) = (Vec::new(), Vec::new());
    for run in order {
        let [a, b] = model.runs[run.0].ends;
        if joined.union(a.0, b.0) { kept.push(run) } else { rings.push(run) }
    }
    kept.sort();
    rings.sort();
    let mut used = vec![false; model.runs.len()];
    let mut trunks = Vec::new();
    let mut seen = vec![false; model.places.len()];
    for start in (0..model.places.len()).map(PlaceId) {
        if seen[start.0] {
            continue;
        }
        // From any place to the farthest, and from there to the farthest: the longest way of its tree.
        let far = farthest(model, &kept, &used, start, None);
        let end = far.places[far.places.len() - 1];
        let mut trunk = farthest(model, &kept, &used, end, None);
        branch(model, &kept, &mut used, &mut trunk, None);
        mark(&trunk, &mut seen);
        if trunk.places.len() > 1 {
            trunks.push(trunk);
        }
    }
    trunks.sort_by(|a, b| length(model, b).total_cmp(&length(model, a)));
    Forest { trunks, rings }
}

fn mark(limb: &Limb, seen: &mut [bool]) {
    limb.places.iter().for_each(|p| seen[p.0] = true);
    limb.branches.iter().for_each(|(_, b)| mark(b, seen));
}

/// Length of a limb without its branches, metres.
pub(super) fn length(model: &Model, limb: &Limb) -> f64 {
    limb.runs.iter().map(|r| model.runs[r.0].length.value()).sum()
}

/// The longest way from a place over unused runs; `not` is a run that it may not start with.
fn farthest(model: &Model, kept: &[RunId], used: &[bool], from: PlaceId, not: Option<RunId>) -> Limb {
    let mut best = Limb { places: vec![from], runs: Vec::new(), branches: Vec::new() };
    let mut stack = vec![best.clone()];
    while let Some(way) = stack.pop() {
        if length(model, &way) > length(model, &best) + 1e-9 {
            best = way.clone();
        }
        let at = way.places[way.places.len() - 1];
        for run in kept.iter().rev().copied() {
            let ends = model.runs[run.0].ends;
            let first = way.runs.is_empty() && Some(run) == not;
            if used[run.0] || way.runs.contains(&run) || first || !ends.contains(&at) {
                continue;
            }
            let mut more = way.clone();
            more.places.push(if ends[0] == at { ends[1] } else { ends[0] });
            more.runs.push(run);
            stack.push(more);
        }
    }
    best
}

/// Lets branches grow from each place of a limb, the longest first, until no run is left.
fn branch(model: &Model, kept: &[RunId], used: &mut [bool], limb: &mut Limb, from: Option<RunId>) {
    limb.runs.iter().for_each(|r| used[r.0] = true);
    for index in 0..limb.places.len() {
        loop {
            let mut next = farthest(model, kept, used, limb.places[index], from);
            if next.runs.is_empty() {
                break;
            }
            branch(model, kept, used, &mut next, None);
            limb.branches.push((index, next));
        }
    }
}
