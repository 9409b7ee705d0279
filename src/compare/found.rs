//! Findings that are gone with the new harness, and those that come with it.

use super::pairs::Pairs;
use check::{Finding, Report, Severity};
use serde::Serialize;

/// Findings before and after. What follows from another finding does not count.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct FindingsChange {
    /// Findings that the new harness no longer has.
    pub gone: Vec<FoundLine>,
    /// Findings that only the new harness has, and those that are worse.
    pub new: Vec<FoundLine>,
    /// Findings that both have, with other figures.
    pub changed: Vec<[FoundLine; 2]>,
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FoundLine {
    /// Its severity.
    pub severity: Severity,
    /// The rule.
    pub rule: &'static str,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub hint: String,
}

impl FindingsChange {
    pub(crate) fn between(old: &Report, new: &Report, pairs: &Pairs) -> FindingsChange {
        let listed =
            |report: &Report| report.roots().filter(|finding| !finding.usual).cloned().collect::<Vec<Finding>>();
        let mut after = listed(new);
        let mut change = FindingsChange::default();
        for finding in listed(old) {
            let about = pairs.words(&finding.about);
            let same = |other: &Finding| other.rule == finding.rule && other.about == about;
            let Some(at) = after.iter().position(same) else {
                change.gone.push(FoundLine::of(&finding));
                continue;
            };
            let then = after.remove(at);
            match then.severity.cmp(&finding.severity) {
                _ if then.severity == finding.severity && then.message == pairs.words(&finding.message) => {}
                std::cmp::Ordering::Equal => change.changed.push([FoundLine::of(&finding), FoundLine::of(&then)]),
                _ => {
                    change.gone.push(FoundLine::of(&finding));
                    change.new.push(FoundLine::of(&then));
                }
            }
        }
        change.new.extend(after.iter().map(FoundLine::of));
        change
    }

    /// Whether nothing differs.
    pub fn is_empty(&self) -> bool {
        *self == FindingsChange::default()
    }
}

impl FoundLine {
    fn of(finding: &Finding) -> FoundLine {
        let Finding { severity, rule, message, hint, .. } = finding.clone();
        FoundLine { severity, rule, message, hint }
    }
}
