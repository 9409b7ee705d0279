//! `replay` from outside.

use assert_cmd::cargo::cargo_bin_cmd;

const SPEC: &str = "tests/replay/side-cameras.yaml";

fn replay(arguments: &[&str]) -> assert_cmd::assert::Assert {
    cargo_bin_cmd!("loomwright").args(["replay", SPEC]).args(arguments).assert()
}

fn printed(assert: &assert_cmd::assert::Assert) -> String {
    String::from_utf8(assert.get_output().stdout.clone()).unwrap()
}

#[test]
fn every_drive_is_reported_and_a_broken_promise_fails() {
    let run = replay(&[]).code(1);
    insta::assert_snapshot!(printed(&run));
}

#[test]
fn a_drive_that_keeps_its_promises_succeeds() {
    let run =
        replay(&["back-in", "--rate", "60 /min", "--duty", "30 %", "--supply", "lowest", "--timers", "short"]).code(0);
    let text = printed(&run);
    assert!(text.contains("left and right flash 60 /min, on 30 %") && !text.contains("pull-out"), "{text}");
}

#[test]
fn json_has_whole_nanoseconds() {
    let run = replay(&["back-in", "--format", "json"]).code(0);
    let json: serde_json::Value = serde_json::from_str(&printed(&run)).unwrap();
    assert_eq!(json["version"], 1);
    let drive = &json["drives"][0];
    let display = drive["screens"]["dash"]["display"].as_array().unwrap();
    assert!(display.iter().any(|point| point["at_ns"] == 4_300_000_000_i64 && point["shows"] == "LEFT"));
    let lamps = drive["inputs"]["left"]["lamps"].as_array().unwrap();
    // 90 a minute, on for 52.5 %: a period of 666 666 667 ns, on for 350 000 000 of them.
    assert_eq!(lamps[1]["at_ns"], 4_000_000_000_i64);
    assert_eq!(lamps[2]["at_ns"], 4_350_000_000_i64);
    assert_eq!(lamps[3]["at_ns"], 4_666_666_667_i64);
    assert_eq!(drive["promises"][0]["verdict"], "kept");
}

#[test]
fn a_call_that_is_off_is_reported() {
    let run = replay(&["back-im"]).code(2);
    let reported = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(reported.contains("there is no drive `back-im`; did you mean `back-in`?"), "{reported}");
    let run = replay(&["--rate", "90"]).code(2);
    let reported = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(reported.contains("`/min`"), "{reported}");
}

/// A relay goes by the mean of a dimmed lamp's pulses; a screen whose trigger comes and goes with them holds no
/// picture. A hold module before the trigger bridges them.
#[test]
fn a_trigger_on_pulses_flickers_and_a_hold_bridges_them() {
    let spec = "tests/replay/pulsed.yaml";
    let run = |command: &str, spec: &str| printed(&cargo_bin_cmd!("loomwright").args([command, spec]).assert());
    insta::assert_snapshot!(format!("{}\n{}", run("states", spec), run("replay", spec)));
    let text = std::fs::read_to_string(spec).unwrap();
    let bridged = text
        .replace("{id: 8, from: S1, to: HU1.REV}", "{id: 8, from: S1, to: M1.in}")
        .replace("  HU1: {", "  M1: {use: hold-module-12v, at: dash}\n  HU1: {")
        .replace(
            "drives:",
            "  - {id: 15, from: M1.out, to: HU1.REV}\n  - {id: 16, from: F1.2, to: M1.power}\n  \
             - {id: 17, from: M1.ground, to: GND}\ndrives:",
        );
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bridged.yaml");
    std::fs::write(&path, bridged).unwrap();
    let path = path.to_str().unwrap();
    let reported = run("replay", path);
    assert!(reported.contains("\nkept ") && !reported.contains("broken"), "{reported}");
    assert!(!run("states", path).contains("in turn"), "{}", run("states", path));
}
