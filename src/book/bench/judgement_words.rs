//! A judged bench test, for people.

use crate::bench::judge::BenchJudgement;
use crate::bench::suspects::BenchSuspect;
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// Most faults that are named.
const MOST_NAMED: usize = 5;

/// The faults that explain the failed steps.
fn suspected(suspects: &[BenchSuspect]) -> String {
    let Some(first) = suspects.first() else { return String::new() };
    let mut out = match first.leaves.is_empty() && first.contradicts.is_empty() {
        true => "one of these alone explains every result:\n".to_string(),
        false => "no single fault of the build explains every result; these come closest:\n".to_string(),
    };
    for suspect in suspects.iter().take(MOST_NAMED) {
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
    if suspects.len() > MOST_NAMED {
        let _ = writeln!(out, "  and {} more that show alike (--format json lists them)", suspects.len() - MOST_NAMED);
    }
    out.push('\n');
    out
}

/// The judgement for people, with the faults that explain it.
pub fn words(judgement: &BenchJudgement, suspects: &[BenchSuspect]) -> String {
    let mut out = suspected(suspects);
    let mut said = BTreeSet::new();
    for step in &judgement.failed {
        let tips = if step.tips.is_empty() { String::new() } else { format!(": {}", step.tips.join(" to ")) };
        // OK because: writing to memory can't fail.
        let _ = writeln!(
            out,
            "failed {} {}{tips} ({})\n  read: {}; it must be: {}",
            step.step, step.what, step.test, step.read, step.pass
        );
        // What one failed step says, the next need not say again.
        if said.insert(&step.meaning) {
            let _ = writeln!(out, "  {}", step.meaning);
        }
        out.push('\n');
    }
    for step in &judgement.unclear {
        let _ = writeln!(out, "unclear {} {}\n  `{}` is not {}\n", step.step, step.what, step.read, step.wanted);
    }
    if !judgement.missing.is_empty() {
        let numbers: Vec<&str> = judgement.missing.iter().map(|step| step.step.as_str()).collect();
        let _ = writeln!(out, "missing: {}\n", ranges(&numbers).join(", "));
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
        let _ = writeln!(
            out,
            "Mend what step {} shows, then test again from there: later readings depend on it.",
            first.step
        );
    }
    out
}

/// Numbers of steps that follow each other, as `6.1 to 6.4`.
fn ranges(numbers: &[&str]) -> Vec<String> {
    let parsed = |number: &str| -> Option<(u32, u32)> {
        let (group, step) = number.split_once('.')?;
        Some((group.parse().ok()?, step.parse().ok()?))
    };
    let follows = |one: &&str, next: &&str| match (parsed(one), parsed(next)) {
        (Some((group, step)), Some((other, next))) => group == other && step + 1 == next,
        _ => false,
    };
    let words = |run: &[&str]| match run {
        [first, .., last] => format!("{first} to {last}"),
        _ => run.join(", "),
    };
    numbers.chunk_by(follows).map(words).collect()
}

#[cfg(test)]
mod tests {
    #[test]
    fn numbers_that_follow_each_other_are_one_range() {
        assert_eq!(super::ranges(&["5.1", "6.1", "6.2", "6.3", "7.4", "7.6"]), ["5.1", "6.1 to 6.3", "7.4", "7.6"]);
        assert!(super::ranges(&[]).is_empty());
    }
}
