//! Missing wires: an open end, and each pin to which a wire from it may belong.

use super::alike::unfed;
use super::diodes::is_fed_back;
use super::regions::Regions;
use super::rewired::open_sources;
use super::sources::{OnWrongFeed, unused_inputs};
use super::suspects::is_dead;
use crate::{Finding, Repair};
use facts::Facts;
use facts::consumers::Consumer;
use facts::walk::Towards;
use model::{Domain, ElementKind, Model, PartKind, PinId, PinRole, WireId};

/// Most wires that are tried.
const MOST: usize = 32;

/// Most feeds of other loads that are tried for one open end.
const MOST_FEEDS: usize = 8;

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
        // A terminal takes one wire.
        let is_splice = |pin: PinId| facts.model.part(facts.model.pin(pin).part).kind != PartKind::Device;
        let is_taken = !is_splice(self.to) && facts.connectivity().is_joined(self.to);
        let with = if is_taken { ", over a splice there," } else { "" };
        findings[at].hint = format!("run a wire from `{to}`{with} to `{open}`: compare with the plan");
        findings[at].repair = Some(self.repair());
        at
    }
}

/// The wires to try: from each open end to other open ends, to inputs without a wire, to what feeds alike loads, to the
/// other inputs, and to outputs of modules. Then from each fuse, contact or switch that has a wire on one side only.
pub fn missing_wires(facts: &Facts, open: &[Finding]) -> Vec<MissingWire> {
    let feeds = facts.model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Feed(feed) => Some(feed.pin),
        _ => None,
    });
    let outputs = facts.model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Output { pin, .. } => Some(*pin),
        _ => None,
    });
    let unused = unused_inputs(facts.model, open);
    let loose: Vec<PinId> = open.iter().filter_map(|finding| loose_end(facts, finding)).collect();
    let sources: Vec<PinId> = feeds.chain(outputs).collect();
    let mut all: Vec<MissingWire> = Vec::new();
    let mut add = |end: PinId, to: PinId, finding: &Finding| {
        let is_new = !all.iter().any(|wire| wire.open == end && wire.to == to);
        if is_new && facts.nets().of(end) != facts.nets().of(to) {
            all.push(MissingWire { open: end, to, shown_by: (finding.rule, finding.about.clone()) });
        }
    };
    // What a converter feeds alone has no other source.
    let open_sources = open_sources(facts);
    let converters: Vec<PinId> = open_sources.iter().copied().filter(|pin| is_converters(facts.model, *pin)).collect();
    for (end, finding) in one_sided(facts, open) {
        converters.iter().for_each(|to| add(end, *to, finding));
    }
    for finding in open {
        let is_ground = finding.rule == "net/ground-missing";
        for end in open_ends(facts, finding) {
            let fused = if is_ground { Vec::new() } else { fused_feeds(facts, finding, end) };
            // A ground may come over a switch of the vehicle.
            let leads_back = |pin: &&PinId| !is_ground || facts.connectivity().has_ground(&[**pin]);
            // A fuse, a contact or an output on which nothing ends waits for what has no feed.
            let waiting = if finding.rule == "net/part-unpowered" { open_sources.as_slice() } else { &[] };
            let others = unused.iter().chain(waiting).chain(&fused).chain(&sources).filter(leads_back);
            loose.iter().chain(others).for_each(|to| add(end, *to, finding));
        }
    }
    for (end, finding) in one_sided(facts, open) {
        let input = |to: &PinId| {
            open.iter().find(|finding| unused_inputs(facts.model, std::slice::from_ref(finding)).contains(to))
        };
        for to in unused.iter().copied().chain(open_sources.iter().copied()).chain(supplies(facts.model)) {
            add(end, to, input(&to).unwrap_or(finding));
        }
    }
    all.truncate(MOST);
    all
}

/// The pins of fuses, contacts and switches on which nothing ends, and splices without a feed, between a supply and what has no
/// feed or never works; with the finding about that.
fn one_sided<'f>(facts: &Facts, open: &'f [Finding]) -> Vec<(PinId, &'f Finding)> {
    let model = facts.model;
    let mut ends: Vec<PinId> = Vec::new();
    for element in &model.elements {
        let pairs: Vec<[PinId; 2]> = match &element.kind {
            ElementKind::Fuse { between, .. } => vec![*between, [between[1], between[0]]],
            ElementKind::Contact { common, made: Some(made), .. } => vec![[*common, *made]],
            ElementKind::Throw { common, throw, .. } => vec![[*common, *throw]],
            _ => Vec::new(),
        };
        let is_joined = |pin: PinId| facts.connectivity().is_joined(pin);
        let is_one_sided =
            |[end, other]: &[PinId; 2]| !is_joined(*end) && is_joined(*other) && !facts.connectivity().is_fed(*end);
        ends.extend(pairs.into_iter().filter(is_one_sided).map(|[end, _]| end));
    }
    ends.dedup();
    // A part with no feed says it best; its way back leads to the open end.
    let finding = |end: PinId| {
        let leads = |finding: &&Finding| {
            finding.rule == "net/part-unpowered"
                && unfed(facts, finding)
                    .is_some_and(|pin| facts.connectivity().reached(pin, Towards::Supply).contains(&end))
        };
        open.iter().find(leads).or_else(|| open.iter().find(|finding| is_dead(finding)))
    };
    let of_devices = ends.into_iter().filter_map(|end| Some((end, finding(end)?)));
    // A splice without a feed.
    let splice = |finding: &'f Finding| {
        let reached = facts.connectivity().reached(unfed(facts, finding)?, Towards::Supply);
        let is_splice = |pin: &PinId| model.part(model.pin(*pin).part).kind == PartKind::Splice;
        Some((reached.into_iter().find(is_splice)?, finding))
    };
    let dead = open.iter().filter(|finding| finding.rule == "net/part-unpowered");
    of_devices.chain(dead.filter_map(splice)).collect()
}

/// Whether a pin is the output of a converter.
fn is_converters(model: &Model, pin: PinId) -> bool {
    let elements = model.part(model.pin(pin).part).elements.iter();
    elements
        .into_iter()
        .any(|id| matches!(model.element(*id).kind, ElementKind::Converter { output, .. } if output == pin))
}

/// The pins of the supplies.
fn supplies(model: &Model) -> Vec<PinId> {
    let pins = model.elements.iter().filter_map(|element| match &element.kind {
        ElementKind::Battery { plus: pin, .. } | ElementKind::Derived { pin, .. } => Some(*pin),
        _ => None,
    });
    pins.collect()
}

/// What feeds other loads through a fuse of the harness: loads of the same kind first, then of the same family.
fn fused_feeds(facts: &Facts, finding: &Finding, end: PinId) -> Vec<PinId> {
    let model = facts.model;
    let Some(own) = model.part_named(&finding.about) else { return Vec::new() };
    let is_power = |pin: PinId| model.pin(pin).role == PinRole::Feed && model.pin(pin).domain == Domain::Power;
    if finding.rule != "net/part-unpowered" || !unfed(facts, finding).is_some_and(is_power) {
        return Vec::new();
    }
    let fused = |pin: PinId| {
        let is_fuse = |kind: &ElementKind| matches!(kind, ElementKind::Fuse { .. });
        let reached = facts.connectivity().reached(pin, Towards::Supply);
        let parts = reached.into_iter().map(|pin| model.part(model.pin(pin).part));
        parts.flat_map(|part| &part.elements).any(|id| is_fuse(&model.element(*id).kind))
    };
    let mut ranked: Vec<((bool, bool, usize), PinId)> = Vec::new();
    for part in model.part_ids().filter(|part| *part != own) {
        for feed in Consumer::of_part(facts.connectivity(), part).into_iter().filter_map(|consumer| consumer.feed) {
            let net = facts.nets().of(feed);
            let is_new = net != facts.nets().of(end) && !ranked.iter().any(|((.., other), _)| *other == net);
            if is_power(feed) && is_new && facts.connectivity().is_fed(feed) && fused(feed) {
                let other = model.part(part);
                let this = model.part(own);
                ranked.push((
                    (other.use_name != this.use_name, other.form.family != this.form.family, net),
                    meets(facts, feed),
                ));
            }
        }
    }
    ranked.sort_by_key(|(rank, _)| *rank);
    ranked.into_iter().map(|(_, pin)| pin).take(MOST_FEEDS).collect()
}

/// Where a wire can be added to what feeds a pin: a splice, else the fuse or contact that it comes from.
fn meets(facts: &Facts, feed: PinId) -> PinId {
    let model = facts.model;
    let kind = |pin: &PinId| model.part(model.pin(*pin).part).kind;
    let net = || facts.nets().with(feed).iter().copied();
    let is_source = |pin: &PinId| kind(pin) == PartKind::Device && model.pin(*pin).role != PinRole::Feed;
    net().find(|pin| kind(pin) == PartKind::Splice).or_else(|| net().find(is_source)).unwrap_or(feed)
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
