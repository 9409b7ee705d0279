//! How far loads of constant power let a zone's voltages move.
//!
//! **Falling lemma.** Let a zone be solved with its terminals in the middle of the trunk's levels, and let `moves` be
//! how far the voltage between two nodes changes at most by the corollary of the zone lemma (`ends.rs`), which counts
//! laws that rise. Let every load of constant power be connected to terminals by conductors of `R` ohms, feed and
//! ground together, and let its current fall by at most `s` amperes for each volt. If κ = Σ R·s is at most ½, the
//! voltage between two nodes is off by at most `moves` / (1 − κ).
//!
//! *Proof.* A load's current is that of a rising law less what has fallen. A current into its feed and out of its
//! ground, the terminals held, moves every node up by no more than the resistance from its feed to the terminals, and
//! down by no more than that from its ground: the node itself moves most, and other branches only lower its resistance
//! (Rayleigh's monotonicity law; Doyle and Snell 1984). So if every load's voltage is off by at most D, every voltage
//! is off by at most `moves` + κ·D. With D = 2·`moves` that is at most D again, so one solution lies within (Brouwer's
//! fixed point); for it, D ≤ `moves` + κ·D. ∎
//!
//! This takes no solution. Only loads surely above their lowest voltage count, where s = P / u² at the lowest voltage u
//! that is possible; loads surely below it draw by a rising law. Where a load is near its lowest voltage, is a
//! converter, or has an open contact in its path, the zone is solved at both ends instead.

use super::apart::Zone;
use circuit::{Circuit, Corner, Curve, LEAST_OHMS, Law, NEGATIVE, NodeId, curve};
use engine::{Network, Settler};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Highest κ for which the lemma is used.
const MOST_FALLING: f64 = 0.5;

/// The loads of constant power of a zone, at a corner.
pub(crate) struct FallingLoads {
    loads: Vec<FallingLoad>,
}

struct FallingLoad {
    branch: usize,
    /// Resistance from feed and ground to terminals together, and the branches that it depends on; `None` for
    /// converters and for loads that no conductors connect.
    path: Option<(f64, Vec<usize>)>,
}

impl FallingLoads {
    /// For a zone, whose circuit may have further conditions than the zone's own.
    pub(crate) fn new(zone: &Zone, circuit: &Circuit, corner: Corner) -> FallingLoads {
        let own = &zone.circuit.branches[..zone.branches.len()];
        let is_load = |k: &usize| matches!(own[*k].law, Law::Power { .. } | Law::Drawn { .. });
        let branches: Vec<usize> = (0..own.len()).filter(is_load).collect();
        if branches.is_empty() {
            return FallingLoads { loads: vec![] };
        }
        let paths = Paths::new(zone, circuit, corner);
        let loads = branches.into_iter().map(|branch| {
            let [from, to] = [own[branch].from, own[branch].to].map(|node| paths.of(node));
            let path = match (&own[branch].law, from, to) {
                (Law::Power { .. }, Some((feed, mut through)), Some((ground, others))) => {
                    through.extend(others);
                    Some((feed + ground, through))
                }
                _ => None,
            };
            FallingLoad { branch, path }
        });
        FallingLoads { loads: loads.collect() }
    }

    /// How far the voltage between two nodes may be from what it is in `middle`, which has solved the zone, by the
    /// lemma; `moves` are the corollary's volts. `None` if it isn't known without solving both ends.
    pub(crate) fn most_off(&self, middle: &mut Settler, moves: f64) -> Option<f64> {
        let mut worst = Some(moves);
        middle.each_network(&mut |network| {
            worst = worst.and_then(|worst| Some(worst.max(self.most_off_in(network, moves)?)));
        });
        worst
    }

    fn most_off_in(&self, middle: &Network, moves: f64) -> Option<f64> {
        let most = moves / (1.0 - MOST_FALLING);
        let mut falling = 0.0;
        for load in self.loads.iter().filter(|load| middle.is_there(load.branch)) {
            let Curve::Power { watts, least, output, .. } = middle.curve(load.branch) else { continue };
            let volts = middle.across(load.branch);
            if output.is_none() && volts + most <= *least {
                continue;
            }
            let (ohms, through) = load.path.as_ref().filter(|_| volts - most > *least)?;
            if through.iter().any(|k| !middle.is_there(*k)) {
                return None;
            }
            falling += ohms * watts / (volts - most).powi(2);
        }
        (falling <= MOST_FALLING).then(|| moves / (1.0 - falling))
    }
}

/// Paths of least resistance through conductors from held nodes, the terminals and the battery's negative, to every
/// node (Dijkstra's shortest paths).
struct Paths {
    ohms: Vec<f64>,
    /// The node before, and the branch between.
    before: Vec<Option<(u32, usize)>>,
}

impl Paths {
    fn new(zone: &Zone, circuit: &Circuit, corner: Corner) -> Paths {
        let mut near: Vec<Vec<(u32, usize, f64)>> = vec![vec![]; circuit.nodes.len()];
        for (k, branch) in circuit.branches[..zone.branches.len()].iter().enumerate() {
            let is_conductor = matches!(branch.law, Law::Conductor { .. } | Law::Source { .. });
            if let (true, Curve::Straight { slope, .. }) = (is_conductor, curve(branch, circuit, corner)) {
                near[branch.from.index()].push((branch.to.0, k, 1.0 / slope));
                near[branch.to.index()].push((branch.from.0, k, 1.0 / slope));
            }
        }
        let mut paths = Paths { ohms: vec![f64::INFINITY; near.len()], before: vec![None; near.len()] };
        // Positive numbers order as their bits do.
        let mut waiting = BinaryHeap::new();
        let held = zone.terminals.iter().map(|(node, _)| (*node, LEAST_OHMS.value())).chain([(NEGATIVE, 0.0)]);
        for (node, ohms) in held {
            paths.ohms[node.index()] = ohms;
            waiting.push((Reverse(ohms.to_bits()), node.0));
        }
        while let Some((Reverse(bits), node)) = waiting.pop() {
            let here = f64::from_bits(bits);
            if here > paths.ohms[node as usize] {
                continue;
            }
            for (other, branch, ohms) in &near[node as usize] {
                let there = here + ohms;
                if there < paths.ohms[*other as usize] {
                    paths.ohms[*other as usize] = there;
                    paths.before[*other as usize] = Some((node, *branch));
                    waiting.push((Reverse(there.to_bits()), *other));
                }
            }
        }
        paths
    }

    /// The resistance to a node and the branches of its path; `None` if no conductors lead to it.
    fn of(&self, node: NodeId) -> Option<(f64, Vec<usize>)> {
        let ohms = Some(self.ohms[node.index()]).filter(|ohms| ohms.is_finite())?;
        let (mut through, mut at) = (vec![], node.index());
        while let Some((before, branch)) = self.before[at] {
            through.push(branch);
            at = before as usize;
        }
        Some((ohms, through))
    }
}
