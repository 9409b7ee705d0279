//! Two hundred sound harnesses, made up from good blocks: not one error or warning, and no note but those that are true
//! of sound harnesses.

#[path = "made_up/good.rs"]
mod good;
mod jobs;

use check::Severity;
use form::TextMap;
use job::Job;
use std::path::Path;

/// Notes that are true of sound harnesses: what a lost ground does, what the starter interrupts, which fuse of two in a row
/// opens, how many states were tried.
const TRUE_NOTES: [&str; 4] =
    ["safety/ground-lost", "time/engine-start", "load/fuses-discriminate", "time/states-left-out"];

/// What is reported in a spec beyond the usual notes, a line each.
fn alarms(text: &str) -> Vec<String> {
    let texts = TextMap::new([("spec.yaml", text)]);
    let job = match Job::read(&texts, Path::new("spec.yaml")) {
        Ok(job) => job,
        Err(unreadable) => panic!("{:?}\n{text}", unreadable.problems),
    };
    let report = job.report().unwrap();
    let counts =
        report.findings.iter().filter(|found| found.severity != Severity::Note || !TRUE_NOTES.contains(&found.rule));
    counts.map(|finding| format!("{} {}: {}", finding.severity, finding.rule, finding.message)).collect()
}

/// The specs with these seeds that have an alarm.
fn with_alarms(seeds: std::ops::Range<u64>) -> Vec<String> {
    let alarms = seeds.map(|seed| (seed, alarms(&good::spec(seed)))).filter(|(_, alarms)| !alarms.is_empty());
    alarms.map(|(seed, alarms)| format!("seed {seed}: {alarms:#?}")).collect()
}

#[test]
fn ten_good_builds_have_no_false_alarm() {
    let found = with_alarms(0..10);
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn two_hundred_good_builds_have_no_false_alarm() {
    let found = with_alarms(0..200);
    assert!(found.is_empty(), "{} of 200 builds:\n{}", found.len(), found.join("\n"));
}
