//! Missing diodes: wires that are joined so that each feeds what the others switch.

use crate::{Finding, Repair, rules};
use facts::Facts;
use model::{Model, PartKind, PinId, WireId};
use std::collections::{BTreeMap, BTreeSet};

/// Rules that report a supply or a wire of the vehicle that the harness feeds.
const FED_BACK: [&str; 3] = ["logic/sneak-input", "logic/sneak-supply", "logic/lamp-glows"];

/// A repair has to explain at least this many findings. One alone gives its own advice.
pub const LEAST: usize = 2;

/// Whether a finding is about something that the harness feeds back into the vehicle.
pub fn is_fed_back(finding: &&Finding) -> bool {
    finding.follows_from.is_none() && FED_BACK.contains(&finding.rule)
}

/// Where diodes may be missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Junction {
    /// In each of these wires, which meet on a pin.
    Meeting(PinId, Vec<WireId>),
    /// In each of these supplies or wires of the vehicle.
    Vehicle(Vec<PinId>),
}

impl Junction {
    pub fn repair(&self) -> Repair {
        match self {
            Junction::Meeting(pin, wires) => Repair::DiodesTo(*pin, wires.clone()),
            Junction::Vehicle(pins) => Repair::Diodes(pins.clone()),
        }
    }
}

/// The index of the finding that names the missing diodes: a new one, or the only one about the supply or wire itself.
pub fn root(facts: &Facts, findings: &mut Vec<Finding>, place: &Junction) -> usize {
    let shown_by = findings.iter().position(|finding| is_fed_back(&finding)).unwrap_or_default();
    let root = match place {
        Junction::Meeting(pin, wires) => rules::diode_missing_at(facts, *pin, wires, &findings[shown_by]),
        Junction::Vehicle(pins) if pins.len() == 1 => {
            let name = facts.model.pin_name(pins[0]);
            let own = |finding: &Finding| is_fed_back(&finding) && finding.about == name;
            return findings.iter().position(own).unwrap_or(shown_by);
        }
        Junction::Vehicle(pins) => rules::diode_missing(facts, pins, &findings[shown_by]),
    };
    findings.push(root);
    findings.len() - 1
}

/// The places to try: pins on the paths of most findings first, the vehicle's wires last.
pub fn places(facts: &Facts, open: &[Finding]) -> Vec<Junction> {
    let mut meetings: Vec<(PinId, Vec<[WireId; 2]>)> =
        meetings(facts.model, open.iter().filter(is_fed_back)).into_iter().collect();
    meetings.sort_by_key(|(_, pairs)| std::cmp::Reverse(pairs.len()));
    let mut all: Vec<Junction> = Vec::new();
    for (pin, pairs) in meetings {
        let wires: BTreeSet<WireId> = pairs.iter().flatten().copied().collect();
        let each = pairs.iter().map(|pair| pair.to_vec());
        let each = std::iter::once(wires.into_iter().collect()).chain(each).map(|wires| Junction::Meeting(pin, wires));
        for place in each {
            if !all.contains(&place) {
                all.push(place);
            }
        }
    }
    let vehicle = open.iter().filter(is_fed_back).filter_map(|finding| {
        let part = facts.model.part(facts.model.part_named(&finding.about)?);
        part.pins.first().copied().filter(|_| matches!(part.kind, PartKind::Supply | PartKind::Feed))
    });
    let vehicle: BTreeSet<PinId> = vehicle.filter(|pin| facts.connectivity().has_supply(&[*pin])).collect();
    if !vehicle.is_empty() {
        all.push(Junction::Vehicle(vehicle.into_iter().collect()));
    }
    all
}

/// Pins where the path of a finding goes in by one wire and out by another, with both wires in order: once for each
/// finding.
fn meetings<'f>(model: &Model, findings: impl Iterator<Item = &'f Finding>) -> BTreeMap<PinId, Vec<[WireId; 2]>> {
    let pins: BTreeMap<String, PinId> = model.pin_ids().map(|pin| (model.pin_name(pin), pin)).collect();
    let wires: BTreeMap<String, WireId> =
        model.wire_ids().map(|wire| (format!("wire {}", model.wire(wire).id), wire)).collect();
    let mut all: BTreeMap<PinId, Vec<[WireId; 2]>> = BTreeMap::new();
    for finding in findings {
        for pair in finding.evidence.path.windows(2) {
            let wire = |i: usize| pair[i].through.as_ref().and_then(|through| wires.get(through));
            if let (Some(&pin), Some(&before), Some(&after)) = (pins.get(&pair[0].pin), wire(0), wire(1)) {
                all.entry(pin).or_default().push([before.min(after), before.max(after)]);
            }
        }
    }
    all
}
