//! Pins that may be swapped, where findings make it plausible.

use crate::{Finding, Repair};
use catalogue::part_form::Acts;
use facts::Facts;
use model::{Domain, ElementKind, PartId, PartKind, PinId};
use quantity::Amps;

/// Below this a diode conducts nothing but leakage (common practice, no source).
const CONDUCTS: Amps = Amps::new(1e-3);

/// Most cavities of a connector, or pins of a part, where an exchange is tried for every pair.
const MOST_PINS: usize = 6;

/// Two pins of one part that may be swapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Suspect {
    /// The part.
    pub part: PartId,
    /// The pins.
    pub pins: [PinId; 2],
    /// Whether the part itself distinguishes the pins, so that only one way round can be meant. Any other exchange must
    /// explain every error.
    pub is_plain: bool,
}

impl Suspect {
    /// What is on the pins exchanged.
    pub fn repair(&self) -> Repair {
        Repair::Exchange(self.pins[0], self.pins[1])
    }
}

/// Every suspect, likely ones first: none unless something does not work at all.
pub fn suspects(facts: &Facts, findings: &[Finding]) -> Vec<Suspect> {
    let open = |finding: &&Finding| finding.follows_from.is_none();
    if !findings.iter().filter(open).any(is_dead) {
        return Vec::new();
    }
    let named: Vec<&str> = findings.iter().filter(open).map(|finding| finding.about.as_str()).collect();
    let is_named = |part: &PartId| named.contains(&facts.model.part(*part).name.as_str());
    let is_kind = |part: &PartId, kind| facts.model.part(*part).kind == kind;
    let parts = || facts.model.part_ids().filter(|part| !facts.model.part(*part).existing);
    let (mut plain, others): (Vec<Suspect>, Vec<Suspect>) =
        parts().flat_map(|part| of_elements(facts, part)).partition(|suspect| suspect.is_plain);
    plain.sort_by_key(|suspect| !is_named(&suspect.part));
    let of_device = parts().filter(|part| is_kind(part, PartKind::Device) && is_named(part));
    let of_connector = parts().filter(|part| is_kind(part, PartKind::Connector));
    // A coil that is only too weak shows no wire on a wrong pin.
    let is_open = |finding: &&Finding| matches!(finding.rule, "net/ground-missing" | "net/part-unpowered");
    let opened: Vec<&str> = findings.iter().filter(open).filter(is_open).map(|f| f.about.as_str()).collect();
    let of_relay = parts().filter(|part| opened.contains(&facts.model.part(*part).name.as_str()));
    let of_relay: Vec<Suspect> = of_relay.flat_map(|part| contact_and_coil(facts, part)).collect();
    let pairs = of_device.chain(of_connector).flat_map(|part| every_pair(facts, part)).chain(of_relay);
    let mut all: Vec<Suspect> = Vec::new();
    for suspect in plain.into_iter().chain(others).chain(pairs) {
        if !all.iter().any(|other| other.pins == suspect.pins) {
            all.push(suspect);
        }
    }
    all
}

/// Pins whose elements tell them apart: the two ends of a diode, the inlet and outlet of a converter,
/// the two windings and the two sides of a relay, the trigger and the output of a module.
fn of_elements(facts: &Facts, id: PartId) -> Vec<Suspect> {
    let part = facts.model.part(id);
    let kinds = || part.elements.iter().map(|id| &facts.model.element(*id).kind);
    let mut pairs: Vec<([PinId; 2], bool)> = Vec::new();
    for element in &part.elements {
        match &facts.model.element(*element).kind {
            ElementKind::Diode { anode, cathode, .. } => {
                let branch = facts.solved.assembly.element(*element).first();
                let peak = branch.and_then(|branch| facts.worst().amps(*branch));
                // A reversed diode may let current through against the intended way; then it must explain every error.
                pairs.push(([*anode, *cathode], peak.is_none_or(|peak| peak.value < CONDUCTS)));
            }
            ElementKind::Converter { input, output, .. } => pairs.push(([*input, *output], true)),
            ElementKind::Contact { made: Some(made), rest: Some(rest), .. } => pairs.push(([*made, *rest], false)),
            ElementKind::Sense { pin, .. } => {
                let outputs = kinds().filter_map(|kind| match kind {
                    ElementKind::Output { pin, .. } => Some(*pin),
                    _ => None,
                });
                pairs.extend(outputs.map(|output| ([*pin, output], true)));
            }
            ElementKind::Coil(coil) if coil.acts == Acts::Sets => {
                let resets = kinds().filter_map(|kind| match kind {
                    ElementKind::Coil(other) if other.acts == Acts::Resets && other.relay == coil.relay => Some(other),
                    _ => None,
                });
                pairs.extend(
                    resets.flat_map(|other| [([coil.feed, other.feed], false), ([coil.ground, other.ground], false)]),
                );
            }
            _ => {}
        }
    }
    let differ =
        |([a, b], _): &([PinId; 2], bool)| a != b && [a, b].iter().any(|pin| facts.connectivity().is_joined(**pin));
    pairs.into_iter().filter(differ).map(|(pins, is_plain)| Suspect { part: id, pins, is_plain }).collect()
}

/// Every two pins of a small part, at least one of them used. Left out are two pictures, since only the views say which is
/// meant, and the two ends of something that works either way round or has a rule of its own.
fn every_pair(facts: &Facts, id: PartId) -> Vec<Suspect> {
    let model = facts.model;
    let pins: Vec<PinId> = model.part(id).pins.clone();
    let is_relay = model.part(id).elements.iter().any(|id| matches!(model.element(*id).kind, ElementKind::Coil(_)));
    if is_relay {
        return Vec::new();
    }
    if pins.len() > MOST_PINS {
        return one_sided(facts, &pins);
    }
    let is_joined = |pin: PinId| facts.connectivity().is_joined(pin);
    let alike = |a: PinId, b: PinId| {
        model.part(id).kind == PartKind::Device
            && model.pin(a).domain == model.pin(b).domain
            && model.pin(a).domain != Domain::Power
    };
    let either_way = |a: PinId, b: PinId| {
        let ends = model.part(id).elements.iter().map(|id| match &model.element(*id).kind {
            ElementKind::Fuse { between, .. } | ElementKind::Resistor { between, .. } => *between,
            ElementKind::Throw { common, throw, .. } => [*common, *throw],
            ElementKind::Load(load) => [load.feed, load.ground],
            ElementKind::Coil(coil) => [coil.feed, coil.ground],
            _ => [a, a],
        });
        ends.into_iter().any(|ends| ends.contains(&a) && ends.contains(&b))
    };
    let mut pairs = Vec::new();
    for (i, &a) in pins.iter().enumerate() {
        let others =
            pins[i + 1..].iter().filter(|b| (is_joined(a) || is_joined(**b)) && !alike(a, **b) && !either_way(a, **b));
        pairs.extend(others.map(|&b| Suspect { part: id, pins: [a, b], is_plain: false }));
    }
    pairs
}

/// A pin of a relay's contact and one of its coil, both wired.
fn contact_and_coil(facts: &Facts, id: PartId) -> Vec<Suspect> {
    let kinds = || facts.model.part(id).elements.iter().map(|id| &facts.model.element(*id).kind);
    let is_wired = |pin: &PinId| !facts.connectivity().wires_on(*pin).is_empty();
    let of_contacts = kinds().filter_map(|kind| match kind {
        ElementKind::Contact { common, made, rest, .. } => Some([Some(*common), *made, *rest]),
        _ => None,
    });
    let of_contacts: Vec<PinId> = of_contacts.flatten().flatten().filter(is_wired).collect();
    let of_coils = kinds().filter_map(|kind| match kind {
        ElementKind::Coil(coil) => Some([coil.ground, coil.feed]),
        _ => None,
    });
    let of_coils = of_coils.flatten().filter(is_wired);
    let pairs = of_coils.flat_map(|coil| of_contacts.iter().map(move |contact| [coil, *contact]));
    pairs.filter(|[a, b]| a != b).map(|pins| Suspect { part: id, pins, is_plain: false }).collect()
}

/// Rules that report what does not work at all. What is fed from behind works, and has no pins swapped.
const DEAD: [&str; 10] = [
    "net/part-unpowered",
    "net/ground-missing",
    "net/wire-to-nowhere",
    "net/short-circuit",
    "logic/view-differs",
    "logic/works-differs",
    "logic/screen-input-empty",
    "load/starved",
    "load/coil-weak",
    "time/late",
];

/// Whether a finding is about something that does not work at all.
pub fn is_dead(finding: &Finding) -> bool {
    DEAD.contains(&finding.rule)
}

/// Whether a finding is about how it is built, which exchanged wires change by chance.
pub fn is_of_building(finding: &Finding) -> bool {
    finding.rule.starts_with("build/") || finding.rule.starts_with("spec/")
}

/// The same for a large connector: a cavity with a wire whose mate has none, and one without a wire whose mate has one.
fn one_sided(facts: &Facts, pins: &[PinId]) -> Vec<Suspect> {
    let has_wire = |pin: PinId| !facts.connectivity().wires_on(pin).is_empty();
    let mate_has = |pin: PinId| facts.connectivity().mates(pin).into_iter().any(has_wire);
    let full = pins.iter().copied().filter(|pin| has_wire(*pin) && !mate_has(*pin));
    let empty = || pins.iter().copied().filter(|pin| !has_wire(*pin) && mate_has(*pin));
    let part = |pin: PinId| facts.model.pin(pin).part;
    full.flat_map(|a| empty().map(move |b| (a, b)))
        .map(|(a, b)| Suspect { part: part(a), pins: [a, b], is_plain: false })
        .collect()
}
