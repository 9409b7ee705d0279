//! The JSON Schemas that editors use: kept beside the specs, equal to what the program prints, and held by a validator
//! that is not this project's to the demos and to files with mistakes.

use assert_cmd::cargo::cargo_bin_cmd;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

#[path = "kept/mod.rs"]
mod kept;

mod judges;

const SPEC: &str = "harness-specs/harness.schema.json";
const PARTS: &str = "harness-specs/parts.schema.json";

#[test]
fn the_kept_schemas_are_todays() {
    for (of, path) in [("spec", SPEC), ("parts", PARTS)] {
        let printed = cargo_bin_cmd!("loomwright").args(["schema", of]).output().unwrap();
        assert!(printed.status.success());
        kept::hold(Path::new(path), &printed.stdout, "schema");
    }
}

/// The other program's word, or `None` where it isn't installed; the test script installs it.
fn validate(schema: &str, files: &[PathBuf]) -> Option<Output> {
    if kept::rewriting() || !judges::available(&judges::SCHEMAS) {
        return None;
    }
    let root = kept::root();
    let script = root.join("tests/schema_check.py");
    Some(Command::new("/usr/bin/python3").arg(script).arg(root.join(schema)).args(files).output().unwrap())
}

fn yaml_in(folder: &str) -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> = fs::read_dir(kept::root().join(folder))
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    all.sort();
    assert!(!all.is_empty(), "{folder} holds no YAML");
    all
}

#[test]
fn specs_and_parts_files_keep_to_the_schemas() {
    let shop_and_catalogue = [yaml_in("harness-specs/shop"), yaml_in("src/catalogue/data")].concat();
    let specs = [yaml_in("harness-specs"), yaml_in("harness-specs/wishes")].concat();
    for (schema, files) in [(SPEC, specs), (PARTS, shop_and_catalogue)] {
        let Some(output) = validate(schema, &files) else { return };
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stdout));
    }
}

/// What an editor must underline: each of these, put into a sound spec, is found by the schema alone.
#[test]
fn mistakes_are_reported_by_the_schema() {
    let head = "harness: 1\njob: {title: x, nominal: 12 V}\n";
    let mistakes = [
        "wire: []\n",
        "runs: [{between: [a, b], length: 1.4}]\n",
        "runs: [{between: [a, b], length: 1.4 V}]\n",
        "runs: [{between: [a, b]}]\n",
        "limits: {drop: 3}\n",
        "wires: [{id: 1, from: a, to: b, colour: red}]\n",
        "wires: [{id: 1, from: a.b.c, to: b}]\n",
        "wires: [{id: 1, from: a, to: b, make: rope}]\n",
        "cameras: {REAR: {at: tail}}\n",
        "cameras: {RE.AR: {use: camera-cvbs-12v}, at: 1}\n",
        "inputs: {a: {kind: lamp}}\n",
        "inputs: {a: {flash: 60 to 120 /min}}\n",
        "supplies: {b: {terminal: \"30\", at: p, volts: [11.8 V, 12.6 V]}}\n",
        "own-parts: {a: {title: A, family: relay, inside: [{spring: {}}]}}\n",
    ];
    let folder = tempfile::tempdir().unwrap();
    let write = |name: String, tail: &str| {
        let path = folder.path().join(name);
        fs::write(&path, format!("{head}{tail}")).unwrap();
        path
    };
    let mut files: Vec<PathBuf> =
        mistakes.iter().enumerate().map(|(i, tail)| write(format!("mistake-{i}.yaml"), tail)).collect();
    files.push(write("sound.yaml".to_string(), ""));
    let Some(output) = validate(SPEC, &files) else { return };
    let reported = String::from_utf8_lossy(&output.stdout);
    assert!(output.stderr.is_empty(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(!reported.contains("sound.yaml"), "{reported}");
    for (i, mistake) in mistakes.iter().enumerate() {
        assert!(reported.contains(&format!("mistake-{i}.yaml")), "the schema takes: {mistake}");
    }
}
