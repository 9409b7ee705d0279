//! `check` and `explain` as a user meets them: what they print, in each format, and how they end.

use assert_cmd::cargo::cargo_bin_cmd;
use serde_json::Value;
use std::path::PathBuf;

/// A work light on a wire that is a little too thin, and a spare wire.
const SPEC: &str = r#"harness: 1
job: {title: Work light, revision: B, nominal: 12 V}
places: [dash, roof]
runs: [{between: [dash, roof], length: 5 m}]
supplies: {battery: {terminal: "30", at: dash, volts: [11.8 V, 12.6 V, 14.6 V]}}
grounds: {GND: {at: roof}}
parts:
  F1: {use: fuse-blade, rating: 5 A, at: dash}
  WL: {use: led-worklight, at: roof}
splices: {S1: {at: roof}}
wires:
  - {id: 1, from: battery, to: F1.1, gauge: 0.75 mm²}
  - {id: 2, from: F1.2, to: WL.power, gauge: 0.75 mm²}
  - {id: 3, from: WL.ground, to: GND, gauge: 0.75 mm²}
  - {id: 4, from: WL.ground, to: S1}
"#;

const ACCEPT_DROP: &str =
    "accept:\n  - {finding: load/drop, on: wire 2, severity: error, at: 402 mV, because: the customer's own lead}\n";

struct Spec {
    _folder: tempfile::TempDir,
    path: PathBuf,
}

fn spec(text: &str) -> Spec {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("work light.yaml");
    std::fs::write(&path, text).unwrap();
    Spec { _folder: folder, path }
}

/// What the program printed to standard output, and its exit status.
fn run(arguments: &[&str]) -> (String, i32) {
    let output = cargo_bin_cmd!("loomwright").args(arguments).output().unwrap();
    (String::from_utf8(output.stdout).unwrap(), output.status.code().unwrap())
}

fn check(text: &str, format: &str) -> (String, i32) {
    let spec = spec(text);
    let path = spec.path.to_str().unwrap();
    let (out, code) = run(&["check", path, "--long", "--format", format]);
    // The folder's name is another one each time.
    let folder = spec.path.parent().unwrap().to_str().unwrap();
    (out.replace(folder, "specs"), code)
}

#[test]
fn text_shows_the_line_the_evidence_and_what_to_do() {
    let (out, code) = check(SPEC, "text");
    assert_eq!(code, 1);
    insta::assert_snapshot!(out);
}

/// A feed with pulses whose on-time nobody has measured is not taken for a steady one.
#[test]
fn a_pulsed_feed_of_unknown_duty_is_reported() {
    let first =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/harness-specs/first-harness.yaml")).unwrap();
    let (out, code) = check(&first.replace("kind: lamp-feed", "kind: pulsed-feed"), "text");
    assert_eq!(code, 1);
    assert!(out.contains("error[logic/pulsed]: trigger `HU1.REV` switches on and off"), "{out}");
}

/// Without `--long`, what is wrong, where, and what to do.
#[test]
fn text_is_short_by_default() {
    let spec = spec(SPEC);
    let path = spec.path.to_str().unwrap();
    let (out, code) = run(&["check", path]);
    assert_eq!(code, 1);
    let drop: Vec<&str> = out.split("\n\n").next().unwrap().lines().collect();
    assert!(drop[0].starts_with("error[load/drop]: "), "{out}");
    assert!(drop[1].ends_with("work light.yaml:13:46"), "{out}");
    assert!(drop[2].contains("do: ") && drop.len() == 3, "{out}");
}

#[test]
fn accepted_findings_are_reported_and_do_not_count() {
    let (out, code) = check(&format!("{SPEC}{ACCEPT_DROP}"), "text");
    assert_eq!(code, 0, "a warning and an accepted error are left");
    insta::assert_snapshot!(out);
}

#[test]
fn json_has_everything_of_a_finding() {
    let (out, code) = check(&format!("{SPEC}{ACCEPT_DROP}"), "json");
    assert_eq!(code, 0);
    let report: Value = serde_json::from_str(&out).unwrap();
    let both = [&report["findings"][0], &report["accepted"][0]];
    for finding in both {
        for key in ["rule", "severity", "message", "about", "file", "hint"] {
            assert!(finding[key].as_str().is_some_and(|text| !text.is_empty()), "{key}");
        }
        assert!(finding["line"].as_u64() > Some(0) && finding["column"].as_u64() > Some(0));
        assert!(finding["evidence"].is_object());
    }
    let drop = &report["accepted"][0];
    assert_eq!((&drop["line"], &drop["column"]), (&13.into(), &46.into()));
    assert_eq!(drop["because"], "the customer's own lead");
    assert_eq!(drop["evidence"]["path"][0]["pin"], "battery");
    insta::assert_snapshot!(out);
}

/// What SARIF 2.1.0 (OASIS) asks for: version (§3.13.2), a tool with a name (§3.18, §3.19.8), a message in each result
/// (§3.27.11), rule indices that agree with ids (§3.27.6), regions that start at 1 and end after they start (§3.30),
/// relative references that are percent-encoded (§3.4.3), suppressions with a kind (§3.35.2). Clauses from memory.
#[test]
fn sarif_is_as_the_standard_asks() {
    let (out, code) = check(&format!("{SPEC}{ACCEPT_DROP}"), "sarif");
    assert_eq!(code, 0);
    let log: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(log["version"], "2.1.0");
    let run = &log["runs"][0];
    let driver = &run["tool"]["driver"];
    assert_eq!(driver["name"], "loomwright");
    let results = run["results"].as_array().unwrap();
    assert_eq!(results.len(), 2);
    for result in results {
        let rule = &driver["rules"][result["ruleIndex"].as_u64().unwrap() as usize];
        assert_eq!(rule["id"], result["ruleId"]);
        assert!(!result["message"]["text"].as_str().unwrap().is_empty());
        assert!(["error", "warning", "note"].contains(&result["level"].as_str().unwrap()));
        let physical = &result["locations"][0]["physicalLocation"];
        assert_eq!(physical["artifactLocation"]["uri"], "specs/work%20light.yaml");
        let at = |key: &str| physical["region"][key].as_u64().unwrap();
        assert!(at("startLine") == at("endLine") && 0 < at("startColumn") && at("startColumn") < at("endColumn"));
    }
    let suppressed: Vec<&Value> = results.iter().filter(|r| r.get("suppressions").is_some()).collect();
    assert_eq!(suppressed.len(), 1);
    assert_eq!(suppressed[0]["suppressions"][0]["kind"], "inSource");
    assert_eq!(suppressed[0]["suppressions"][0]["justification"], "the customer's own lead");
}

#[test]
fn the_same_spec_gives_the_same_bytes() {
    for format in ["text", "json", "sarif"] {
        assert_eq!(check(SPEC, format), check(SPEC, format));
    }
}

#[test]
fn what_can_not_be_checked_ends_with_2() {
    assert_eq!(run(&["check", "no-such.yaml"]).1, 2);
    assert_eq!(check(SPEC, "yaml").1, 2);
    assert_eq!(check(&SPEC.replace("led-worklight", "led-worklite"), "json"), (String::new(), 2));
}

#[test]
fn a_harness_without_findings_ends_with_0() {
    let clean = SPEC.replace("5 m}", "3 m}").replace("  - {id: 4, from: WL.ground, to: S1}\n", "");
    let clean = clean.replace("splices: {S1: {at: roof}}\n", "");
    let corners = "nominal supply, cold copper; lowest supply, hot copper; highest supply, cold copper";
    let drain =
        "engine off, most that stays on: always 2.19 A (give `battery` its `capacity` to see how long it lasts)\n";
    assert_eq!(check(&clean, "text"), (format!("solved: 1 state, at {corners}\n{drain}\nno findings\n"), 0));
}

/// Combinations that only the spec rules out are reported, in `check` and in `states`.
#[test]
fn what_the_spec_leaves_out_is_reported() {
    let inputs = "inputs:\n  a: {positions: [off, on], needs: not b}\n  b: {positions: [off, on]}\n  \
                  c: {positions: [off, on], excludes: [b]}\n  d: {positions: [out, half, full], needs: a and c}\nparts:";
    let spec = SPEC.replace("parts:", inputs);
    let reported = "ruled out by `needs` and `excludes`: a with b; d without a and c; b together with c\n";
    assert!(check(&spec, "text").0.contains(reported), "{}", check(&spec, "text").0);
}

#[test]
fn explain_lists_every_rule_and_explains_each() {
    let (list, code) = run(&["explain"]);
    assert_eq!(code, 0);
    let names: Vec<&str> = list.lines().filter_map(|line| line.split_whitespace().next()).collect();
    assert!(names.len() >= 25 && names.iter().all(|name| name.contains('/')), "{list}");
    for name in names {
        let (text, code) = run(&["explain", name]);
        assert_eq!(code, 0);
        for heading in ["What it finds", "Why it matters", "What to do", "Source"] {
            assert!(text.contains(&format!("\n{heading}\n  ")), "{name}: {heading}");
        }
        assert!(!text.contains("harness: 1"), "{name}");
    }
    let (text, _) = run(&["explain", "net/pin-unknown", "--specs"]);
    insta::assert_snapshot!(text);
    assert_eq!(run(&["explain", "net/pin"]), (String::new(), 2));
}
