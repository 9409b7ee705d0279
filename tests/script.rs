//! The test script asks for every judge, and a missing judge fails a test that needs it.

mod judges;

use judges::{CHROMIUM, DOT, Judge, NGSPICE, POPPLER, SCHEMAS, available};
use std::process::{Command, Output};

#[test]
fn the_script_installs_and_requires_every_judge() {
    let script = include_str!("run.sh");
    let set = script.find("export JUDGES=required").expect("run.sh requires the judges");
    assert!(script.find("step cargo test").is_some_and(|test| set < test));
    let [schema, regex, yaml] = SCHEMAS;
    for Judge { package, .. } in [NGSPICE, CHROMIUM, POPPLER, DOT, schema, regex, yaml] {
        let line = |line: &str| line.split('|').next().is_some_and(|first| first.trim() == package);
        assert!(script.lines().any(line), "run.sh installs no {package}");
    }
}

/// Run by the test below, with no program to be found.
#[test]
#[ignore = "part of another test"]
fn without_a_judge() {
    assert!(!available(&[NGSPICE]));
}

fn run_without_judge(required: bool) -> Output {
    let mut command = Command::new(std::env::current_exe().unwrap());
    command.args(["--exact", "without_a_judge", "--include-ignored"]).env("PATH", "").env_remove("JUDGES");
    if required {
        command.env("JUDGES", "required");
    }
    command.output().unwrap()
}

#[test]
fn a_missing_judge_fails_where_required_and_is_named_elsewhere() {
    let named = run_without_judge(false);
    let said = String::from_utf8_lossy(&named.stderr).into_owned();
    assert!(named.status.success() && said.contains("NOT JUDGED: without_a_judge needs ngspice"), "{said}");
    assert!(!run_without_judge(true).status.success());
}
