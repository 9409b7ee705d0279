//! Runs that take long: what Ctrl-C leaves behind, and that a bar shows on a terminal alone.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use std::thread::sleep;
use std::time::Duration;

/// Inputs that all feed one lamp through diodes, so that every combination is a state of its own: enough of them to
/// keep the program busy for much longer than a test waits, and no more combinations than are all solved.
fn big_spec() -> String {
    let inputs = 16;
    let each = |line: &dyn Fn(usize) -> String| (1..=inputs).map(line).collect::<String>();
    format!(
        "harness: 1\njob: {{title: Too many, nominal: 12 V}}\nplaces: [dash]\n\
         supplies: {{battery: {{terminal: \"30\", at: dash, volts: 12 V}}}}\ngrounds: {{G1: {{at: dash}}}}\n\
         inputs:\n{}splices: {{S1: {{at: dash}}}}\nparts:\n  L1: {{use: lamp-5w, at: dash}}\n{}\
         wires:\n  - {{id: a, from: S1, to: L1.power}}\n  - {{id: b, from: L1.ground, to: G1}}\n{}",
        each(&|n| format!("  i{n}: {{kind: lamp-feed, at: dash}}\n")),
        each(&|n| format!("  D{n}: {{use: diode-3a, at: dash}}\n")),
        each(&|n| format!(
            "  - {{id: {n}, from: i{n}, to: D{n}.anode}}\n  - {{id: k{n}, from: D{n}.cathode, to: S1}}\n"
        )),
    )
}

/// Starts the program, sends it what Ctrl-C sends after two seconds, and waits for its end.
fn interrupted(folder: &Path, arguments: &[&str]) -> Output {
    let spec = folder.join("many.yaml");
    fs::write(&spec, big_spec()).unwrap();
    let child = Command::new(env!("CARGO_BIN_EXE_loomwright"))
        .args(arguments)
        .arg(&spec)
        .current_dir(folder)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    sleep(Duration::from_secs(2));
    assert!(Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap().success());
    child.wait_with_output().unwrap()
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

#[test]
fn ctrl_c_leaves_a_job_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let job = folder.path().join("job");
    fs::create_dir(&job).unwrap();
    fs::write(job.join("wire-list.csv"), "kept").unwrap();
    let output = interrupted(folder.path(), &["build", "--out", "job"]);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!((output.status.code(), said.as_str()), (Some(130), "interrupted; nothing is half-written\n"));
    assert!(output.stdout.is_empty());
    assert_eq!(names(&job), ["wire-list.csv"]);
    assert_eq!(fs::read_to_string(job.join("wire-list.csv")).unwrap(), "kept");
    assert_eq!(names(folder.path()), ["job", "many.yaml"]);
}

/// Standard error is no terminal here, so there is no bar in it, however long it takes.
#[test]
fn no_bar_in_a_pipe() {
    let folder = tempfile::tempdir().unwrap();
    let output = interrupted(folder.path(), &["check"]);
    assert_eq!(output.status.code(), Some(130));
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "interrupted; nothing is half-written\n");
}
