//! Wires on the wrong feed: the right one is an input that has no wire.

use crate::{Finding, Repair, Waypoint};
use facts::Facts;
use facts::walk::Towards;
use model::{Model, PartKind, PinId, WireId};
use std::collections::BTreeSet;

/// Rules about what comes on at the wrong time.
const WRONG_TIME: [&str; 3] = ["logic/works-differs", "logic/standard-pin", "logic/view-differs"];

/// A wire that may belong on another pin of the vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OnWrongFeed {
    /// The wire.
    pub wire: WireId,
    /// The pin of the vehicle that it is on.
    pub from: PinId,
    /// The pin of an unused input.
    pub to: PinId,
}

impl OnWrongFeed {
    pub fn repair(&self) -> Repair {
        Repair::Moved(self.wire, self.from, self.to)
    }

    /// Whether a finding counts: something that comes on at the wrong time.
    pub fn counts(finding: &Finding) -> bool {
        WRONG_TIME.contains(&finding.rule)
    }
}

/// The wires on the vehicle's pins that decide over a current at the wrong time, or from which it begins, each with each
/// input without a wire.
pub fn on_wrong_feeds(facts: &Facts, open: &[Finding]) -> Vec<OnWrongFeed> {
    let model = facts.model;
    let unused = unused_inputs(model, open);
    if unused.is_empty() {
        return Vec::new();
    }
    let at_wrong_time = open.iter().filter(|finding| OnWrongFeed::counts(finding));
    let points: Vec<&Waypoint> = at_wrong_time.flat_map(|finding| &finding.evidence.path).collect();
    let passes = |name: &str| points.iter().any(|point| point.through.as_deref() == Some(name));
    let is_vehicles = |pin: PinId| matches!(model.part(model.pin(pin).part).kind, PartKind::Supply | PartKind::Feed);
    // What feeds the coil of a relay on the path decides when it is on.
    let coils = model.coils().filter(|(id, _)| passes(model.part(model.element(*id).part).name.as_str()));
    let control: BTreeSet<PinId> =
        coils.flat_map(|(_, coil)| facts.connectivity().reached(coil.feed, Towards::Supply)).collect();
    let controls = |wire: WireId| model.wire(wire).ends.iter().all(|end| control.contains(end));
    let on_path = |wire: WireId| passes(&facts.names().wire(wire));
    let (first, others): (Vec<WireId>, Vec<WireId>) =
        model.wire_ids().filter(|wire| controls(*wire) || on_path(*wire)).partition(|wire| controls(*wire));
    let mut all = Vec::new();
    for wire in first.into_iter().chain(others) {
        let Some(from) = model.wire(wire).ends.into_iter().find(|end| is_vehicles(*end)) else { continue };
        all.extend(unused.iter().map(|to| OnWrongFeed { wire, from, to: *to }));
    }
    all
}

/// The pins of the inputs without a wire.
pub fn unused_inputs(model: &Model, open: &[Finding]) -> Vec<PinId> {
    let unused = open.iter().filter(|finding| finding.rule == "logic/input-unused");
    unused.filter_map(|finding| input_pin(model, &finding.about)).collect()
}

fn input_pin(model: &Model, name: &str) -> Option<PinId> {
    model.inputs.iter().find(|input| input.name.as_str() == name)?.pin
}
