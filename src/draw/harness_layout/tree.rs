//! The runs as a tree: the longest way through the harness is its trunk, everything else branches off.

use super::sides;
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
        let far = farthest(model, &kept, &used, start);
        let end = far.places[far.places.len() - 1];
        let mut trunk = ahead(model, &kept, &used, farthest(model, &kept, &used, end));
        branch(model, &kept, &mut used, &mut trunk, 0);
        mark(&trunk, &mut seen);
        if trunk.places.len() > 1 {
            trunks.push(trunk);
        }
    }
    trunks.sort_by(|a, b| length(model, b).total_cmp(&length(model, a)));
    Forest { trunks, rings }
}

/// A trunk from the rear to the front as far as its places tell. Ends that lead to one side of the vehicle branch off; it
/// goes on by the longest other way.
fn ahead(model: &Model, kept: &[RunId], used: &[bool], mut trunk: Limb) -> Limb {
    let aside = |place: &PlaceId| sides::of_text(model.places[place.0].as_str()).is_some();
    for _ in 0..2 {
        let before = trunk.places.len();
        while trunk.places.len() > 2 && trunk.places.last().is_some_and(aside) {
            trunk.places.pop();
            trunk.runs.pop();
        }
        if trunk.places.len() < before {
            let mut closed = used.to_vec();
            let ends_aside = |run: &&RunId| model.runs[run.0].ends.iter().any(aside);
            kept.iter().filter(ends_aside).chain(&trunk.runs).for_each(|run| closed[run.0] = true);
            let more = farthest(model, kept, &closed, trunk.places[trunk.places.len() - 1]);
            trunk.places.extend(&more.places[1..]);
            trunk.runs.extend(more.runs);
        }
        trunk.places.reverse();
        trunk.runs.reverse();
    }
    if sides::to_the_rear(model, &trunk.places) == Some(true) {
        trunk.places.reverse();
        trunk.runs.reverse();
    }
    trunk
}

fn mark(limb: &Limb, seen: &mut [bool]) {
    limb.places.iter().for_each(|p| seen[p.0] = true);
    limb.branches.iter().for_each(|(_, b)| mark(b, seen));
}

/// Length of a limb without its branches, metres.
pub(super) fn length(model: &Model, limb: &Limb) -> f64 {
    limb.runs.iter().map(|r| model.runs[r.0].length.value()).sum()
}

/// The longest way from a place over unused runs.
fn farthest(model: &Model, kept: &[RunId], used: &[bool], from: PlaceId) -> Limb {
    let mut best = Limb { places: vec![from], runs: Vec::new(), branches: Vec::new() };
    let mut stack = vec![best.clone()];
    while let Some(way) = stack.pop() {
        if length(model, &way) > length(model, &best) + 1e-9 {
            best = way.clone();
        }
        let at = way.places[way.places.len() - 1];
        for run in kept.iter().rev().copied() {
            let ends = model.runs[run.0].ends;
            if used[run.0] || way.runs.contains(&run) || !ends.contains(&at) {
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

/// Lets branches grow from each place of a limb after the first ones, the longest first, until no run is left.
fn branch(model: &Model, kept: &[RunId], used: &mut [bool], limb: &mut Limb, first: usize) {
    limb.runs.iter().for_each(|r| used[r.0] = true);
    for index in first..limb.places.len() {
        loop {
            let mut next = farthest(model, kept, used, limb.places[index]);
            if next.runs.is_empty() {
                break;
            }
            // What else leaves its first place leaves this limb.
            branch(model, kept, used, &mut next, 1);
            limb.branches.push((index, next));
        }
    }
}
