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

/// A text without the entries of some keys in its wires, which are maps in braces of one line.
fn without(text: &str, keys: &[&str]) -> String {
    let in_wire = |line: &str| line.trim_start().starts_with("- {id:");
    let strip = |line: &str| {
        keys.iter().fold(line.to_string(), |line, key| match line.split_once(&format!(", {key}: ")) {
            Some((before, after)) => {
                let end = after.find([',', '}']).unwrap_or(after.len());
                format!("{before}{}", &after[end..])
            }
            None => line,
        })
    };
    text.lines().map(|line| if in_wire(line) { strip(line) } else { line.to_string() } + "\n").collect()
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

/// What the choice is about: each wire's size and colour.
fn wires(model: &Model) -> Vec<String> {
    model
        .wire_ids()
        .map(|id| model.wire(id))
        .map(|wire| format!("{} {} {:?}", wire.id, wire.gauge, wire.colour))
        .collect()
}

fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| line.find(" #").map(|at| &line[at..])).collect()
}

/// The complete spec has the same wires, chooses nothing more, and keeps every comment and every other line.
fn assert_written(name: &str, open: &str) {
    let first = job(&texts(name, open), name);
    let written = first.with_chosen().unwrap();
    let second = job(&texts(name, &written), name);
    assert_eq!(wires(first.model().unwrap()), wires(second.model().unwrap()), "{name}");
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
        let open = without(&text, &["gauge", "colour"]);
        assert_ne!(open, text);
        assert_written(&file, &open);
    }
}

#[test]
fn what_is_chosen_is_written_into_specs_made_at_random() {
    for seed in 0..12 {
        let text = good::spec(seed);
        let open = without(&text, &["gauge", "colour"]);
        assert_written(&format!("good-{seed}.yaml"), &open);
    }
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
