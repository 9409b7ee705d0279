//! What the spec leaves open is chosen, and `build --write-chosen` writes it down: the complete spec means the same.

#[path = "made_up/good.rs"]
mod good;
mod jobs;

use assert_cmd::cargo::cargo_bin_cmd;
use form::{TextMap, Texts};
use job::Job;
use jobs::{LAMP, root};
use model::{Model, PartKind};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

/// What the program can choose.
const OPEN: [&str; 4] = ["id", "gauge", "colour", "rating"];

/// A text without the entries of some keys in its wires and fuses, which are maps in braces of one line.
fn without(text: &str, keys: &[&str]) -> String {
    let is_meant = |line: &str| line.trim_start().starts_with("- {id:") || line.contains("use: fuse-");
    let strip = |line: &str| {
        keys.iter().fold(line.to_string(), |line, key| {
            if let Some((before, after)) = line.split_once(&format!("{{{key}: ")) {
                return format!("{before}{{{}", after[after.find(',').unwrap() + 1..].trim_start());
            }
            let Some((before, after)) = line.split_once(&format!(", {key}: ")) else { return line };
            format!("{before}{}", &after[after.find([',', '}']).unwrap_or(after.len())..])
        })
    };
    text.lines().map(|line| if is_meant(line) { strip(line) } else { line.to_string() } + "\n").collect()
}

/// The texts of a spec and of what it includes.
fn texts(name: &str, text: &str) -> TextMap {
    let shop = "shop/parts.yaml";
    let parts = fs::read_to_string(root().join("harness-specs").join(shop)).unwrap();
    TextMap::new([(name, text), (shop, parts.as_str())])
}

fn job<'j>(texts: &dyn Texts, name: &str) -> Job<'j> {
    Job::read(texts, Path::new(name)).unwrap_or_else(|_| panic!("{name} is read"))
}

/// What the choice is about: each wire's number, ends, size and colour, and each part's rating.
fn choices(model: &Model) -> Vec<String> {
    let wires = model.wire_ids().map(|id| {
        let wire = model.wire(id);
        format!("{} {} {:?}", model.wire_words(id), wire.gauge, wire.colour)
    });
    wires.chain(model.parts.iter().map(|part| format!("{} {:?}", part.name, part.rating))).collect()
}

fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| line.find(" #").map(|at| &line[at..])).collect()
}

/// The complete spec has the same wires, chooses nothing more, and keeps every comment and every other line.
fn assert_written(name: &str, open: &str) {
    let first = job(&texts(name, open), name);
    let written = first.with_chosen().unwrap();
    let second = job(&texts(name, &written), name);
    assert_eq!(choices(first.model().unwrap()), choices(second.model().unwrap()), "{name}");
    assert_eq!(second.with_chosen().unwrap(), written, "{name}: nothing is left to choose");
    assert_eq!(comments(open), comments(&written), "{name}");
    assert_eq!(open.lines().count(), written.lines().count(), "{name}");
    no_two_alike(name, second.model().unwrap());
}

/// In a connector no two wires of different nets are alike, where the program chose the colours.
fn no_two_alike(name: &str, model: &Model) {
    let nets = graph::Nets::new(model);
    for part in model.part_ids().filter(|part| model.part(*part).kind == PartKind::Connector) {
        let mut met = BTreeSet::new();
        let mut nets_met = BTreeSet::new();
        for pin in &model.part(part).pins {
            for wire in model.wires_on(*pin).map(|id| model.wire(id)) {
                let Some(colour) = wire.colour else { continue };
                let is_new = nets_met.insert((nets.of(*pin), colour.to_string()));
                assert!(
                    !is_new || met.insert(colour.to_string()),
                    "{name}: {colour} twice in {}",
                    model.part(part).name
                );
            }
        }
    }
}

#[test]
fn what_is_chosen_is_written_into_every_demonstration() {
    for name in ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"] {
        let file = format!("{name}.yaml");
        let text = fs::read_to_string(root().join("harness-specs").join(&file)).unwrap();
        let open = without(&text, &OPEN);
        assert_ne!(open, text);
        assert_written(&file, &open);
    }
}

#[test]
fn what_is_chosen_is_written_into_specs_made_at_random() {
    for seed in 0..12 {
        let text = good::spec(seed);
        let open = without(&text, &OPEN);
        assert_written(&format!("good-{seed}.yaml"), &open);
    }
}

/// The fuses that the rules find too small.
fn too_small(model: &Model) -> BTreeSet<String> {
    let is_size = |rule: &str| matches!(rule, "load/fuse-loaded" | "load/fuse-inrush");
    let found = check::check(&states::Solved::new(model)).findings.into_iter();
    found.filter(|finding| is_size(finding.rule)).map(|finding| finding.about).collect()
}

/// A chosen fuse holds its current and the inrush behind it, by the rules that judge any fuse; the next smaller one does not.
#[test]
fn a_chosen_fuse_is_the_smallest_that_holds() {
    let mut smaller = 0;
    for name in ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"] {
        let file = format!("{name}.yaml");
        let text = fs::read_to_string(root().join("harness-specs").join(&file)).unwrap();
        let open = job(&texts(&file, &without(&text, &["rating"])), &file);
        let model = open.model().unwrap();
        assert_eq!(too_small(model), BTreeSet::new(), "{name}");
        let mut tight = model.clone();
        let mut lowered = BTreeSet::new();
        for id in model.part_ids() {
            let part = model.part(id);
            let Some(rating) = part.rating.filter(|_| part.rating_open.is_some()) else { continue };
            let below = part.form.ratings.iter().copied().filter(|other| *other < rating);
            if let Some(below) = below.reduce(|a, b| if b > a { b } else { a }) {
                model::rate(&mut tight, id, below);
                lowered.insert(part.name.to_string());
            }
        }
        smaller += lowered.len();
        assert_eq!(too_small(&tight), lowered, "{name}");
    }
    assert!(smaller >= 8, "{smaller} fuses were above the smallest of their kind");
}

const THROUGH: &str = "\
harness: 1
job: {title: Two lamps behind a connector, nominal: 12 V}
places: [dash, tail]
runs: [{between: [dash, tail], length: 3 m}]
supplies: {battery: {terminal: \"30\", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}}
grounds: {GND: {at: tail}}
parts:
  F1: {use: fuse-blade, at: dash}
  F2: {use: fuse-blade, at: dash}
  L1: {use: lamp-21w, at: tail}
  L2: {use: lamp-21w, at: tail}
connectors:
  X1: {use: connector-3-sealed, at: tail}
  X1R: {use: connector-3-sealed, at: tail, mates: X1}
wires:
  - {from: battery, to: F1.1}
  - {from: battery, to: F2.1}
  - {from: F1.2, to: X1, signal: left} # to the left lamp
  - {from: F2.2, to: \"X1\", signal: right}
  - {from: X1R, to: L2.power, signal: right}
  - {from: X1R, to: L1.power, signal: left}
  - {from: L1.ground, to: GND}
  - {from: L2.ground, to: GND}
";

/// Wires of one signal meet in one cavity, which is written into the spec.
#[test]
fn cavities_are_chosen_by_signal() {
    assert_written("through.yaml", THROUGH);
    let written = job(&texts("through.yaml", THROUGH), "through.yaml").with_chosen().unwrap();
    // The lamp's filament takes ten times its current for 25 ms: `load/fuse-inrush` finds 3 A too small, as its page shows.
    for line in [
        "F1: {use: fuse-blade, at: dash, rating: 5 A}",
        "- {from: F1.2, to: X1.1, signal: left, id: 3a, gauge:",
        "- {from: F2.2, to: \"X1.2\", signal: right, id: 4a, gauge:",
        "- {from: X1R.2, to: L2.power, signal: right, id: 4b,",
        "- {from: X1R.1, to: L1.power, signal: left, id: 3b,",
    ] {
        assert!(written.contains(line), "{line}: {written}");
    }
    let unlike = THROUGH.replace("L2.power, signal: right", "L2.power, signal: other");
    let job = jobs::job_of_text(&unlike);
    let loose: Vec<&str> = job.model().unwrap().loose.iter().map(|wire| wire.end.as_str()).collect();
    assert_eq!(loose, ["X1", "X1R"], "wires of different signals are not joined");
}

/// Grounds are black and feeds red; what the spec gives stays.
#[test]
fn colours_follow_what_a_wire_carries() {
    let open = without(LAMP, &["colour"])
        .replace("id: 2, from: F1.2, to: L1.power", "id: 2, from: F1.2, to: L1.power, colour: PK");
    let job = jobs::job_of_text(&open);
    let model = job.model().unwrap();
    let colours: Vec<String> = model.wires.iter().map(|wire| wire.colour.unwrap().to_string()).collect();
    assert_eq!(colours, ["RD", "PK", "BK"]);
}

/// A file that is there is not replaced unasked, and nothing is written then.
#[test]
fn a_file_that_is_there_is_kept() {
    let folder = TempDir::new().unwrap();
    let path = |name: &str| folder.path().join(name).display().to_string();
    fs::write(path("lamp.yaml"), without(LAMP, &["colour"])).unwrap();
    fs::write(path("kept.yaml"), "mine").unwrap();
    let build = |more: &[&str]| {
        let mut command = cargo_bin_cmd!("loomwright");
        command.args(["build", &path("lamp.yaml"), "--out", &path("book"), "--write-chosen", &path("kept.yaml")]);
        command.args(more).output().unwrap()
    };
    let refused = build(&[]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&refused.stderr).contains("--replace"));
    assert!(fs::read_to_string(path("kept.yaml")).unwrap() == "mine" && !Path::new(&path("book")).exists());
    assert_eq!(build(&["--replace"]).status.code(), Some(0));
    assert!(fs::read_to_string(path("kept.yaml")).unwrap().contains("to: L1.power, gauge: 1 mm², colour: RD"));
}
