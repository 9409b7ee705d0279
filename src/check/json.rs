//! A report for programs. A finding with `follows_from` has its root at that index of `findings`; `counts` are of roots,
//! and `following` of the others.

use super::{Finding, Report, Severity};
use form::Sources;
use model::Model;
use serde_json::{Value, json as object};

/// One object: `findings`, `accepted`, and the number of each severity. Places count from 1, columns in characters.
pub fn json(model: &Model, report: &Report) -> Value {
    let findings = report.findings.iter().map(|finding| {
        let mut value = one(&model.sources, finding);
        // The index of its root in `findings`.
        if let Some(root) = finding.follows_from {
            value["follows_from"] = object!(root);
        }
        value
    });
    let findings: Vec<Value> = findings.collect();
    let accepted = report.accepted.iter().map(|(finding, line)| {
        let mut value = one(&model.sources, finding);
        value["because"] = object!(model.accepted[*line].because);
        value
    });
    object!({
        "version": 1,
        "job": model.job.title,
        "revision": model.job.revision,
        "counts": {
            "error": report.count(Severity::Error),
            "warning": report.count(Severity::Warning),
            "note": report.count(Severity::Note),
            "accepted": report.accepted.len(),
            "following": report.findings.len() - report.roots().count(),
        },
        "findings": findings,
        "accepted": accepted.collect::<Vec<Value>>(),
        "unsolved": report.unsolved,
        "bounded": report.bounded,
        "proof": report.proof,
        "endurance": report.endurance,
    })
}

fn one(sources: &Sources, finding: &Finding) -> Value {
    let also = finding.also.iter().map(|(place, word)| {
        object!({ "file": sources.name(place.file), "line": place.line, "column": place.column, "label": word })
    });
    object!({
        "rule": finding.rule,
        "severity": finding.severity,
        "message": finding.message,
        "about": finding.about,
        "file": sources.name(finding.place.file),
        "line": finding.place.line,
        "column": finding.place.column,
        "label": finding.label,
        "also": also.collect::<Vec<Value>>(),
        "evidence": finding.evidence,
        "hint": finding.hint,
    })
}
