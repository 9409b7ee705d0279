//! One cause that several rules see. The structure of the harness shows that it is one, so no trial is needed: pins on one
//! net that all miss their ground, two rules about one fuse, one view that several states break.

use crate::{Finding, Repair, Severity, WorksFault};
use facts::consumers::Consumer;
use facts::walk::Towards;
use facts::{Facts, StandardPin};
use model::{ElementKind, Model, PartId, PartKind, PinId, SignalId, SignalKind, Wire, conductor};
use states::Picture;
use std::cmp::Ordering;
use std::collections::BTreeSet;

/// A rule, and the rules whose findings about the same subject follow from its own.
const SAME_SUBJECT: [(&str, &[&str]); 12] = [
    ("net/trigger-open", &DOES_NOT_WORK),
    ("net/ground-missing", &DOES_NOT_WORK),
    ("net/part-unpowered", &DOES_NOT_WORK),
    ("safety/fuse-above-wire", &["safety/fuse-oversized"]),
    ("load/fuse-loaded", &["load/fuse-inrush"]),
    ("load/starved", &["logic/works-differs"]),
    ("logic/pulsed", &["logic/works-differs"]),
    ("logic/works-differs", &["logic/works-differs", "time/works-blinks", "time/works-late"]),
    ("net/supplies-fight", &["load/key-off-drain"]),
    ("time/blinks", &["time/late", "time/late-start"]),
    ("time/late", &["time/late-start"]),
    ("time/relay-wear", &["load/contact-life"]),
];

/// What a part shows that has no ground or no supply.
const DOES_NOT_WORK: [&str; 3] = ["load/starved", "load/coil-weak", "logic/works-differs"];

/// Rules about what shows in a state. A drive through that state fails too.
const IN_STATES: [&str; 4] = ["net/", "logic/", "load/starved", "load/coil-weak"];

/// Folds findings about pins of one net that all lack a ground, or all lack a supply.
pub fn of_one_net(facts: &Facts, findings: &mut [Finding]) {
    let nets: Vec<Option<(&'static str, BTreeSet<usize>)>> =
        findings.iter().map(|finding| net_missed(facts, finding)).collect();
    // A converter that feeds the others comes before them.
    let model = facts.model;
    let converts = |finding: &Finding| {
        let elements = model.part_named(&finding.about).map(|part| &model.part(part).elements);
        elements.into_iter().flatten().any(|id| matches!(model.element(*id).kind, ElementKind::Converter { .. }))
    };
    fold_pairs(findings, |all, root, other| {
        let is_first = converts(&all[root]) || root < other && !converts(&all[other]);
        is_first && nets[root].is_some() && nets[root] == nets[other]
    });
}

/// Folds findings of one thing.
pub fn of_one_thing(facts: &Facts, findings: &mut [Finding]) {
    let model = facts.model;
    fold_pairs(findings, |all, root, other| is_of_same_subject(&all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_source_missed(model, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| drains(model, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| shorts_behind(&all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_current_of_short(&all[root], &all[other]));
    fold_pairs(findings, |all, root, other| root < other && is_one_view(&all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_at_empty_input(&all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_fed_through(model, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| root < other && is_of_one_part(model, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_of_thin_wire(&all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_too_thin_for_terminal(model, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_behind_standard_pin(facts, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_before_standard_pin(facts, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| root < other && are_dead_together(facts, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_of_open_trigger(model, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| depends_on_dead(facts, &all[root], &all[other]));
    fold_pairs(findings, |all, root, other| is_of_unknown_pin(facts, &all[root], &all[other], root < other));
    fold_pairs(findings, |all, root, other| root < other && has_same_fuse_before(&all[root], &all[other]));
    fold_pairs(findings, |all, root, other| root < other && fights_back(&all[root], &all[other]));
    fold_pairs(findings, fails_with_state);
}

/// Folds the second of each pair under the first or under its root, and what follows from the second too.
fn fold_pairs(findings: &mut [Finding], follows: impl Fn(&[Finding], usize, usize) -> bool) {
    for first in 0..findings.len() {
        for other in 0..findings.len() {
            let root = findings[first].follows_from.unwrap_or(first);
            let is_open = findings[other].follows_from.is_none() && !findings[other].usual;
            if !is_open || root == other || findings[root].usual || !follows(findings, first, other) {
                continue;
            }
            let worst = findings[other].severity;
            findings[root].severity = findings[root].severity.min(worst);
            for (i, finding) in findings.iter_mut().enumerate() {
                if i == other || finding.follows_from == Some(other) {
                    finding.follows_from = Some(root);
                }
            }
        }
    }
}

/// What a part lacks, and the nets that lack it.
fn net_missed(facts: &Facts, finding: &Finding) -> Option<(&'static str, BTreeSet<usize>)> {
    let net = |pin: PinId| facts.nets().of(pin);
    let reached = |pin: PinId, towards| facts.connectivity().reached(pin, towards).into_iter().map(net).collect();
    match (finding.rule, &finding.repair) {
        ("net/ground-missing", Some(Repair::Ground(pin))) => Some((finding.rule, reached(*pin, Towards::Ground))),
        ("net/ground-missing", Some(repair)) => repair.grounds().map(|(pin, _)| (finding.rule, [net(pin)].into())),
        ("net/part-unpowered", None) => {
            let nets: BTreeSet<usize> = reached(unfed(facts, finding)?, Towards::Supply);
            (nets.len() > 1 || facts.nets().with(unfed(facts, finding)?).len() > 1).then_some((finding.rule, nets))
        }
        _ => None,
    }
}

/// The feed of the part of a finding that no supply reaches.
pub fn unfed(facts: &Facts, finding: &Finding) -> Option<PinId> {
    let part = facts.model.part_named(&finding.about)?;
    let feeds = Consumer::of_part(facts.connectivity(), part).into_iter().filter_map(|consumer| consumer.feed);
    feeds.filter(|pin| !facts.connectivity().is_fed(*pin)).min()
}

fn is_of_same_subject(root: &Finding, other: &Finding) -> bool {
    let rules = SAME_SUBJECT.iter().filter(|(rule, _)| root.rule == *rule);
    root.about == other.about && rules.into_iter().any(|(_, follow)| follow.contains(&other.rule))
}

/// A camera without ground or supply, and a view that asks for its picture; a screen without one, and a view on it.
fn is_source_missed(model: &Model, root: &Finding, other: &Finding) -> bool {
    let is_dead = ["net/ground-missing", "net/part-unpowered", "load/starved"].contains(&root.rule);
    let (wanted, about) = (other.involved.wanted(), model.part_named(&root.about));
    // A screen without a supply is dark.
    let screen = other.involved.screen.map(|screen| model.screens[screen.0].part);
    let is_dark = other.involved.shown() == Some(&Picture::Dark) && screen == about;
    is_dead && about.is_some() && (wanted == about || is_dark)
}

/// A part or a screen that is on at rest, and the charge that it takes from the battery.
fn drains(model: &Model, root: &Finding, other: &Finding) -> bool {
    let subject = match root.about.strip_prefix("screen ") {
        Some(name) => model.screens.iter().find(|screen| screen.name.as_str() == name).map(|screen| screen.part),
        None => model.part_named(&root.about),
    };
    let takes = |name: &str| other.evidence.path.iter().any(|point| is_pin_of(name, &point.pin));
    let is_asked = ["logic/works-differs", "logic/view-differs"].contains(&root.rule);
    let is_at_rest = root.evidence.state.is_none() || root.evidence.state == other.evidence.state;
    other.rule == "load/key-off-drain"
        && is_asked
        && is_at_rest
        && subject.is_some_and(|part| takes(model.part(part).name.as_str()))
}

/// A fuse that is too large for a wire, and a short behind it that it clears too late.
fn shorts_behind(root: &Finding, other: &Finding) -> bool {
    let is_behind = other.evidence.path.iter().any(|point| is_pin_of(&root.about, &point.pin));
    let shows = other.rule == "load/short-clears" && is_behind;
    // It opens later than the fuse before it.
    let is_late = other.rule == "load/fuses-discriminate" && other.about == root.about;
    root.rule == "safety/fuse-above-wire" && (shows || is_late)
}

/// Rules about what carries too much.
const TOO_MUCH: [&str; 6] = [
    "load/fuse-loaded",
    "load/output-overloaded",
    "load/contact-overloaded",
    "load/pin-overloaded",
    "load/wire-ampacity",
    "load/diode-overloaded",
];

/// A short to ground, and what carries its current: the two paths have their last part in common.
fn is_current_of_short(root: &Finding, other: &Finding) -> bool {
    let [short, path] = [root, other].map(|finding| &finding.evidence.path);
    let common = short.iter().rev().zip(path.iter().rev()).take_while(|(a, b)| a.pin == b.pin).count();
    root.rule == "net/short-circuit" && TOO_MUCH.contains(&other.rule) && common > 1
}

/// Several states that break one line of the views; or one trigger that is on in all of them.
fn is_one_view(root: &Finding, other: &Finding) -> bool {
    let [one, two] = [root, other].map(|finding| &finding.involved);
    let is_view = |finding: &Finding| finding.rule == "logic/view-differs";
    let is_on_in_both = one.triggers.iter().any(|pin| two.triggers.contains(pin));
    let is_one_trigger = is_on_in_both && one.shown() == two.shown();
    is_view(root) && is_view(other) && root.about == other.about && (root.place == other.place || is_one_trigger)
}

/// An input of a screen without a wire, and the picture missing there.
fn is_at_empty_input(root: &Finding, other: &Finding) -> bool {
    let input = root.involved.pins.first();
    root.rule == "logic/screen-input-empty" && input.is_some() && other.involved.without_picture().as_ref() == input
}

/// The same current between two supplies, seen from the other end.
fn fights_back(root: &Finding, other: &Finding) -> bool {
    let is_fight = |finding: &Finding| finding.rule == "net/supplies-fight";
    let pins = |finding: &Finding| {
        let mut pins: Vec<String> = finding.evidence.path.iter().map(|point| point.pin.clone()).collect();
        pins.sort();
        pins
    };
    is_fight(root) && is_fight(other) && pins(root) == pins(other)
}

/// What shows behind a fault, on the path of its current: a converter fed from behind, leakage, what a chattering relay
/// switches.
fn is_fed_through(model: &Model, root: &Finding, other: &Finding) -> bool {
    let passes = |pin: PinId| other.evidence.path.iter().any(|point| point.pin == model.pin_name(pin));
    match (root.rule, other.rule) {
        ("net/outputs-joined", "load/overvoltage") => root.involved.pins.iter().any(|pin| passes(*pin)),
        ("logic/lamp-glows", "logic/standard-pin") => {
            let leaks =
                root.evidence.path.iter().filter(|point| other.evidence.path.iter().any(|o| o.pin == point.pin));
            root.evidence.state == other.evidence.state && leaks.count() > 1
        }
        ("logic/chatter", "time/late" | "time/late-start" | "time/blinks") => root.severity == Severity::Error,
        _ => false,
    }
}

/// One rule at two pins of one part, which carry the same current; or at two cavities of one plug.
fn is_of_one_part(model: &Model, root: &Finding, other: &Finding) -> bool {
    let part = |finding: &Finding| finding.involved.pins.first().map(|pin| model.pin(*pin).part);
    let rules = ["load/pin-overloaded", "net/shield-open"];
    root.rule == other.rule && rules.contains(&root.rule) && part(root).is_some() && part(root) == part(other)
}

/// A wire too thin for its fuse, and the drop of the same wire, which asks for a thicker one.
fn is_of_thin_wire(root: &Finding, other: &Finding) -> bool {
    let is_one_wire = matches!(&root.repair, Some(Repair::NoLoss(wires)) if wires.len() == 1);
    let rules = (root.rule, other.rule) == ("load/drop", "safety/fuse-above-wire");
    rules && is_one_wire && root.place.line == other.place.line && root.place.file == other.place.file
}

/// A wire that is too thin for its current, its fuse or its loads, and for its terminals as well.
fn is_too_thin_for_terminal(model: &Model, root: &Finding, other: &Finding) -> bool {
    let is_of_size = ["load/drop", "load/wire-ampacity", "safety/fuse-above-wire"].contains(&root.rule);
    let of_wire = |wire: &&Wire| other.about == format!("wire {}", wire.id);
    let Some(wire) = model.wires.iter().find(of_wire).filter(|_| is_of_size && other.rule == "build/terminal-size")
    else {
        return false;
    };
    let is_too_thin = |pin: PinId| {
        let terminal = model.part(model.pin(pin).part).form.terminal.as_ref();
        terminal.is_some_and(|terminal| conductor::against(wire.gauge, terminal.wire.0) == Ordering::Less)
    };
    let is_its = root.about == other.about || root.place == wire.gauge_place.unwrap_or(wire.place);
    is_its && wire.ends.into_iter().any(is_too_thin)
}

/// A pin of a standard socket that is dead, or live, at the wrong time, and a lamp behind it that is so too.
fn is_behind_standard_pin(facts: &Facts, root: &Finding, other: &Finding) -> bool {
    let rules = (root.rule, other.rule) == ("logic/standard-pin", "logic/works-differs");
    let is_same = root.involved.works.is_some() && root.involved.works == other.involved.works;
    let Some((part, pin)) = facts.model.part_named(&other.about).zip(root.involved.pins.first()) else { return false };
    let feeds = Consumer::of_part(facts.connectivity(), part).into_iter().filter_map(|consumer| consumer.feed);
    rules && is_same && feeds.into_iter().any(|feed| facts.connectivity().reached(feed, Towards::Supply).contains(pin))
}

/// Whether a dead pin of a standard socket follows from a part without supply, without ground or with too little voltage: the
/// pin feeds the part, or the current to the pin goes through it.
fn is_before_standard_pin(facts: &Facts, root: &Finding, other: &Finding) -> bool {
    let rules = ["net/part-unpowered", "net/ground-missing", "load/coil-weak", "load/starved"];
    let is_dead = other.rule == "logic/standard-pin" && other.involved.works == Some(WorksFault::Dead);
    let Some((part, &pin)) = facts.model.part_named(&root.about).zip(other.involved.pins.first()) else { return false };
    if !is_dead || !rules.contains(&root.rule) {
        return false;
    }
    let reached = facts.connectivity().reached(pin, Towards::Supply);
    let is_behind = || {
        let feed = unfed(facts, root);
        feed.is_some_and(|feed| facts.connectivity().reached(feed, Towards::Supply).contains(&pin))
    };
    reached.iter().any(|pin| facts.model.pin(*pin).part == part) || root.rule == "net/part-unpowered" && is_behind()
}

/// Two pins of standard sockets that are dead in as many states and get their current over one part, such as a fuse or a splice.
fn are_dead_together(facts: &Facts, root: &Finding, other: &Finding) -> bool {
    let is_dead =
        |finding: &Finding| finding.rule == "logic/standard-pin" && finding.involved.works == Some(WorksFault::Dead);
    let standard = |finding: &Finding| {
        let pin = finding.involved.pins.first()?;
        facts.standard_pins().iter().find(|standard| standard.pin == *pin)
    };
    let Some((one, two)) = standard(root).zip(standard(other)) else { return false };
    let states = |standard: &StandardPin| standard.live.dead.as_ref().map(|dead| dead.states);
    let model = facts.model;
    let over = |standard: &StandardPin| -> BTreeSet<PartId> {
        let reached = facts.connectivity().reached(standard.pin, Towards::Supply).into_iter();
        let parts = reached.map(|pin| model.pin(pin).part);
        parts.filter(|part| matches!(model.part(*part).kind, PartKind::Device | PartKind::Splice)).collect()
    };
    is_dead(root) && is_dead(other) && states(one) == states(two) && !over(one).is_disjoint(&over(two))
}

/// A trigger of a screen without a wire, and the picture that it should show.
fn is_of_open_trigger(model: &Model, root: &Finding, other: &Finding) -> bool {
    let is_pair = (root.rule, other.rule) == ("net/trigger-open", "logic/view-differs");
    let (Some(&pin), Some(screen)) = (root.involved.pins.first(), other.involved.screen) else { return false };
    let screen = &model.screens[screen.0];
    let is_its = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Sense { pin: of, .. } if of == pin);
    let mut signals = (0..model.signals.len()).map(SignalId).filter(is_its);
    is_pair
        && other.involved.wanted().is_some()
        && model.pin(pin).part == screen.part
        && signals.any(|id| screen.shows.iter().any(|show| show.when.names_signal(id)))
}

/// A part that does not work for lack of a wire, and what its output should turn on, or a fuse that it leaves without current.
fn depends_on_dead(facts: &Facts, root: &Finding, other: &Finding) -> bool {
    let model = facts.model;
    let rules = ["net/trigger-open", "net/ground-missing", "net/part-unpowered", "net/mixed-kinds"];
    let part = |finding: &Finding| model.part_named(finding.about.split('.').next().unwrap_or_default());
    let dead = part(root).or_else(|| root.involved.pins.first().map(|pin| model.pin(*pin).part));
    let (Some(dead), Some(subject)) = (dead.filter(|_| rules.contains(&root.rule)), part(other)) else { return false };
    let elements = |part: PartId| model.part(part).elements.iter().map(|id| &model.element(*id).kind);
    let reaches =
        |pin: PinId, to: &dyn Fn(PinId) -> bool| facts.connectivity().reached(pin, Towards::Supply).into_iter().any(to);
    match other.rule {
        "logic/works-differs" | "load/starved"
            if subject != dead && other.involved.works != Some(WorksFault::Unasked) =>
        {
            let outputs: Vec<PinId> = elements(dead)
                .filter_map(|kind| match kind {
                    ElementKind::Output { pin, high_side: true, .. } => Some(*pin),
                    _ => None,
                })
                .collect();
            let inputs = elements(subject).filter_map(|kind| match kind {
                ElementKind::Sense { pin, .. } => Some(*pin),
                ElementKind::Load(load) => Some(load.feed),
                _ => None,
            });
            inputs.into_iter().any(|pin| reaches(pin, &|other| outputs.contains(&other)))
        }
        "safety/fuse-oversized" => {
            let feeds = elements(dead).filter_map(|kind| match kind {
                ElementKind::Load(load) => Some(load.feed),
                _ => None,
            });
            feeds.into_iter().any(|pin| reaches(pin, &|other| model.pin(other).part == subject))
        }
        _ => false,
    }
}

/// Rules about what a part lacks whose wires end on pins that it has not.
const LACKS: [&str; 9] = [
    "net/part-unpowered",
    "net/ground-missing",
    "net/trigger-open",
    "net/sound-open",
    "logic/screen-input-empty",
    "logic/works-differs",
    "logic/view-differs",
    "load/coil-weak",
    "load/starved",
];

/// Wires on pins that a part does not have, and what that part lacks, or what gets its feed over it.
fn is_of_unknown_pin(facts: &Facts, root: &Finding, other: &Finding, is_first: bool) -> bool {
    let model = facts.model;
    let part = |finding: &Finding| finding.involved.pins.first().map(|pin| model.pin(*pin).part);
    let Some(of) = part(root).filter(|_| root.rule == "net/pin-unknown") else { return false };
    if other.rule == root.rule {
        return is_first && part(other) == Some(of);
    }
    let about = other.about.split('.').next().and_then(|name| model.part_named(name));
    let screen = other.involved.screen.map(|screen| model.screens[screen.0].part);
    let subjects: Vec<PartId> = [about, screen, other.involved.wanted()].into_iter().flatten().collect();
    let is_fed_over = |subject: &PartId| {
        let feeds = Consumer::of_part(facts.connectivity(), *subject).into_iter().filter_map(|consumer| consumer.feed);
        let mut reached = feeds.flat_map(|feed| facts.connectivity().reached(feed, Towards::Supply));
        reached.any(|pin| model.pin(pin).part == of)
    };
    LACKS.contains(&other.rule) && subjects.iter().any(|subject| *subject == of || is_fed_over(subject))
}

/// Fuses that may not open before one and the same fuse upstream.
fn has_same_fuse_before(root: &Finding, other: &Finding) -> bool {
    let is_it = |finding: &Finding| finding.rule == "load/fuses-discriminate";
    let before = |finding: &Finding| finding.also.first().map(|(place, _)| *place);
    is_it(root) && is_it(other) && root.severity == other.severity && before(root) == before(other)
}

/// A drive that fails on a screen that also shows the wrong picture in some state, or after it failed before.
fn fails_with_state(all: &[Finding], root: usize, other: usize) -> bool {
    let is_drive = |finding: &Finding| finding.rule == "time/drive-broken";
    let (cause, drive) = (&all[root], &all[other]);
    let is_on_its_screen = |finding: &Finding| {
        let screen = drive.involved.screen;
        finding.rule == "logic/view-differs" && screen.is_some() && finding.involved.screen == screen
    };
    let in_states = cause.severity == Severity::Error && IN_STATES.iter().any(|family| cause.rule.starts_with(family));
    let shows = |(i, finding): (usize, &Finding)| {
        is_on_its_screen(finding) && (i == root || finding.follows_from == Some(root))
    };
    is_drive(drive)
        && (in_states && all.iter().enumerate().any(shows)
            || root < other && is_drive(cause) && cause.about == drive.about)
}

/// Whether a pin is a part or one of its pins.
fn is_pin_of(part: &str, pin: &str) -> bool {
    pin == part || pin.split_once('.').is_some_and(|(of, _)| of == part)
}
