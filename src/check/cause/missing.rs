//! Missing wires: an open end, and each pin to which a wire from it may belong.

use super::alike::unfed;
use super::diodes::is_fed_back;
use super::regions::Regions;
use super::sources::{OnWrongFeed, unused_inputs};
use super::suspects::is_dead;
use crate::{Finding, Repair};
use facts::Facts;
use facts::walk::Towards;
use model::{ElementKind, PinId, WireId};

/// Most wires that are tried.
const MOST: usize = 24;

/// Rules that report an open end. Where one of them is all that is found, it says enough by itself.
const OPEN_END: [&str; 4] = ["net/trigger-open", "net/wire-to-nowhere", "net/part-unpowered", "net/ground-missing"];

/// A wire that may be missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MissingWire {
    /// The open end.
    open: PinId,
    /// Where the wire may lead.
    to: PinId,
    /// Rule and subject of the finding about the open end.
    shown_by: (&'static str, String),
}

impl MissingWire {
    pub fn repair(&self) -> Repair {
        Repair::Joined(self.open, self.to)
    }

    /// Whether a finding counts: an open end, something that does not work or that comes on at the wrong time.
    pub fn counts(finding: &Finding) -> bool {
        let shows = OPEN_END.contains(&finding.rule) || is_dead(finding) || OnWrongFeed::counts(finding);
        shows || is_fed_back(&finding)
    }

    /// Whether a finding that stays speaks against the wire: one about the same parts, or a source that another feeds: a
    /// wire to it would join the two.
    pub fn must_go(&self, facts: &Facts, finding: &Finding, regions: &Regions) -> bool {
        let [open, to] = [self.open, self.to].map(|pin| facts.model.pin(pin).part);
        let is_of_source = || finding.about.split('.').next() == Some(facts.model.part(to).name.as_str());
        regions.may_reach(finding, open) || is_fed_back(&finding) && is_of_source()
    }

    /// The index of the finding about the open end, which now says where the wire leads.
    pub fn root(&self, facts: &Facts, findings: &mut [Finding]) -> usize {
        let is_it = |finding: &Finding| {
            finding.follows_from.is_none() && (finding.rule, &finding.about) == (self.shown_by.0, &self.shown_by.1)
        };
        let at = findings.iter().position(is_it).unwrap_or_default();
        let [open, to] = [self.open, self.to].map(|pin| facts.model.pin_name(pin));
        findings[at].hint = format!("run a wire from `{to}` to `{open}`: compare with the plan");
        findings[at].repair = Some(self.repair());
        at
    }
}

/// The wires to try: from each open end to other open ends, to inputs without a wire, to the other inputs, and to outputs
/// of modules.
pub fn missing_wires(facts: &Facts, open: &[Finding]) -> Vec<MissingWire> {
    let feeds = facts.model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Feed(feed) => Some(feed.pin),
        _ => None,
    });
    let outputs = facts.model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Output { pin, .. } => Some(*pin),
        _ => None,
    });
    let sources: Vec<PinId> = unused_inputs(facts.model, open).into_iter().chain(feeds).chain(outputs).collect();
    let loose: Vec<PinId> = open.iter().filter_map(|finding| loose_end(facts, finding)).collect();
    let mut all: Vec<MissingWire> = Vec::new();
    for finding in open {
        let is_ground = finding.rule == "net/ground-missing";
        for end in open_ends(facts, finding) {
            let others = sources.iter().filter(|_| !is_ground);
            for to in loose.iter().chain(others) {
                let is_new = !all.iter().any(|wire| wire.open == end && wire.to == *to);
                if is_new && facts.nets().of(end) != facts.nets().of(*to) {
                    all.push(MissingWire { open: end, to: *to, shown_by: (finding.rule, finding.about.clone()) });
                }
            }
        }
    }
    all.truncate(MOST);
    all
}

/// The open ends of a part that a finding is about.
fn open_ends(facts: &Facts, finding: &Finding) -> Vec<PinId> {
    let model = facts.model;
    match (finding.rule, &finding.repair) {
        ("net/trigger-open", _) => {
            let elements = model.part_named(&finding.about).map(|part| &model.part(part).elements);
            let pins = elements.into_iter().flatten().filter_map(|id| match &model.element(*id).kind {
                ElementKind::Sense { pin, .. } => Some(*pin),
                _ => None,
            });
            pins.filter(|pin| !facts.connectivity().is_joined(*pin)).collect()
        }
        ("net/part-unpowered", None) => {
            let end = |pin| facts.connectivity().reached(pin, Towards::Supply).last().copied();
            unfed(facts, finding).and_then(end).into_iter().collect()
        }
        ("net/ground-missing", Some(Repair::Ground(pin))) => vec![*pin],
        _ => Vec::new(),
    }
}

/// The end of a wire at which nothing else is connected, or the free cavity that it mates with.
fn loose_end(facts: &Facts, finding: &Finding) -> Option<PinId> {
    if finding.rule != "net/wire-to-nowhere" {
        return None;
    }
    let wires = facts.model.wire_ids();
    let at_end = |wire: WireId| {
        let wire = facts.model.wire(wire);
        let is_named = format!("wire {}", wire.id) == finding.about;
        let end = wire.end_places.iter().position(|place| *place == finding.place)?;
        is_named.then(|| wire.ends[end])
    };
    let end = wires.into_iter().find_map(at_end)?;
    Some(facts.connectivity().mates(end).last().copied().unwrap_or(end))
}
