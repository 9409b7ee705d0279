//! `states --pins` and `--wires`: the voltages and currents that are asked for, in every state.

mod jobs;

use assert_cmd::cargo::cargo_bin_cmd;
use jobs::{demo, root};
use serde_json::Value;
use states::Live;

fn states(spec: &str, arguments: &[&str]) -> (String, String, Option<i32>) {
    let output =
        cargo_bin_cmd!("loomwright").current_dir(root()).args(["states", spec]).args(arguments).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

/// Every pin and wire of the van in every state: as drawings of that state show them, and within the range.
#[test]
fn they_are_the_values_that_drawings_show() {
    let job = demo("wheelchair-van");
    let model = job.model().unwrap();
    let solved = job.solved().unwrap();
    let pins: Vec<String> = model.pin_ids().map(|pin| model.pin_name(pin)).collect();
    let wires: Vec<String> = model.wires.iter().map(|wire| wire.id.to_string()).collect();
    let spec = "harness-specs/wheelchair-van.yaml";
    let (out, err, code) = states(spec, &["--pins", &pins.join(","), "--wires", &wires.join(","), "--format", "json"]);
    assert_eq!(code, Some(0), "{err}");
    let told: Value = serde_json::from_str(&out).unwrap();
    let rows = solved.table().rows;
    assert_eq!(told["states"].as_array().unwrap().len(), rows.len());
    let mut compared = 0;
    for (row, told) in rows.iter().zip(told["states"].as_array().unwrap()) {
        let live = Live::of(job.wiring().unwrap(), &job.state(&row.name).unwrap());
        let mut hold = |name: &str, expected: f64, absolute: bool| {
            let value = &told["values"][name];
            let [nominal, lowest, highest] = ["nominal", "lowest", "highest"].map(|key| value[key].as_f64().unwrap());
            let shown = if absolute { nominal.abs() } else { nominal };
            assert!((shown - expected).abs() < 2e-6, "{name} in {}: {nominal} and {expected}", row.name);
            assert!(lowest <= nominal && nominal <= highest, "{name} in {}: {value}", row.name);
            compared += 1;
        };
        for pin in model.pin_ids().filter(|_| !row.solution.has_pulses()) {
            if let Some(volts) = live.volts(pin) {
                hold(&model.pin_name(pin), volts.value(), false);
            }
        }
        for wire in model.wire_ids().filter(|wire| job.wiring().unwrap().assembly.wire(*wire).is_some()) {
            hold(&format!("wire {}", model.wire(wire).id), live.amps(wire).value(), true);
        }
    }
    assert!(compared > 1000, "{compared}");
}

#[test]
fn spreadsheets_get_three_columns_for_each() {
    let spec = "harness-specs/first-harness.yaml";
    let (out, _, code) = states(spec, &["--pins", "HU1.REV", "--wires", "7", "--format", "csv"]);
    assert_eq!(code, Some(0));
    let lines: Vec<Vec<&str>> = out.lines().map(|line| line.rsplitn(7, ',').collect()).collect();
    assert_eq!(lines[0][0], "wire 7 highest [A]");
    assert!(lines.len() > 2 && lines.iter().all(|cells| cells.len() == 7), "{out}");
    assert!(!out.contains('\''), "no number is taken for a formula: {out}");
    let (whole, _, _) = states(spec, &["--format", "csv"]);
    assert!(whole.starts_with("state,dash,relays in,F1\r\n"), "{whole}");
}

#[test]
fn a_name_that_is_none_gets_the_nearest() {
    let (_, said, code) = states("harness-specs/first-harness.yaml", &["--pins", "HU1.RV"]);
    assert_eq!(code, Some(2));
    assert!(said.contains("no pin `HU1.RV`") && said.contains("did you mean `HU1.REV`?"), "{said}");
    assert_eq!(states("harness-specs/first-harness.yaml", &["--wires", "99"]).2, Some(2));
}
