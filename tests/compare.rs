//! `compare`: the rework between two revisions, as text, as JSON and as a page.

mod jobs;

use assert_cmd::cargo::cargo_bin_cmd;
use jobs::root;
use serde_json::Value;
use std::fs;
use std::path::Path;

const VAN: &str = "harness-specs/wheelchair-van.yaml";

fn compare(old: &str, new: &Path, arguments: &[&str]) -> (String, String, Option<i32>) {
    let mut command = cargo_bin_cmd!("loomwright");
    let output = command.current_dir(root()).args(["compare", old]).arg(new).args(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

/// The van with changes, in a folder of its own.
fn revised(changes: &[(&str, &str)]) -> (tempfile::TempDir, std::path::PathBuf) {
    let mut text = fs::read_to_string(root().join(VAN)).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("van.yaml");
    fs::write(&path, text).unwrap();
    (folder, path)
}

/// A camera with another name, a smaller fuse, a wire on the other input: each is said as what it is.
#[test]
fn the_rework_is_what_was_changed() {
    let (_folder, new) = revised(&[
        ("revision: A", "revision: B"),
        ("CABIN", "SALOON"),
        ("K1.87,       to: S-RAMP,      gauge: 0.75 mm²", "K1.87,       to: S-RAMP,      gauge: 1 mm²"),
        ("to: HU1.LEFT, ", "to: HU1.RIGHT,"),
    ]);
    let (out, err, code) = compare(VAN, &new, &[]);
    assert_eq!(code, Some(1), "{err}");
    insta::assert_snapshot!(out);
}

#[test]
fn the_same_revision_twice_differs_in_nothing() {
    let (out, _, code) = compare(VAN, &root().join(VAN), &[]);
    assert!(code == Some(0) && out.starts_with("no difference"), "{out}");
    let (out, _, code) = compare(VAN, &root().join(VAN), &["--format", "json"]);
    let json: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(code, Some(0));
    assert_eq!(json["comparison"]["rework"]["added_wires"], Value::Array(Vec::new()));
}

/// The page holds all lines of the text, marks the wires in both diagrams, and takes nothing from elsewhere.
#[test]
fn the_page_holds_every_line_and_marks_the_wires() {
    let (folder, new) = revised(&[("to: HU1.LEFT, ", "to: HU1.RIGHT,")]);
    let page = folder.path().join("rework.html");
    let (out, err, code) = compare(VAN, &new, &["--out", page.to_str().unwrap()]);
    assert_eq!(code, Some(1), "{err}");
    let html = fs::read_to_string(&page).unwrap();
    let plain = html.replace("&#x27;", "'").replace("&gt;", ">").replace("&amp;", "&").replace("&#x2F;", "/");
    let lines = out.lines().filter(|line| line.starts_with("  "));
    assert!(lines.clone().count() > 2, "{out}");
    lines.for_each(|line| assert!(plain.contains(line.trim()), "{line}"));
    for side in ["old", "new"] {
        assert!(html.contains(&format!(".{side} [data-wire=\"32\"]")), "{side}");
        assert!(html.contains(&format!("<figure class=\"{side}\">")), "{side}");
    }
    assert!(!html.contains("src=") && !html.contains("href=\"http"), "the page loads something");
}

#[test]
fn a_spec_that_can_not_be_read_is_reported_and_nothing_is_written() {
    let (folder, new) = revised(&[("views:", "vews:")]);
    let page = folder.path().join("rework.html");
    let (_, err, code) = compare(VAN, &new, &["--out", page.to_str().unwrap()]);
    assert!(code == Some(2) && err.contains("did you mean") && !page.exists(), "{err}");
    let (_, err, code) = compare(VAN, Path::new("none.yaml"), &[]);
    assert!(code == Some(2) && err.contains("none.yaml"), "{err}");
}
