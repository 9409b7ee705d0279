//! A network of a changed circuit.

use super::Network;
use crate::linear::AddedLink;
use circuit::{Circuit, Curve, NodeId, Variant};

impl Network {
    /// Replaces the curves that a variant changes, and returns the branches that it or the variant before changes.
    pub(crate) fn set_curves(&mut self, circuit: &Circuit, variant: &Variant, before: &Variant) -> Vec<usize> {
        let mut changed = before.branches();
        changed.extend(variant.branches());
        self.unchanged.drain(..).for_each(|(k, curve)| self.curves[k] = curve);
        for id in &changed {
            let k = id.index();
            if !self.unchanged.iter().any(|(there, _)| *there == k) {
                let curve = variant.curve(*id, &circuit.branches[k].law, self.curves[k].clone());
                self.unchanged.push((k, std::mem::replace(&mut self.curves[k], curve)));
            }
        }
        let plan = self.linear.plan();
        let column = |node: NodeId| plan.column_of[node.index()].min(plan.columns as u32);
        let links = variant.links();
        let links = links.map(|(from, to, ohms)| AddedLink { from: column(from), to: column(to), ohms: ohms.value() });
        self.linear.set_links(links.collect());
        self.stale = true;
        changed.into_iter().map(|id| id.index()).collect()
    }

    /// Takes up a branch whose curve or presence a variant has changed.
    pub(crate) fn take_up(&mut self, k: usize, there: bool) {
        if let (Some(at), Curve::Pieces(pieces)) = (self.place_of(k), &self.curves[k]) {
            let piece = self.curved[at].piece().min(pieces.len() - 1);
            self.put(at, piece);
        }
        self.set_there(k, there);
        self.set_line(k, self.piece_of(k));
    }
}
