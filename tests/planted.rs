//! One wrong wire, planted at every applicable place of every demo and of small sound specs: `check` reports it by its
//! own rule, and reports nothing else that it did not report before.

mod jobs;

use check::Severity;
use files::Disk;
use form::Texts;
use job::Job;
use jobs::{job_of, root, specs_in};
use model::{Domain, ElementKind, Family, Model, PartId, PartKind, PinId, PinRole, is_signal, is_terminal};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// A spec with one more wire.
fn with_wire(text: &str, model: &Model, [from, to]: [PinId; 2]) -> String {
    let is_picture = [from, to].into_iter().all(|pin| model.pin(pin).domain == Domain::Video);
    let make = if is_picture { "make: coax" } else { "gauge: 1 mm²" };
    let [from, to] = [from, to].map(|pin| model.pin_name(pin));
    let wire = format!("wires:\n  - {{id: planted, from: {from}, to: {to}, {make}, length: 30 m, colour: PK}}\n");
    text.replacen("\nwires:\n", &format!("\n{wire}"), 1)
}

/// Rules and subjects of what `check` finds, other than what follows from another finding.
fn found<'j>(job: &'j Job<'j>) -> Found {
    let report = job.report().unwrap();
    report.roots().map(|finding| (finding.rule, finding.about.clone())).collect()
}

impl Sound {
    /// The rules of what another text of the spec adds, and of what it hides.
    fn changes(&self, text: &str) -> [Vec<&'static str>; 2] {
        let texts = Beside { path: &self.path, text };
        let job = Job::read(&texts, &self.path).unwrap_or_else(|_| panic!("{}: can't be read", self.path.display()));
        let after = found(&job);
        let rules = |a: &Found, b: &Found| a.difference(b).map(|(rule, _)| *rule).collect();
        [rules(&after, &self.found), rules(&self.found, &after)]
    }
}

/// The files of the disk, one with another text.
struct Beside<'t> {
    path: &'t Path,
    text: &'t str,
}

impl Texts for Beside<'_> {
    fn contents(&self, path: &Path, most: usize) -> Result<Vec<u8>, String> {
        if path == self.path { Ok(self.text.as_bytes().to_vec()) } else { Disk::default().contents(path, most) }
    }

    fn identity(&self, path: &Path) -> PathBuf {
        Disk::default().identity(path)
    }
}

/// Rules and subjects.
type Found = BTreeSet<(&'static str, String)>;

/// A spec without an error.
struct Sound {
    path: PathBuf,
    text: String,
    found: Found,
}

/// The demos and the small specs of other tests that have no error of their own.
static SPECS: LazyLock<Vec<Sound>> = LazyLock::new(|| {
    let paths = specs_in(&["harness-specs", "tests/drawings"]).into_iter();
    let sound = paths.filter_map(|path| {
        let job = job_of(&path);
        let is_sound = job.report().unwrap().count(Severity::Error) == 0;
        let text = std::fs::read_to_string(&path).unwrap();
        is_sound.then(|| Sound { text, found: found(&job), path })
    });
    sound.collect()
});

/// Pins that have a wire.
fn wired(model: &Model) -> impl Fn(&PinId) -> bool {
    move |pin| model.wires_on(*pin).next().is_some()
}

/// Plants a wire for each pair that `pairs` gives, at most `most` in one spec, and wants the rule and no other.
fn plant(rule: &str, most: usize, pairs: impl Fn(&Model) -> Vec<[PinId; 2]>) -> usize {
    let mut planted = 0;
    for spec in SPECS.iter() {
        let (path, text) = (&spec.path, &spec.text);
        let model = job_of(path).into_model().unwrap();
        let all = pairs(&model);
        let step = all.len().div_ceil(most).max(1);
        for pair in all.into_iter().step_by(step) {
            let [new, gone] = spec.changes(&with_wire(text, &model, pair));
            let names = pair.map(|pin| model.pin_name(pin));
            let place = path.strip_prefix(root()).unwrap().display();
            assert_eq!(new, [rule], "{place}: {names:?}");
            assert!(gone.is_empty(), "{place}: {names:?} hides {gone:?}");
            planted += 1;
        }
    }
    planted
}

/// Pins of pictures, sound and data that have a wire.
fn signals(model: &Model) -> Vec<PinId> {
    let all = model.pin_ids().filter(wired(model)).filter(|pin| is_terminal(model, *pin));
    all.filter(|pin| is_signal(model.pin(*pin).domain) && model.pin(*pin).role != PinRole::Return).collect()
}

/// Each signal pin with each pin that a function picks.
fn with_each(model: &Model, other: impl Fn(PinId) -> bool) -> Vec<[PinId; 2]> {
    let others: Vec<PinId> = model.pin_ids().filter(wired(model)).filter(|pin| other(*pin)).collect();
    signals(model).into_iter().flat_map(|signal| others.iter().map(move |other| [*other, signal])).collect()
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_feed_on_a_picture_or_a_sound() {
    let is_feed = |model: &Model, pin: PinId| {
        let part = model.part(model.pin(pin).part);
        part.kind == PartKind::Device && model.pin(pin).role == PinRole::Feed
    };
    assert!(plant("net/mixed-kinds", 2, |model| with_each(model, |pin| is_feed(model, pin))) > 7);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_ground_on_a_picture_or_a_sound() {
    let is_ground = |model: &Model, pin: PinId| model.part(model.pin(pin).part).kind == PartKind::Ground;
    assert!(plant("net/mixed-kinds", 2, |model| with_each(model, |pin| is_ground(model, pin))) > 7);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_picture_or_a_sound_on_a_trigger() {
    let is_trigger = |model: &Model, pin: PinId| {
        model.elements.iter().any(|element| matches!(element.kind, ElementKind::Sense { pin: of, .. } if of == pin))
    };
    assert!(plant("net/mixed-kinds", 2, |model| with_each(model, |pin| is_trigger(model, pin))) > 7);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_picture_on_sound() {
    let pairs = |model: &Model| {
        let kind = |pin: PinId| model.pin(pin).domain;
        let all = signals(model);
        let pairs = all.iter().flat_map(|a| all.iter().map(move |b| [*a, *b]));
        pairs.filter(|[a, b]| kind(*a) == Domain::Video && kind(*b) == Domain::Audio).collect()
    };
    plant("net/mixed-kinds", 2, pairs);
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_feed_on_the_output_of_a_converter() {
    let pairs = |model: &Model| {
        let converters = model.elements.iter().filter_map(|element| match element.kind {
            ElementKind::Converter { input, output, .. } => Some([input, output]),
            _ => None,
        });
        converters.collect()
    };
    assert!(plant("net/outputs-joined", 4, pairs) > 0);
}

/// Rules and subjects of the errors.
fn errors<'j>(job: &'j Job<'j>) -> Found {
    let findings = job.report().unwrap().findings.iter();
    let errors = findings.filter(|finding| finding.severity == Severity::Error);
    errors.map(|finding| (finding.rule, finding.about.clone())).collect()
}

/// The ground wire of every camera and screen with a coaxial cable left out in turn: the shield is its ground, and that
/// is the one error.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_camera_or_a_screen_without_its_ground_wire() {
    let mut left_out = 0;
    for spec in SPECS.iter() {
        let (path, text) = (&spec.path, &spec.text);
        let model = job_of(path).into_model().unwrap();
        let shows = |part: PartId| matches!(model.part(part).form.family, Family::Camera | Family::Screen);
        let is_its_ground = |pin: &PinId| {
            let this = model.pin(*pin);
            this.role == PinRole::Return && shows(this.part) && model.wires_on(*pin).count() == 1
        };
        let has_shield = |part: PartId| {
            model.part(part).pins.iter().any(|pin| model.wires_on(*pin).any(|wire| model::has_shield(&model, wire)))
        };
        for pin in model.pin_ids().filter(is_its_ground).filter(|pin| has_shield(model.pin(*pin).part)) {
            let wire = model.wires_on(pin).next().unwrap();
            let begin = format!("{{id: {},", model.wire(wire).id);
            let is_gone = |line: &&str| line.trim_start().trim_start_matches("- ").starts_with(&begin);
            let lines = text.lines().filter(|line| !is_gone(line));
            let text: String = lines.map(|line| format!("{line}\n")).collect();
            let texts = Beside { path, text: &text };
            let Ok(job) = Job::read(&texts, path) else { continue };
            let name = model.part(model.pin(pin).part).name.to_string();
            assert_eq!(errors(&job), BTreeSet::from([("net/ground-missing", name)]), "{}", path.display());
            left_out += 1;
        }
    }
    assert!(left_out > 7, "{left_out}");
}

/// A second input on an output of pictures, over a Y-lead.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn one_picture_on_two_inputs() {
    let pairs = |model: &Model| {
        let is_video = |pin: PinId, role| model.pin(pin).domain == Domain::Video && model.pin(pin).role == role;
        let has_load = |pin: PinId| {
            let elements = model.part(model.pin(pin).part).elements.iter();
            elements.into_iter().any(|id| matches!(model.element(*id).kind, ElementKind::Load(_)))
        };
        let is_wired = wired(model);
        let pins = || model.pin_ids().filter(|pin| is_terminal(model, *pin) && has_load(*pin));
        let outputs: Vec<PinId> = pins().filter(|pin| is_video(*pin, PinRole::Output) && is_wired(pin)).collect();
        let free: Vec<PinId> = pins().filter(|pin| is_video(*pin, PinRole::Input) && !is_wired(pin)).collect();
        outputs.iter().flat_map(|from| free.iter().map(move |to| [*from, *to])).collect()
    };
    println!("{} planted", plant("net/video-level", 2, pairs));
}

/// Every cable of a picture cut and joined again with a connector that does not pass its shield.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_picture_through_a_connector_for_its_core_alone() {
    let mut cut = 0;
    for spec in SPECS.iter() {
        let (path, text) = (&spec.path, &spec.text);
        let model = job_of(path).into_model().unwrap();
        for id in model.wire_ids().filter(|id| model::has_shield(&model, *id)).step_by(3) {
            let wire = model.wire(id);
            let [from, to] = wire.ends.map(|end| model.pin_name(end));
            let Some(place) = model.part(model.pin(wire.ends[0]).part).at else { continue };
            let halves = format!(
                "\nconnectors:\n  PX1: {{use: connector-1, at: {0}, mates: PX2}}\n  PX2: {{use: connector-1, at: {0}}}\n",
                model.places[place.0]
            );
            let begin = format!("{{id: {},", wire.id);
            let line =
                text.lines().find(|line| line.trim_start().trim_start_matches("- ").starts_with(&begin)).unwrap();
            let short =
                format!("  - {{id: planted, from: {from}, to: PX1.1, make: coax, length: 0.2 m, colour: YE}}\n");
            // A shield that is open changes what the loss of a ground does. The cable begins at the connector; a short one leads to its first pin.
            let Some(at) = line.find(&from) else { continue };
            let long = format!("{}PX2.1{}", &line[..at], &line[at + from.len()..]);
            if !text.contains("\nconnectors:\n") || !line.contains(&to) {
                continue;
            }
            let changed = text.replacen("\nconnectors:\n", &halves, 1).replacen(
                line,
                &format!("{long}\n{}", short.trim_end()),
                1,
            );
            let [new, _] = spec.changes(&changed);
            assert!(new.contains(&"net/shield-open"), "{}: wire {}: {new:?}", path.display(), wire.id);
            let others = new
                .iter()
                .filter(|rule| !["net/shield-open", "build/colour-twice", "safety/ground-lost"].contains(*rule));
            assert_eq!(others.count(), 0, "{}: wire {}: {new:?}", path.display(), wire.id);
            cut += 1;
        }
    }
    assert!(cut > 4, "{cut}");
}

/// Every cable of a picture in turn as a single wire. Its shield grounds nothing any more, so notes on lost grounds change.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_picture_over_a_single_wire() {
    let mut planted = 0;
    for spec in SPECS.iter() {
        let model = job_of(&spec.path).into_model().unwrap();
        for id in model.wire_ids().filter(|id| model::has_shield(&model, *id)).step_by(2) {
            let begin = format!("{{id: {},", model.wire(id).id);
            let is_line = |line: &&str| line.trim_start().trim_start_matches("- ").starts_with(&begin);
            let line = spec.text.lines().find(is_line).unwrap();
            let text = spec.text.replacen(line, &line.replace("make: coax", "gauge: 0.5 mm²"), 1);
            let [new, _] = spec.changes(&text);
            let new: Vec<&str> = new.into_iter().filter(|rule| *rule != "safety/ground-lost").collect();
            let is_short = model.wire(id).length.is_some_and(|length| length.value() <= 0.3);
            let expected: &[&str] = if is_short { &[] } else { &["net/picture-unshielded"] };
            assert_eq!(new, expected, "{}: {line}", spec.path.display());
            planted += 1;
        }
    }
    assert!(planted > 7, "{planted}");
}

/// Every ground point in turn with 400 mΩ, where more than 0.25 A returns by it: it is named, and no cable or wire beside it.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_poor_ground_point() {
    let mut planted = 0;
    for spec in SPECS.iter() {
        let model = job_of(&spec.path).into_model().unwrap();
        for part in model.parts.iter().filter(|part| part.kind == PartKind::Ground) {
            let begin = format!("{}:", part.name);
            let poor = |line: &str| match line.find(&begin).filter(|_| !line.contains("resistance")) {
                Some(at) => {
                    let end = at + begin.len();
                    format!("{}{}", &line[..end], line[end..].replacen('{', "{resistance: 400 mΩ, ", 1))
                }
                None => line.to_string(),
            };
            let (before, grounds) = spec.text.split_once("\ngrounds:").unwrap();
            let (own, after) = grounds.split_at(grounds.find("\ninputs:").unwrap_or(grounds.len()));
            let own: Vec<String> = own.lines().map(poor).collect();
            let [new, _] = spec.changes(&format!("{before}\ngrounds:{}{after}", own.join("\n")));
            let new: Vec<&str> = new.into_iter().filter(|rule| *rule != "safety/ground-lost").collect();
            assert!(new.is_empty() || new == ["load/ground-drop"], "{}: {}: {new:?}", spec.path.display(), part.name);
            planted += usize::from(!new.is_empty());
        }
    }
    assert!(planted > 4, "{planted}");
}

/// A relay that opens its own feed, on a fuse of its own, beside a sound harness: it chatters in every state, and
/// nothing else is reported.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn a_relay_that_chatters_on_its_own_fuse() {
    let mut planted = 0;
    for spec in SPECS.iter().filter(|spec| spec.text.contains("\nparts:\n")) {
        let model = job_of(&spec.path).into_model().unwrap();
        let named = |kind: PartKind| model.parts.iter().find(|part| part.kind == kind).unwrap();
        let battery = model
            .parts
            .iter()
            .find(|part| part.elements.iter().any(|id| matches!(model.element(*id).kind, ElementKind::Battery { .. })));
        let (battery, ground) = (battery.unwrap(), named(PartKind::Ground));
        let at = model.place_name(battery.at);
        let volts = if model.job.nominal.value() > 18.0 { 24 } else { 12 };
        let parts = format!(
            "\nparts:\n  PF1: {{use: fuse-blade, rating: 3 A, at: {at}}}\n  \
             PK1: {{use: relay-mini-spdt-{volts}v-diode, at: {at}}}\n"
        );
        let wire = |id: &str, from: &str, to: &str| {
            let length = if id == "p4" { "30 m" } else { "0.3 m" };
            format!("  - {{id: {id}, from: {from}, to: {to}, gauge: 1 mm², length: {length}, colour: PK/BK}}\n")
        };
        let wires = [
            wire("p1", &battery.name, "PF1.1"),
            wire("p2", "PF1.2", "PK1.30"),
            wire("p3", "PK1.87a", "PK1.86"),
            wire("p4", "PK1.85", &ground.name),
        ];
        let text = spec.text.replacen("\nparts:\n", &parts, 1);
        let text = text.replacen("\nwires:\n", &format!("\nwires:\n{}", wires.concat()), 1);
        let [new, gone] = spec.changes(&text);
        // Questions about time begin at states that settle, and there is none; the report says so.
        let begins_settled = |rule: &str| ["time/", "spec/accept-unused"].iter().any(|of| rule.starts_with(of));
        let faults: Vec<&str> = new.into_iter().filter(|rule| !begins_settled(rule)).collect();
        assert_eq!(faults, ["logic/chatter"], "{}", spec.path.display());
        let hidden: Vec<&str> = gone.into_iter().filter(|rule| !begins_settled(rule)).collect();
        assert!(hidden.is_empty(), "{}: hides {hidden:?}", spec.path.display());
        planted += 1;
    }
    assert!(planted > 4, "{planted}");
}
