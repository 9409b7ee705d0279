//! The specs of `harness-specs/`: every one is read without a problem.

use assert_cmd::cargo::cargo_bin_cmd;
use std::fs;
use std::path::PathBuf;

/// Every spec in `harness-specs/`; files in its folders are parts files that specs include.
fn specs() -> Vec<PathBuf> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("harness-specs");
    let mut all: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|e| e == "yaml"))
        .collect();
    all.sort();
    all
}

#[test]
fn every_demo_is_read() {
    let all = specs();
    assert!(all.len() >= 5, "four vehicles and the first harness, not {}", all.len());
    for spec in all {
        let output = cargo_bin_cmd!("loomwright").arg("check").arg(&spec).output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr);
        assert_ne!(output.status.code(), Some(2), "{}:\n{said}", spec.display());
    }
}

#[test]
fn the_first_harness_has_twenty_lines() {
    let spec = specs().into_iter().find(|path| path.ends_with("first-harness.yaml")).unwrap();
    let text = fs::read_to_string(spec).unwrap();
    assert_eq!(text.lines().count(), 20);
}
