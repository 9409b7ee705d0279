//! Wires on the wrong feed: the right one is an input that has no wire.

use super::regions::Regions;
use crate::{Finding, Repair, Severity, Waypoint};
use facts::Facts;
use facts::walk::Towards;
use model::{Domain, Model, PartKind, PinId, PinRole, WireId};
use std::collections::BTreeSet;

/// Rules about what comes on at the wrong time.
const WRONG_TIME: [&str; 3] = ["logic/works-differs", "logic/standard-pin", "logic/view-differs"];

/// Most wires that are tried.
const MOST: usize = 24;

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

    /// Whether a finding that stays speaks against the move: a view or a promise near the wire that is still broken.
    pub fn must_go(self, facts: &Facts, finding: &Finding, regions: &Regions) -> bool {
        let part = |pin: PinId| facts.model.pin(pin).part;
        let is_near = || facts.model.wire(self.wire).ends.into_iter().any(|pin| regions.may_reach(finding, part(pin)));
        finding.severity == Severity::Error && is_near()
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
    // Then a wire on the wrong one of two inputs, which may be on no path.
    let on_vehicle = |wire: &WireId| model.wire(*wire).ends.into_iter().any(is_vehicles);
    let rest = model.wire_ids().filter(on_vehicle);
    let mut all: Vec<OnWrongFeed> = Vec::new();
    let of_triggers = trigger_wires(facts, open).into_iter();
    let of_vehicle = first.into_iter().chain(others).chain(rest).filter_map(|wire| {
        let from = model.wire(wire).ends.into_iter().find(|end| is_vehicles(*end))?;
        Some((wire, from))
    });
    for (wire, from) in of_triggers.chain(of_vehicle) {
        let new = unused.iter().map(|to| OnWrongFeed { wire, from, to: *to });
        let new: Vec<OnWrongFeed> = new.filter(|one| !all.contains(one)).collect();
        all.extend(new);
    }
    all.truncate(MOST);
    all
}

/// The wires on the triggers that turn the wrong picture on, each with its far end.
pub fn trigger_wires(facts: &Facts, open: &[Finding]) -> Vec<(WireId, PinId)> {
    let model = facts.model;
    let views = open.iter().filter(|finding| finding.rule == "logic/view-differs");
    let on: BTreeSet<PinId> = views.flat_map(|finding| finding.involved.triggers.clone()).collect();
    let wires = model.wire_ids().filter_map(|wire| {
        let ends = model.wire(wire).ends;
        let near = ends.iter().position(|end| on.contains(end))?;
        Some((wire, ends[1 - near]))
    });
    wires.collect()
}

/// Picture cables on the wrong input of a screen, where another input of the screen has no picture.
pub fn on_wrong_inputs(facts: &Facts, open: &[Finding]) -> Vec<OnWrongFeed> {
    let model = facts.model;
    let is_input = |pin: &PinId| model.pin(*pin).domain == Domain::Video && model.pin(*pin).role == PinRole::Input;
    let mut all = Vec::new();
    for finding in open.iter().filter(|finding| finding.rule == "logic/screen-input-empty") {
        let name = finding.about.strip_prefix("screen ").unwrap_or_default();
        let Some(screen) = model.screens.iter().find(|screen| screen.name.as_str() == name) else { continue };
        let pins: Vec<PinId> = model.part(screen.part).pins.iter().copied().filter(is_input).collect();
        let empty = pins.iter().filter(|pin| !facts.connectivity().is_joined(**pin));
        for to in empty {
            let cables =
                pins.iter().flat_map(|from| facts.connectivity().wires_on(*from).iter().map(|wire| (*wire, *from)));
            all.extend(cables.map(|(wire, from)| OnWrongFeed { wire, from, to: *to }));
        }
    }
    all.truncate(MOST);
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
