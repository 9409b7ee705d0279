//! The results of a bench test, judged: which steps pass, which fail and what that means, which are missing.

use crate::bench::BenchTest;
use crate::bench::limit::{Compared, Limit};
use crate::bench::steps::{BenchGroup, BenchStep, GroupKind};
use serde::Serialize;
use std::collections::BTreeSet;

/// What was found in one step.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StepResult {
    /// What was read; empty if nothing was written down.
    pub read: String,
    /// Whether the step was ticked as passed.
    pub ticked: bool,
}

/// A bench test, judged.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct BenchJudgement {
    /// Steps that pass.
    pub passed: usize,
    /// How many of them were only ticked, without a reading.
    pub ticked_only: usize,
    /// Their numbers.
    #[serde(skip)]
    pub passed_steps: BTreeSet<String>,
    /// Steps that fail, in their order.
    pub failed: Vec<FailedStep>,
    /// Steps whose reading can't be understood.
    pub unclear: Vec<UnclearStep>,
    /// Steps without a reading or a tick.
    pub missing: Vec<MissingStep>,
}

/// A step that fails.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FailedStep {
    /// Its number: `5.2`.
    pub step: String,
    /// The test that it belongs to: `With power: key run, reverse`.
    pub test: String,
    /// What is checked.
    pub what: String,
    /// Where the tips of the meter go.
    pub tips: Vec<String>,
    /// What was read.
    pub read: String,
    /// What passes.
    pub pass: String,
    /// What it means, and where to look.
    pub meaning: String,
}

/// A step whose reading can't be understood.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UnclearStep {
    /// Its number.
    pub step: String,
    /// What is checked.
    pub what: String,
    /// What was written.
    pub read: String,
    /// What a reading must look like.
    pub wanted: String,
}

/// A step without a result.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MissingStep {
    /// Its number.
    pub step: String,
    /// What is checked.
    pub what: String,
}

impl BenchJudgement {
    /// Whether a step fails.
    pub fn has_failed(&self, number: &str) -> bool {
        self.failed.iter().any(|step| step.step == number)
    }

    /// Whether every step has a result and passes.
    pub fn is_passed(&self) -> bool {
        self.failed.is_empty() && self.unclear.is_empty() && self.missing.is_empty()
    }
}

/// The steps of a test, each with its number and its group.
pub(super) fn numbered(test: &BenchTest) -> impl Iterator<Item = (String, &BenchGroup, &BenchStep)> {
    std::iter::once(&test.before).chain(&test.groups).enumerate().flat_map(|(g, group)| {
        group.steps.iter().enumerate().map(move |(s, step)| (format!("{g}.{}", s + 1), group, step))
    })
}

/// Judges the results of a test. `found` gives what was found in a step, by its number.
pub fn judge(test: &BenchTest, found: impl Fn(&str) -> StepResult) -> BenchJudgement {
    let mut all = BenchJudgement::default();
    for (number, group, step) in numbered(test) {
        let result = found(&number);
        let what = step.what.clone();
        if result.read.trim().is_empty() {
            match result.ticked {
                true => {
                    all.passed += 1;
                    all.passed_steps.insert(number);
                    all.ticked_only += 1;
                }
                // What is only done leaves nothing to read.
                false if group.kind.is_doing() => {}
                false => all.missing.push(MissingStep { step: number, what }),
            }
            continue;
        }
        match step.limit.compare(&result.read) {
            Ok(Compared::Passed) => {
                all.passed += 1;
                all.passed_steps.insert(number);
            }
            Ok(compared) => all.failed.push(FailedStep {
                step: number,
                test: group.title.clone(),
                what,
                tips: [&step.red, &step.black].into_iter().filter(|tip| !tip.is_empty()).cloned().collect(),
                meaning: meaning(group.kind, step, compared, &result.read),
                read: result.read,
                pass: passing(group.kind, step),
            }),
            Err(wanted) => all.unclear.push(UnclearStep { step: number, what, read: result.read, wanted }),
        }
    }
    all
}

/// What passes: of a part by itself, what is expected and how far the reading may differ from it.
fn passing(kind: GroupKind, step: &BenchStep) -> String {
    match kind == GroupKind::Part && !step.pass.starts_with(&step.expect) {
        true => format!("{}, {}", step.expect, step.pass),
        false => step.pass.clone(),
    }
}

/// What a failed step means, and where to look.
fn meaning(kind: GroupKind, step: &BenchStep, compared: Compared, read: &str) -> String {
    let BenchStep { what, red, black, limit, .. } = step;
    match (kind, limit, compared) {
        (GroupKind::Continuity, ..) if read.chars().any(|c| c.is_ascii_digit()) => format!(
            "Too much resistance: a bad crimp or splice, or a wire that is longer or thinner than listed. Look at {red} \
             and {black}."
        ),
        (GroupKind::Continuity, ..) => format!(
            "No connection: a wire is broken or not crimped, or an end is in another cavity. Look at {red} and {black}."
        ),
        (GroupKind::Apart, ..) => "Two of these pins are joined: a wire is in a wrong cavity, a strand is loose, or a \
             splice joins too much. Find the pair pin by pin."
            .to_string(),
        (GroupKind::Part, ..) => {
            format!("{what} is not as it must be: see that it is the part listed, then exchange it.")
        }
        (_, Limit::Volts { least: None, .. }, _) => format!(
            "Voltage where there must be none: a wire in a wrong cavity, or a diode that is reversed or missing. Follow \
             the wires of {red}."
        ),
        (_, Limit::Volts { .. }, Compared::High) => {
            format!("Too much voltage: check the setting of the supply, then the wires of {red}.")
        }
        (_, Limit::Volts { .. }, _) => format!(
            "Too little voltage: a blown fuse, a bad joint or a wrong wire on the way to {red}, or no ground at {black}."
        ),
        (_, Limit::Amps { .. }, Compared::High) => {
            "Too much current: a short, or a wrong part, behind this fuse. Switch off first.".to_string()
        }
        (_, Limit::Amps { .. }, _) => {
            "Too little current: a part behind this fuse is not connected, or does not work.".to_string()
        }
        (_, Limit::Time { .. }, _) => {
            "The time is wrong: set it again; exchange the module if it stays wrong.".to_string()
        }
        (_, Limit::Picture(_), _) => {
            "The wrong picture: first see that the supplies and triggers of this state pass, then follow the picture \
             leads of the screen and of the camera that should show."
                .to_string()
        }
        _ => "Do the step once more. If it fails again, compare the wires with the pin lists of the parts named."
            .to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of a part, how far a reading may differ says nothing without what is expected.
    #[test]
    fn what_a_part_must_read_names_the_expected_value() {
        let passes = |kind, expect: &str, pass: &str| passing(kind, &BenchStep::action("K1", expect, pass));
        assert_eq!(passes(GroupKind::Part, "90 Ω", "within 20 %"), "90 Ω, within 20 %");
        assert_eq!(
            passes(GroupKind::Part, "joined at on", "joined at on, open otherwise"),
            "joined at on, open otherwise"
        );
        assert_eq!(passes(GroupKind::Continuity, "0.01 Ω", "at most 0.12 Ω"), "at most 0.12 Ω");
    }
}
