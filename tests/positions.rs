//! Inputs with many positions: each position is a state of its own up to the form's limit, and one position more is an
//! error at its place. Counts around 256 are tried because a position held in a byte would wrap there.

use assert_cmd::cargo::cargo_bin_cmd;
use catalogue::part_form::MOST_POSITIONS;
use serde_json::Value;
use std::process::Output;

const FIRST_HARNESS: &str = include_str!("../harness-specs/first-harness.yaml");
const KEY: &str = "key: {positions: [off, run]}";

/// The first harness with a key of this many positions, one a line so that an error names its line.
fn spec(count: usize) -> String {
    let positions: String = (1..count).map(|n| format!(",\n    p{n}")).collect();
    assert!(FIRST_HARNESS.contains(KEY));
    FIRST_HARNESS.replace(KEY, &format!("key: {{positions: [off{positions}]}}"))
}

fn run(arguments: &[&str], text: &str) -> Output {
    let folder = tempfile::TempDir::new().unwrap();
    std::fs::write(folder.path().join("spec.yaml"), text).unwrap();
    let mut program = cargo_bin_cmd!("loomwright");
    program.current_dir(folder.path()).args(arguments).arg("spec.yaml").output().unwrap()
}

/// Rest; each other position of the key; each of those with the reverse lamp on, which needs the key.
#[test]
fn every_position_is_a_state_of_its_own() {
    for count in [2, 3, 254, 255, 256, 257, MOST_POSITIONS] {
        let output = run(&["states", "--format", "json"], &spec(count));
        assert!(output.status.success(), "{count}: {}", String::from_utf8_lossy(&output.stderr));
        let whole: Value = serde_json::from_slice(&output.stdout).unwrap();
        let states = whole["states"].as_array().unwrap();
        assert_eq!(states.len(), 1 + 2 * (count - 1), "{count} positions");
        let shown = |state: &Value| state["screens"]["dash"]["shows"].as_str().map(str::to_string);
        let mut names: Vec<&str> = states.iter().map(|state| state["state"].as_str().unwrap()).collect();
        let last = format!("key p{}, reverse", count - 1);
        let found = states.iter().find(|state| state["state"] == *last);
        assert!(found.is_some(), "no state `{last}`");
        assert_eq!(found.and_then(shown), states.iter().find(|s| s["state"] == "key p1, reverse").and_then(shown));
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), states.len(), "{count} positions: two states of one name");
    }
}

#[test]
fn no_finding_comes_from_the_number_of_positions_alone() {
    for count in [256, 257] {
        let output = run(&["check"], &spec(count));
        assert_eq!(output.status.code(), Some(0), "{count}: {}", String::from_utf8_lossy(&output.stdout));
    }
}

#[test]
fn one_position_beyond_the_limit_is_an_error_at_its_place() {
    for count in [MOST_POSITIONS + 1, MOST_POSITIONS + 30, 70_000] {
        let output = run(&["check"], &spec(count));
        let said = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{count}: {said}");
        assert!(
            said.contains(&format!("`key` has {count} positions; an input has at most {MOST_POSITIONS}")),
            "{said}"
        );
        let key = FIRST_HARNESS.lines().position(|line| line.contains(KEY)).unwrap() + 1;
        let line = key + MOST_POSITIONS;
        assert!(said.contains(&format!("spec.yaml:{line}:")), "{said}");
        assert_eq!(said.matches("error: ").count(), 1, "{said}");
    }
}
