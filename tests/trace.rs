//! `trace` as a service tech runs it: flags, a session file that is resumed, a dialog over a pipe, bad input.

use assert_cmd::cargo::cargo_bin_cmd;
use std::path::Path;
use tempfile::TempDir;

const SPEC: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/harness-specs/first-harness.yaml");

/// Exit status, standard output, standard error.
fn run(arguments: &[&str], input: &str) -> (Option<i32>, String, String) {
    let output =
        cargo_bin_cmd!("loomwright").arg("trace").args(arguments).write_stdin(input.to_string()).output().unwrap();
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (output.status.code(), text(&output.stdout), text(&output.stderr))
}

fn complaint() -> (String, String) {
    // The first question of a trace without answers names a screen and a state of this harness.
    let (_, out, error) = run(&[SPEC, "--format", "json"], "");
    let json: serde_json::Value = serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out}{error}"));
    let faults = json["suspects"].as_array().unwrap();
    assert!(faults.len() > 10, "{out}");
    ("dash black".to_string(), "reverse".to_string())
}

#[test]
fn a_session_is_kept_resumed_and_undone_over_several_calls() {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("session.yaml");
    let path = file.to_str().unwrap();
    let (seen, state) = complaint();
    let (code, first, error) = run(&[SPEC, "--session", path, "--seen", &format!("{seen} when {state}")], "");
    assert_eq!(code, Some(1), "{first}{error}");
    let (_, again, _) = run(&[SPEC, "--session", path], "");
    assert_eq!(first, again, "the session says the same as the flags did");
    let read = "HU1.power 0 V when reverse";
    let (_, second, error) = run(&[SPEC, "--session", path, "--read", read], "");
    assert!(second != first && error.is_empty(), "{second}{error}");
    let (_, undone, _) = run(&[SPEC, "--session", path, "--undo"], "");
    assert_eq!(undone, first);
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(text.contains("count: 1"), "{text}");
}

/// The dialog asks for the complaint, then step by step; wrong lines are asked again; `undo` goes back.
#[test]
fn a_dialog_over_a_pipe_asks_until_the_answers_end() {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("session.yaml");
    let (seen, state) = complaint();
    let lines = format!("{seen}\n{seen} when {state}\nnonsense of some kind\n?\nundo\nquit\n");
    let (code, out, error) = run(&[SPEC, "--session", file.to_str().unwrap(), "--dialog"], &lines);
    assert_eq!(code, Some(1), "{out}{error}");
    assert!(out.starts_with("\nWhat is wrong"), "{out}");
    assert!(error.contains("does not say in which state"), "{error}");
    let questions: Vec<&str> = out.lines().filter(|line| line.starts_with("next (")).collect();
    assert!(questions.len() >= 3, "{out}");
    assert_eq!(questions[0], questions[1], "what is no answer is asked again: {out}");
    let between = out.split("next (").nth(1).unwrap();
    assert!(!between.contains(" %  "), "the suspects are not listed again: {out}");
    assert_ne!(questions[1], questions[2], "what is not known is not asked again: {out}");
    assert_eq!(questions[0], questions[questions.len() - 1], "undo: {out}");
    assert!(std::fs::read_to_string(&file).unwrap().contains("count: 1"));
}

fn refused(arguments: &[&str]) -> String {
    let (code, out, error) = run(arguments, "");
    assert_eq!((code, out.as_str()), (Some(2), ""), "{error}");
    error
}

#[test]
fn bad_input_is_refused_at_its_place_and_nothing_is_lost() {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("session.yaml");
    let path = file.to_str().unwrap();
    let (seen, state) = complaint();
    run(&[SPEC, "--session", path, "--seen", &format!("{seen} when {state}")], "");
    let whole = std::fs::read_to_string(&file).unwrap();
    // A reading of a pin that does not exist leaves the session as it was.
    let error = refused(&[SPEC, "--session", path, "--read", "K99.1 3 V when reverse"]);
    assert!(error.contains("`K99` is not a part"), "{error}");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), whole);
    // In the file, it is named with its line.
    let with = |from: &str, to: &str| std::fs::write(&file, whole.replace(from, to)).unwrap();
    with("dash black", "HU9 black");
    let error = refused(&[SPEC, "--session", path]);
    assert!(error.contains("session.yaml:6") && error.contains("`HU9` is not a screen"), "{error}");
    assert!(error.ends_with("1 problem to correct before the trace can go on\n"), "{error}");
    with("count: 1\n", "");
    let error = refused(&[SPEC, "--session", path]);
    assert!(error.contains("count"), "{error}");
    // A comment in the spec changes nothing; a value does.
    let spec = std::fs::read_to_string(SPEC).unwrap();
    let edited = folder.path().join("spec.yaml");
    with("", "");
    std::fs::write(&edited, format!("# checked by the bay\n{spec}")).unwrap();
    let (code, _, error) = run(&[edited.to_str().unwrap(), "--session", path], "");
    assert!(code != Some(2), "{error}");
    std::fs::write(&edited, spec.replacen("title: ", "title: Another ", 1)).unwrap();
    let error = refused(&[edited.to_str().unwrap(), "--session", path]);
    assert!(error.contains("another spec"), "{error}");
    // Another spec: the session of one is not taken for the other's.
    with("", "");
    let other = Path::new(SPEC).with_file_name("wheelchair-van.yaml");
    let error = refused(&[other.to_str().unwrap(), "--session", path]);
    assert!(error.contains("session.yaml:") && error.contains("another spec") || error.contains("revision"), "{error}");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), whole, "nothing was written");
}

#[test]
fn sheets_are_printed_with_cautions_and_as_json() {
    let (code, text, error) = run(&[SPEC, "--sheets"], "");
    assert_eq!(code, Some(0), "{error}");
    assert!(text.contains("dash shows black, not REAR, when key run, reverse"), "{text}");
    assert!(text.contains("1. ") && text.contains("go to 2") && text.contains("bridge no fuse"), "{text}");
    let (_, out, _) = run(&[SPEC, "--sheets", "--format", "json"], "");
    let json: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert!(json["sheets"].as_array().unwrap().len() >= 3, "{out}");
}

/// A visit is added to the record beside the spec; a change that names nothing is refused and nothing is written.
#[test]
fn a_record_beside_the_spec_grows_and_counts() {
    let folder = TempDir::new().unwrap();
    let spec = folder.path().join("van.yaml");
    std::fs::copy(SPEC, &spec).unwrap();
    let spec = spec.to_str().unwrap();
    let record = folder.path().join("record.yaml");
    let seen = ["--seen", "dash home when key run, reverse"];
    let (_, before, _) = run(&[spec, seen[0], seen[1]], "");
    assert!(before.contains("wire 7 "), "{before}");
    let error = refused(&[spec, "--visit", "2024-05-01, 84000 km", "--changed", "removed wire 99"]);
    assert!(error.contains("`99`") && !record.exists(), "{error}");
    let error = refused(&[spec, "--visit", "yesterday, 84000 km"]);
    assert!(
        error.contains("`yesterday` is not a date") && error.contains("`2026-05-01`") && !record.exists(),
        "{error}"
    );
    let visit = [spec, "--visit", "2024-05-01, 84000 km", "--found", "no reverse lamp", "--changed", "removed wire 7"];
    let (code, _, error) = run(&visit, "");
    assert_eq!(code, Some(0), "{error}");
    let first = std::fs::read_to_string(&record).unwrap();
    let (_, after, _) = run(&[spec, seen[0], seen[1]], "");
    assert!(!after.contains("wire 7 "), "{after}");
    run(&[spec, "--visit", "2024-06-01", "--remains", "clips at the tail"], "");
    let second = std::fs::read_to_string(&record).unwrap();
    assert!(second.starts_with(&first) && second.contains("clips at the tail"), "{second}");
}

/// A date in the future, an odometer that falls, an earlier date, no number: refused, and nothing is written.
#[test]
fn impossible_visits_and_readings_are_refused() {
    let folder = TempDir::new().unwrap();
    let spec = folder.path().join("van.yaml");
    std::fs::copy(SPEC, &spec).unwrap();
    let spec = spec.to_str().unwrap();
    let record = folder.path().join("record.yaml");
    let (code, _, error) = run(&[spec, "--visit", "2024-05-01, 84000 km"], "");
    assert_eq!(code, Some(0), "{error}");
    let before = std::fs::read_to_string(&record).unwrap();
    for (visit, says) in [
        ("2999-01-01, 85000 km", "is in the future"),
        ("2024-06-01, 83000 km", "is less than the 84000 km"),
        ("2024-04-01, 85000 km", "the last visit was on 2024-05-01"),
        ("2024-06-01, many km", "is not a reading of an odometer"),
    ] {
        let error = refused(&[spec, "--visit", visit]);
        assert!(error.contains(says) && error.contains("do: "), "{visit}: {error}");
        assert_eq!(std::fs::read_to_string(&record).unwrap(), before);
    }
    for (read, says) in [
        ("HU1.power 18 V when key run", "can't be in a 12 V vehicle"),
        ("HU1.power to G1 -3 ohm", "a resistance is not negative"),
        ("HU1.power to ground -3 ohm", "a resistance is not negative"),
    ] {
        let error = refused(&[spec, "--seen", "dash black when key run", "--read", read]);
        assert!(error.contains(says) && error.contains("do: "), "{read}: {error}");
    }
    let (code, _, error) =
        run(&[spec, "--seen", "dash black when key run", "--read", "HU1.power 15.9 V when key run"], "");
    assert!(code != Some(2), "a high charging voltage can be read: {error}");
}

/// After the repair, `works` ends the trace and goes to the record with the visit; `still` goes on.
#[test]
fn a_repair_is_a_step_and_goes_to_the_record() {
    let folder = TempDir::new().unwrap();
    let spec = folder.path().join("van.yaml");
    std::fs::copy(SPEC, &spec).unwrap();
    let (spec, file) = (spec.to_str().unwrap(), folder.path().join("session.yaml"));
    let session = ["--session", file.to_str().unwrap()];
    let with = |more: &[&str]| run(&[&[spec], &session[..], more].concat(), "");
    let readings = [
        "F1.2 12.5 V when key run, reverse",
        "REAR.power 0 V when key run, reverse",
        "HU1.power 12.5 V when key run, reverse",
        "F1.2 to REAR.power open",
    ];
    let readings: Vec<&str> = readings.into_iter().flat_map(|reading| ["--read", reading]).collect();
    let (_, asked, error) = with(&[&["--seen", "dash black when key run, reverse"], &readings[..]].concat());
    assert!(asked.contains("to answer, add --seen 'mended wire 3 works'"), "{asked}{error}");
    let (code, still, _) = with(&["--seen", "mended wire 3 still"]);
    assert!(code == Some(1) && !still.starts_with("mended"), "{still}");
    with(&["--undo"]);
    let (_, out, error) = run(&[&[spec], &session[..], &["--dialog"]].concat(), "quit\n");
    assert!(out.contains("answer: works, still"), "{out}{error}");
    let (code, mended, error) = with(&["--seen", "mended wire 3 works"]);
    assert!(code == Some(0) && mended.starts_with("mended, and it works again:"), "{mended}{error}");
    let (code, out, error) = run(&[&[spec], &session[..], &["--dialog"]].concat(), "2024-05-01, 84000 km\n");
    assert_eq!(code, Some(0), "{out}{error}");
    let record = std::fs::read_to_string(folder.path().join("record.yaml")).unwrap();
    assert!(
        record.contains("dash black") && record.contains("mended wire 3 works") && record.contains("84000 km"),
        "{record}"
    );
    let (code, _, error) = with(&["--visit", "2024-05-02, 84001 km"]);
    assert_eq!(code, Some(0), "{error}");
    let record = std::fs::read_to_string(folder.path().join("record.yaml")).unwrap();
    assert_eq!(record.matches("mended wire 3 works").count(), 2, "{record}");
}

/// What no fault shows, and what is right without one, is no complaint; nothing is written then.
#[test]
fn a_complaint_that_no_fault_shows_is_refused() {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("session.yaml");
    let path = file.to_str().unwrap();
    for (seen, says) in [
        ("dash home when at rest", "no single fault shows that when at rest"),
        ("dash REAR when key run, reverse", "a harness without a fault does the same"),
        ("F1 whole", "a harness without a fault does the same"),
    ] {
        let error = refused(&[SPEC, "--session", path, "--seen", seen]);
        assert!(error.contains(says) && error.contains("do: "), "{seen}: {error}");
        assert!(!file.exists(), "{seen}");
    }
    // Beside a second observation it may be true.
    let both = ["--seen", "dash home when at rest", "--seen", "dash black when key run"];
    let (code, out, _) = run(&[&[SPEC], &both[..]].concat(), "");
    assert!(code == Some(1) && out.contains("make observation"), "{out}");
}

/// A fuse that blows, a flat battery, a picture with bars, a fault that comes and goes: each leads to a suspect of its kind.
#[test]
fn complaints_other_than_a_wrong_picture_are_understood() {
    let of = |seen: &[&str]| {
        let arguments: Vec<&str> = seen.iter().flat_map(|seen| ["--seen", seen]).collect();
        run(&[&[SPEC], &arguments[..]].concat(), "").1
    };
    let first = |out: &str| out.lines().nth(1).unwrap_or_default().to_string();
    let blown = of(&["F1 blown"]);
    assert!(blown.contains(" fuse in for F1, and set one state after the other"), "{blown}");
    assert!(first(&of(&["F1 blown", "F1 new holds"])).contains("fuse F1 is blown"));
    assert!(first(&of(&["F1 blown", "F1 new blows"])).contains("has chafed to the body"));
    assert!(first(&of(&["battery flat"])).contains("is weak"));
    assert!(first(&of(&["dash disturbed when key run, reverse"])).contains("ground"));
    assert!(first(&of(&["dash black now and then when key run, reverse"])).contains("opens now and then"));
    let boat = concat!(env!("CARGO_MANIFEST_DIR"), "/harness-specs/boat-tow-pickup.yaml");
    let flat = run(&[boat, "--seen", "battery flat", "--read", "battery 0.9 A"], "").1;
    assert!(flat.contains("stays on") || flat.contains("welded"), "{flat}");
}

/// A script goes by the exit status, which JSON repeats: at each step of a trace it is that of the verdict, as `--help` says.
#[test]
fn the_exit_status_says_how_far_a_trace_is() {
    let cable = [
        ("--seen", "dash black when reverse"),
        ("--read", "REAR.power 12 V when reverse"),
        ("--read", "HU1.power 12 V when reverse"),
        ("--seen", "dash home when key run"),
        ("--seen", "cable 6 open"),
        ("--seen", "cable 6 open"),
        ("--seen", "cable 6 open"),
        ("--seen", "mended wire 6 works"),
    ];
    let mut met = std::collections::BTreeSet::new();
    let in_vain = [&cable[..7], &[("--seen", "mended wire 6 still")]].concat();
    for answers in (1..=cable.len()).map(|some| &cable[..some]).chain([&in_vain[..]]) {
        let flags = answers.iter().flat_map(|(flag, text)| [*flag, *text]);
        let arguments: Vec<&str> = [SPEC, "--format", "json"].into_iter().chain(flags).collect();
        let (code, out, error) = run(&arguments, "");
        let json: serde_json::Value = serde_json::from_str(&out).unwrap_or_else(|_| panic!("{out}{error}"));
        let verdict = json["verdict"].as_str().unwrap().to_string();
        let expected = match verdict.as_str() {
            "mended" | "found" => 0,
            "open" | "inseparable" | "mended-in-part" => 1,
            "almost-certain" => 3,
            "nothing-fits" => 4,
            other => panic!("{other}"),
        };
        assert_eq!((code, json["exit_status"].as_i64()), (Some(expected), Some(i64::from(expected))), "{answers:?}");
        met.insert(verdict);
    }
    assert!(
        ["open", "almost-certain", "found", "mended", "nothing-fits"].iter().all(|verdict| met.contains(*verdict)),
        "{met:?}"
    );
}
