//! Pins that may be swapped, where findings make it plausible.

use super::as_meant::{is_as_meant, is_awake};
use super::regions::Regions;
use crate::{Finding, Repair, Severity};
use catalogue::part_form::Acts;
use facts::Facts;
use model::{Domain, ElementKind, Model, PartId, PartKind, PinId, PinRole};
use quantity::Amps;
use states::Picture;

/// Below this a diode conducts nothing but leakage (common practice, no source).
const CONDUCTS: Amps = Amps::new(1e-3);

/// Most cavities of a connector, or pins of a part, where an exchange is tried for every pair.
const MOST_PINS: usize = 6;

/// What an exchange has to explain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Explains {
    /// Something that does not work at all.
    Dead,
    /// Also what carries too much: the pins are one of a relay's coil and one of its contact, and the relay works just
    /// the same when they are exchanged.
    Loaded,
    /// Pictures at each other's times: two inputs of a screen or a selector.
    Pictures,
}

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
    /// What it explains.
    pub explains: Explains,
}

impl Suspect {
    fn new(part: PartId, pins: [PinId; 2], is_plain: bool) -> Suspect {
        Suspect { part, pins, is_plain, explains: Explains::Dead }
    }

    /// Whether a finding counts for the exchange, and may speak against it.
    pub fn counts(&self, finding: &Finding) -> bool {
        let is_drain = finding.rule == "load/key-off-drain";
        is_dead(finding) || self.explains == Explains::Loaded && (is_loaded(finding) || is_drain)
    }

    /// Whether a finding that stays speaks against the exchange. Where the part itself distinguishes the pins, only a view or a
    /// promise that is still broken does.
    pub fn must_go(&self, finding: &Finding, regions: &Regions) -> bool {
        let is_asked = ["logic/view-differs", "logic/works-differs"].contains(&finding.rule);
        (!self.is_plain || is_asked && finding.severity == Severity::Error) && regions.may_reach(finding, self.part)
    }

    /// What is on the pins exchanged.
    pub fn repair(&self) -> Repair {
        Repair::Exchange(self.pins[0], self.pins[1])
    }
}

/// Every suspect for open findings, likely ones first: none unless something does not work at all, or a relay carries too much.
pub fn suspects(facts: &Facts, open: &[Finding]) -> Vec<Suspect> {
    let model = facts.model;
    let named: Vec<&str> = open.iter().map(|finding| finding.about.as_str()).collect();
    let is_named = |part: &PartId| named.contains(&model.part(*part).name.as_str());
    let is_kind = |part: &PartId, kind| model.part(*part).kind == kind;
    let parts = || model.part_ids().filter(|part| !model.part(*part).existing);
    // A coil that is only too weak shows no wire on a wrong pin, unless something else does.
    let only_weak = !open.iter().any(|finding| is_dead(finding) && !WEAK.contains(&finding.rule));
    let of_relays = parts().flat_map(|part| {
        let shows = move |suspect: &Suspect, finding: &Finding| match is_loaded(finding) {
            _ if finding.rule == "load/key-off-drain" => {
                suspect.explains == Explains::Loaded && is_awake(facts, part, suspect.pins)
            }
            true => suspect.explains == Explains::Loaded && passes_contact(model, finding, part),
            false => is_dead(finding) && !only_weak && touches(model, finding, part),
        };
        let pairs = of_relay(facts, part).into_iter();
        pairs.filter(move |suspect| open.iter().any(|finding| shows(suspect, finding)))
    });
    let passes = |finding: &Finding, part: PartId| {
        let name = model.part(part).name.as_str();
        is_loaded(finding) && finding.evidence.path.iter().any(|point| is_its(name, &point.pin))
    };
    let of_triggers = parts()
        .filter(|part| open.iter().any(|finding| passes(finding, *part)))
        .flat_map(|part| of_trigger(facts, part));
    // A screen that is dark when it should not be may have its feed on a trigger.
    let is_dark = |part: &PartId| {
        let screens = open.iter().filter(|finding| finding.involved.shown() == Some(&Picture::Dark));
        screens.filter_map(|finding| finding.involved.screen).any(|screen| model.screens[screen.0].part == *part)
    };
    let of_dark = parts().filter(is_dark).flat_map(|part| of_trigger(facts, part));
    let of_dark = of_dark.map(|suspect| Suspect { explains: Explains::Dead, ..suspect });
    let of_relays: Vec<Suspect> = of_relays.chain(of_triggers).chain(of_dark).collect();
    let mut plain = Vec::new();
    let (mut others, mut pictures) = (Vec::new(), Vec::new());
    if open.iter().any(is_dead) {
        (plain, others) = parts().flat_map(|part| of_elements(facts, part)).partition(|suspect| suspect.is_plain);
        let of_device =
            parts().filter(|part| is_kind(part, PartKind::Device) && (is_named(part) || is_module(model, *part)));
        let of_connector = parts().filter(|part| is_kind(part, PartKind::Connector));
        others.extend(of_device.chain(of_connector).flat_map(|part| every_pair(facts, part)));
        // Any relay may be the cause, if nothing that findings name is.
        others.extend(parts().filter(|_| !only_weak).flat_map(|part| of_relay(facts, part)));
        if open.iter().filter(|finding| finding.rule == "logic/view-differs").count() > 1 {
            pictures = parts().flat_map(|part| of_pictures(facts, part)).collect();
        }
    }
    let touched: Vec<PartId> =
        parts().filter(|part| open.iter().any(|finding| touches(model, finding, *part))).collect();
    let mut all: Vec<Suspect> = Vec::new();
    for suspect in plain.into_iter().chain(pictures).chain(of_relays.iter().copied()).chain(others) {
        if !all.iter().any(|other| other.pins == suspect.pins) && !is_as_meant(facts, suspect.part, suspect.pins) {
            all.push(suspect);
        }
    }
    // Parts that the gravest findings name come first, relays and plain pins before others.
    let rank = |suspect: &Suspect| {
        let name = model.part(suspect.part).name.as_str();
        let first = open.iter().position(|finding| is_its(name, &finding.about));
        let is_likely = suspect.is_plain || suspect.explains == Explains::Pictures || of_relays.contains(suspect);
        (first.is_none(), !is_likely, first, !touched.contains(&suspect.part))
    };
    all.sort_by_key(rank);
    all
}

/// Whether a part has a trigger input that switches an output.
fn is_module(model: &Model, part: PartId) -> bool {
    let kinds = || model.part(part).elements.iter().map(|id| &model.element(*id).kind);
    kinds().any(|kind| matches!(kind, ElementKind::Sense { .. }))
        && kinds().any(|kind| matches!(kind, ElementKind::Output { .. }))
}

/// Whether a finding is about a part, its current flows through it, or it shows only while the part is in one position.
fn touches(model: &Model, finding: &Finding, part: PartId) -> bool {
    let name = model.part(part).name.as_str();
    let state = finding.evidence.state.as_deref().unwrap_or_default();
    let mut positions = state.split([',', ';']).filter_map(|word| word.split_whitespace().next());
    is_its(name, &finding.about)
        || finding.evidence.path.iter().any(|point| is_its(name, &point.pin))
        || positions.any(|position| is_its(name, position))
}

/// Whether a subject or a pin is a part or one of its pins.
fn is_its(part: &str, subject: &str) -> bool {
    subject == part || subject.split_once('.').is_some_and(|(of, _)| of == part)
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
            ElementKind::Passes { from, to, .. } => pairs.push(([*from, *to], true)),
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
    pairs.into_iter().filter(differ).map(|(pins, is_plain)| Suspect::new(id, pins, is_plain)).collect()
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
        pairs.extend(others.map(|&b| Suspect::new(id, [a, b], false)));
    }
    pairs
}

/// Every two inputs of pictures, and every two triggers, of a part.
fn of_pictures(facts: &Facts, id: PartId) -> Vec<Suspect> {
    let model = facts.model;
    let part = model.part(id);
    let is_wired = |pin: &PinId| facts.connectivity().is_joined(*pin);
    let inputs = part.pins.iter().copied().filter(|pin| {
        model.pin(*pin).domain == Domain::Video && model.pin(*pin).role == PinRole::Input && is_wired(pin)
    });
    let inputs: Vec<PinId> = inputs.collect();
    if inputs.len() < 2 {
        return Vec::new();
    }
    let triggers = part.elements.iter().filter_map(|id| match &model.element(*id).kind {
        ElementKind::Sense { pin, .. } if is_wired(pin) => Some(*pin),
        _ => None,
    });
    let pairs = |pins: Vec<PinId>, explains| {
        let pair = move |(i, a): (usize, PinId), pins: &[PinId]| -> Vec<Suspect> {
            pins[i + 1..].iter().map(|b| Suspect { explains, ..Suspect::new(id, [a, *b], false) }).collect()
        };
        let all: Vec<Suspect> = pins.iter().copied().enumerate().flat_map(|one| pair(one, &pins)).collect();
        all
    };
    [pairs(inputs, Explains::Pictures), pairs(triggers.collect(), Explains::Dead)].concat()
}

/// Pairs of a trigger pin and a feed pin of one part, both with a wire: the trigger's source may be too weak for the load.
fn of_trigger(facts: &Facts, id: PartId) -> Vec<Suspect> {
    let kinds = || facts.model.part(id).elements.iter().map(|id| &facts.model.element(*id).kind);
    let triggers = kinds().filter_map(|kind| match kind {
        ElementKind::Sense { pin, .. } => Some(*pin),
        _ => None,
    });
    let feeds = kinds().filter_map(|kind| match kind {
        ElementKind::Load(load) => Some(load.feed),
        ElementKind::Output { other, high_side: true, .. } => Some(*other),
        _ => None,
    });
    let feeds: Vec<PinId> = feeds.collect();
    let is_joined = |pin: PinId| facts.connectivity().is_joined(pin);
    let are_used = |a: PinId, b: PinId| a != b && is_joined(a) && is_joined(b);
    let mut pairs: Vec<[PinId; 2]> =
        triggers.flat_map(|a| feeds.iter().filter(move |b| are_used(a, **b)).map(move |b| [a, *b])).collect();
    pairs.dedup();
    pairs.into_iter().map(|pins| Suspect { explains: Explains::Loaded, ..Suspect::new(id, pins, false) }).collect()
}

/// Every two pins of a relay, at least one of them wired, other than the two ends of its coil or of a contact that is
/// its only one: those work either way round, or have a rule of their own.
fn of_relay(facts: &Facts, id: PartId) -> Vec<Suspect> {
    let model = facts.model;
    let kinds = || model.part(id).elements.iter().map(|id| &model.element(*id).kind);
    let coils: Vec<[PinId; 2]> = kinds()
        .filter_map(|kind| match kind {
            ElementKind::Coil(coil) => Some([coil.ground, coil.feed]),
            _ => None,
        })
        .collect();
    let contacts: Vec<Vec<PinId>> = kinds()
        .filter_map(|kind| match kind {
            ElementKind::Contact { common, made, rest, .. } => {
                Some([Some(*common), *made, *rest].into_iter().flatten().collect())
            }
            _ => None,
        })
        .collect();
    if coils.is_empty() || contacts.is_empty() {
        return Vec::new();
    }
    let is_wired = |pin: PinId| !facts.connectivity().wires_on(pin).is_empty();
    let of_coil = |pin: PinId| coils.iter().any(|ends| ends.contains(&pin));
    let of_contact = |pin: PinId| contacts.iter().any(|ends| ends.contains(&pin));
    let either_way = |a: PinId, b: PinId| {
        let has_both = |ends: &[PinId]| ends.contains(&a) && ends.contains(&b);
        coils.iter().any(|ends| has_both(ends)) || contacts.iter().any(|ends| ends.len() == 2 && has_both(ends))
    };
    let pins: Vec<PinId> =
        model.part(id).pins.iter().copied().filter(|pin| of_coil(*pin) || of_contact(*pin)).collect();
    let mut pairs = Vec::new();
    for (i, &a) in pins.iter().enumerate() {
        for &b in pins[i + 1..].iter().filter(|b| (is_wired(a) || is_wired(**b)) && !either_way(a, **b)) {
            let crosses = of_coil(a) != of_coil(b) && is_wired(a) && is_wired(b);
            let explains = if crosses { Explains::Loaded } else { Explains::Dead };
            pairs.push(Suspect { explains, ..Suspect::new(id, [a, b], false) });
        }
    }
    pairs
}

/// Rules that report too little voltage at something that has a feed and a ground.
const WEAK: [&str; 2] = ["load/coil-weak", "load/starved"];

/// Whether the current of a finding flows through a contact of a relay.
fn passes_contact(model: &Model, finding: &Finding, relay: PartId) -> bool {
    let ends = model.part(relay).elements.iter().filter_map(|id| match &model.element(*id).kind {
        ElementKind::Contact { common, made, rest, .. } => Some((*common, [*made, *rest])),
        _ => None,
    });
    let pairs: Vec<[String; 2]> = ends
        .flat_map(|(common, throws)| throws.into_iter().flatten().map(move |throw| [common, throw]))
        .map(|pins| pins.map(|pin| model.pin_name(pin)))
        .collect();
    let is_pair = |a: &str, b: &str| pairs.iter().any(|[c, d]| a == c && b == d || a == d && b == c);
    finding.evidence.path.windows(2).any(|step| is_pair(&step[0].pin, &step[1].pin))
}

/// Rules that report what carries too much.
const LOADED: [&str; 5] = [
    "load/output-overloaded",
    "load/fuse-loaded",
    "load/wire-ampacity",
    "load/contact-overloaded",
    "load/pin-overloaded",
];

/// Whether something carries too much.
pub fn is_loaded(finding: &Finding) -> bool {
    LOADED.contains(&finding.rule) && finding.severity == Severity::Error
}

/// Rules that report what does not work at all. What is fed from behind works, and has no pins swapped.
const DEAD: [&str; 11] = [
    "net/part-unpowered",
    "net/ground-missing",
    "net/wire-to-nowhere",
    "net/short-circuit",
    "logic/view-differs",
    "logic/works-differs",
    "logic/screen-input-empty",
    "logic/view-unreached",
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
    full.flat_map(|a| empty().map(move |b| (a, b))).map(|(a, b)| Suspect::new(part(a), [a, b], false)).collect()
}
