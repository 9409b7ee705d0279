//! What does not concern wiring stays when a wish is planned again; the proposals in the build book; a wish from nothing.

use super::{plan, wish};
use assert_cmd::cargo::cargo_bin_cmd;
use std::fs;
use tempfile::TempDir;

/// Drives and accepted findings of a planned spec stay; a drive that looks at a camera that is gone is listed.
#[test]
fn drives_and_accepted_findings_stay() {
    let first = plan(&wish("armed-turn-signals"));
    let (path, spec) = (first.folder.path().join("wish.yaml"), first.folder.path().join("spec.yaml"));
    let own = "\ndrives:\n  # backs up\n  back: [{at: 0 s, key: run}, {at: 5 s, reverse: on}, {at: 8 s, expect: {dash: REAR}}]\n  \
               turn: [{at: 0 s, key: run, sides: on}, {at: 5 s, right-turn: on}, {at: 8 s, expect: {dash: RIGHT}}]\n\
               accept:\n  - {finding: time/hazards, on: screen dash, because: no harm on the road}\n";
    fs::write(&spec, first.spec.unwrap() + own).unwrap();
    let again = |wish: &str| {
        fs::write(&path, wish).unwrap();
        let output = cargo_bin_cmd!("loomwright").arg("plan").arg(&path).arg("--out").arg(&spec).output().unwrap();
        let said = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
        (output.status.code().unwrap(), fs::read_to_string(&spec).unwrap(), said)
    };
    let (status, same, said) = again(&wish("armed-turn-signals"));
    assert_eq!(status, 0, "{said}");
    assert!(["# backs up", "back:", "turn:", "no harm on the road"].iter().all(|kept| same.contains(kept)), "{same}");
    let fewer: String =
        wish("armed-turn-signals").lines().filter(|l| !l.contains("RIGHT")).map(|l| format!("{l}\n")).collect();
    let (status, less, said) = again(&fewer);
    assert_eq!(status, 0, "{said}");
    assert!(less.contains("back:") && less.contains("no harm on the road") && !less.contains("turn: ["), "{less}");
    assert!(said.contains("removed drive turn"), "{said}");
}

/// The build book of a planned spec shows the proposals of its wish, and which of them it builds.
#[test]
fn the_build_book_shows_the_proposals() {
    let planned = plan(&wish("armed-turn-signals"));
    let (path, spec) = (planned.folder.path().join("wish.yaml"), planned.folder.path().join("spec.yaml"));
    let build = |folder: &str| {
        let out = planned.folder.path().join(folder);
        let mut command = cargo_bin_cmd!("loomwright");
        let output = command.arg("build").arg(&spec).arg("--wish").arg(&path).arg("--out").arg(&out).output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        let page = fs::read_to_string(out.join("build-book.html")).unwrap();
        let job: serde_json::Value = serde_json::from_slice(&fs::read(out.join("job.json")).unwrap()).unwrap();
        (page, job["proposals"].clone())
    };
    let (page, proposals) = build("first");
    assert!(page.contains("Proposals compared") && page.contains("This book builds proposal 1."), "{page}");
    assert_eq!(proposals["built"], 1);
    let sheets = proposals["sheets"].as_array().unwrap();
    assert!((2..=3).contains(&sheets.len()), "{proposals}");
    for sheet in sheets {
        assert!(sheet["rear"].as_u64().unwrap() > 0 && sheet["misleading"].as_u64().is_some(), "{sheet}");
        let of_parts = |one: &&serde_json::Value| one["is_of_part"] == true;
        for failure in sheet["failures"].as_array().unwrap().iter().filter(of_parts) {
            // An apostrophe is written as an entity.
            let words = failure["fault"].as_str().unwrap().rsplit('\'').next().unwrap();
            assert!(page.contains(words), "{failure}");
        }
    }
    fs::write(&spec, planned.spec.unwrap().replace("title: Dash screen", "title: Screen")).unwrap();
    let (page, proposals) = build("second");
    assert!(page.contains("differs from each proposal") && proposals["built"].is_null(), "{proposals}");
}

/// The core wish from nothing: reverse, two side cameras on armed turn signals, an amplifier, a second source.
#[test]
fn the_core_wish_from_nothing() {
    let folder = TempDir::new().unwrap();
    let (wish, out) = (folder.path().join("wish.yaml"), folder.path().join("van.yaml"));
    let mut command = cargo_bin_cmd!("loomwright");
    command.arg("new").arg(&wish).arg("--out").arg(&out).args(["--volts", "12", "--screen", "screen-3in-12v"]);
    command.args(["--at", "dash 1.2 m"]);
    for place in ["tail 4.5 m", "left-mirror 1.4 m", "right-mirror 2.2 m", "seat-box 1.5 m"] {
        command.args(["--place", place]);
    }
    for trigger in [
        "reverse reverse-lamp tail 1 A",
        "left turn-lamp fuse-panel 500 mA",
        "right turn-lamp fuse-panel 500 mA",
        "sides button-toggles dash",
        "film button-toggles dash",
    ] {
        command.args(["--trigger", trigger]);
    }
    for camera in [
        "REAR tail reverse",
        "LEFT left-mirror sides and left and not right",
        "RIGHT right-mirror sides and right and not left",
    ] {
        command.args(["--camera", camera]);
    }
    command.args(["--source", "PLAYER media-player-12v seat-box film"]);
    command.args(["--accessory", "AMP amplifier-2ch seat-box key and film plays PLAYER"]);
    command.args(["--accessory", "SPL speaker dash plays AMP", "--accessory", "SPR speaker dash plays AMP"]);
    let output = command.output().unwrap();
    let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{said}");
    let output = cargo_bin_cmd!("loomwright").arg("check").arg(&out).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
    // A name that no part has is reported by `check`, too.
    let wrong = fs::read_to_string(&out).unwrap().replace("plays: PLAYER", "plays: PLAYR");
    fs::write(&out, wrong).unwrap();
    let output = cargo_bin_cmd!("loomwright").arg("check").arg(&out).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("PLAYR"), "{output:?}");
}
