//! Regions: parts that current joins, apart at the vehicle's supplies, feeds and grounds. Two faults in different regions
//! have nothing to do with each other, as long as no supply breaks down.

use crate::Finding;
use model::{Model, PartId, PartKind};
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, BTreeSet};

/// The regions of a harness.
pub struct Regions {
    /// The regions of each name that findings use: `K1`, `wire 7`, `screen dash`.
    of_name: BTreeMap<String, BTreeSet<usize>>,
    of_part: Vec<BTreeSet<usize>>,
}

impl Regions {
    pub fn new(model: &Model) -> Regions {
        let divides =
            |part: PartId| matches!(model.part(part).kind, PartKind::Supply | PartKind::Feed | PartKind::Ground);
        // Wires that meet on a pin of the vehicle stay apart, so each joins what is on its other end only.
        let mut inner: UnionFind<usize> = UnionFind::new(model.pins.len());
        let links = model.wires.iter().map(|wire| wire.ends).chain(model.joints.iter().map(|joint| joint.pins));
        let is_inner = |ends: &[model::PinId; 2]| !ends.iter().any(|pin| divides(model.pin(*pin).part));
        links.filter(is_inner).for_each(|[a, b]| {
            inner.union(a.0, b.0);
        });
        for id in model.part_ids().filter(|id| !divides(*id)) {
            model.part(id).pins.windows(2).for_each(|pair| {
                inner.union(pair[0].0, pair[1].0);
            });
        }
        let mut of_part: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); model.parts.len()];
        for id in model.part_ids().filter(|id| !divides(*id)) {
            of_part[id.0].extend(model.part(id).pins.iter().map(|pin| inner.find(pin.0)));
        }
        let mut of_name = BTreeMap::new();
        for wire in &model.wires {
            let ends = wire.ends.map(|pin| model.pin(pin).part);
            let regions: BTreeSet<usize> = ends.iter().flat_map(|part| of_part[part.0].clone()).collect();
            ends.iter().filter(|part| divides(**part)).for_each(|part| of_part[part.0].extend(&regions));
            of_name.insert(format!("wire {}", wire.id), regions);
        }
        for id in model.part_ids() {
            of_name.insert(model.part(id).name.to_string(), of_part[id.0].clone());
        }
        for screen in &model.screens {
            of_name.insert(format!("screen {}", screen.name), of_part[screen.part.0].clone());
        }
        Regions { of_name, of_part }
    }

    /// Whether a fault of a part may cause a finding. A finding about something in no region, such as a drive, may have any
    /// cause.
    pub fn may_reach(&self, finding: &Finding, part: PartId) -> bool {
        let name = finding.about.as_str();
        let named = |name: &str| self.of_name.get(name).or_else(|| self.of_name.get(name.split_once('.')?.0));
        let is_ours = |regions: &BTreeSet<usize>| !regions.is_disjoint(&self.of_part[part.0]);
        let on_path = finding.evidence.path.iter().filter_map(|point| named(&point.pin));
        named(name).is_none_or(is_ours) || on_path.into_iter().any(is_ours)
    }
}
