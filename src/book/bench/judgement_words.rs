//! A judged bench test, for people.

use crate::bench::judge::BenchJudgement;
use crate::bench::suspects::BenchSuspect;
use std::fmt::Write as _;

/// The faults that explain the failed steps.
fn suspected(suspects: &[BenchSuspect]) -> String {
    let Some(first) = suspects.first() else { return String::new() };
    let mut out = match first.leaves.is_empty() && first.contradicts.is_empty() {
        true => "one of these alone explains every result:\n".to_string(),
        false => "no single fault of the build explains every result; these come closest:\n".to_string(),
    };
    for suspect in suspects {
        // OK because: writing to memory can't fail.
        let _ = write!(out, "  {}", suspect.fault);
        if !suspect.leaves.is_empty() {
            let _ = write!(out, "; it does not explain {}", suspect.leaves.join(", "));
        }
        if !suspect.contradicts.is_empty() {
            let _ = write!(out, "; but {} passed", suspect.contradicts.join(", "));
        }
        out.push('\n');
    }
    out.push('\n');
    out
}

/// The judgement for people, with the faults that explain it.
pub fn words(judgement: &BenchJudgement, suspects: &[BenchSuspect]) -> String {
    let mut out = String::new();
    for step in &judgement.failed {
        let tips = if step.tips.is_empty() { String::new() } else { format!(": {}", step.tips.join(" to ")) };
        // OK because: writing to memory can't fail.
        let _ = writeln!(
            out,
            "failed {} {}{tips} ({})\n  read: {}; it must be: {}\n  {}\n",
            step.step, step.what, step.test, step.read, step.pass, step.meaning
        );
    }
    out.push_str(&suspected(suspects));
    for step in &judgement.unclear {
        let _ = writeln!(out, "unclear {} {}\n  `{}` is not {}\n", step.step, step.what, step.read, step.wanted);
    }
    for step in &judgement.missing {
        let _ = writeln!(out, "missing {} {}", step.step, step.what);
    }
    if !judgement.missing.is_empty() {
        out.push('\n');
    }
    let by_tick = match judgement.ticked_only {
        0 => String::new(),
        ticked => format!(" ({ticked} by a tick, without a reading)"),
    };
    let unclear = match judgement.unclear.len() {
        0 => String::new(),
        unclear => format!(", {unclear} unclear"),
    };
    let _ = writeln!(
        out,
        "{} passed{by_tick}, {} failed{unclear}, {} missing",
        judgement.passed,
        judgement.failed.len(),
        judgement.missing.len()
    );
    if let Some(first) = judgement.failed.first() {
        let _ = writeln!(out, "Repair step {} first, then repeat from there: later readings depend on it.", first.step);
    }
    out
}
