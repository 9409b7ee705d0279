//! Accepted findings: `accept: [{finding: load/drop, on: wire 7, because: …}]`.

use super::{Finding, Report};
use model::Model;

/// Sorts findings into those that count and those that an entry of `accept` names.
pub fn split(model: &Model, found: Vec<Finding>) -> Report {
    let mut report = Report::default();
    for finding in found {
        match model.accepted.iter().position(|a| a.rule == finding.rule && a.on == finding.about) {
            Some(line) => report.accepted.push((finding, line)),
            None => report.findings.push(finding),
        }
    }
    report
}
