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
fn every_drive_is_told_and_a_broken_promise_fails() {
    let run = replay(&[]).code(1);
    insta::assert_snapshot!(printed(&run));
}

#[test]
fn a_drive_that_keeps_its_promises_succeeds() {
    let run =
        replay(&["back-in", "--rate", "60 /min", "--duty", "30 %", "--supply", "least", "--timers", "short"]).code(0);
    let text = printed(&run);
    assert!(text.contains("left and right flash 60 /min, on 30 %") && !text.contains("pull-out"), "{text}");
}

#[test]
fn json_has_whole_nanoseconds() {
    let run = replay(&["back-in", "--format", "json"]).code(0);
    let json: serde_json::Value = serde_json::from_str(&printed(&run)).unwrap();
    assert_eq!(json["version"], 1);
    let drive = &json["drives"][0];
    let glass = drive["screens"]["dash"]["glass"].as_array().unwrap();
    assert!(glass.iter().any(|point| point["at_ns"] == 4_300_000_000_i64 && point["shows"] == "LEFT"));
    let lamps = drive["inputs"]["left"]["lamps"].as_array().unwrap();
    // 90 a minute, on for 52.5 %: a period of 666 666 667 ns, on for 350 000 000 of them.
    assert_eq!(lamps[1]["at_ns"], 4_000_000_000_i64);
    assert_eq!(lamps[2]["at_ns"], 4_350_000_000_i64);
    assert_eq!(lamps[3]["at_ns"], 4_666_666_667_i64);
    assert_eq!(drive["promises"][0]["verdict"], "kept");
}

#[test]
fn a_call_that_is_off_is_told() {
    let run = replay(&["back-im"]).code(2);
    let told = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(told.contains("there is no drive `back-im`; did you mean `back-in`?"), "{told}");
    let run = replay(&["--rate", "90"]).code(2);
    let told = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(told.contains("`/min`"), "{told}");
}
