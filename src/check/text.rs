//! A report for people.

use super::{Evidence, Finding, Report, Severity, TimelineRow};
use diagnostic::{Message, Style, draw};
use model::Model;

/// Said where worst values are bounded.
const BOUNDED: &str = "bounded: too many inputs to solve every combination, so parts that share only the supply were proved \
                       apart;\n         a load that comes near its least voltage takes most just there, and what all draw \
                       may decide what\n         a relay does: up to some percent more than is told\n";

/// Every finding with its line and its evidence, then what was accepted, then a line that counts.
pub fn text(model: &Model, report: &Report, style: Style) -> String {
    let mut out = String::new();
    for finding in &report.findings {
        out.push_str(&one(model, finding, style));
        out.push_str("\n\n");
    }
    for (finding, line) in &report.accepted {
        let accepted = &model.accepted[*line];
        out.push_str(&format!("accepted: {} on {}: {}\n", finding.rule, finding.about, finding.message));
        out.push_str(&format!("          because: {}\n", accepted.because));
    }
    for state in &report.unsolved {
        out.push_str(&format!("not solved, and so not checked: {state}\n"));
    }
    if report.bounded {
        out.push_str(BOUNDED);
    }
    out.push_str(&report.proof.text());
    out.push('\n');
    out.push_str(&summary(report));
    out
}

fn one(model: &Model, finding: &Finding, style: Style) -> String {
    let message = Message {
        level: finding.severity.word(),
        rule: Some(finding.rule),
        text: &finding.message,
        place: Some((finding.place, &finding.label)),
        also: finding.also.iter().map(|(place, word)| (*place, word.as_str())).collect(),
        notes: notes(&finding.evidence),
        hint: (!finding.hint.is_empty()).then_some(finding.hint.as_str()),
    };
    draw(&model.sources, &message, style)
}

/// The evidence as lines: where it shows, the figures, the way of the current.
fn notes(evidence: &Evidence) -> Vec<String> {
    let mut notes = Vec::new();
    match (&evidence.state, &evidence.corner) {
        (Some(state), Some(corner)) => notes.push(format!("in state: {state} ({corner})")),
        (Some(state), None) => notes.push(format!("in state: {state}")),
        (None, Some(corner)) => notes.push(format!("at {corner}")),
        (None, None) => {}
    }
    for figure in &evidence.figures {
        notes.push(match &figure.limit {
            Some(limit) => format!("{}: {}, limit {limit}", figure.name, figure.value),
            None => format!("{}: {}", figure.name, figure.value),
        });
    }
    if !evidence.path.is_empty() {
        let mut lines = vec!["the current takes this way:".to_string()];
        lines.extend(evidence.path.iter().map(|way| match (&way.through, way.amps) {
            (Some(through), Some(amps)) => format!("  {amps} through {through} to {} at {}", way.pin, way.volts),
            _ => format!("  {} at {}", way.pin, way.volts),
        }));
        notes.push(lines.join("\n"));
    }
    if !evidence.timeline.is_empty() {
        notes.push(format!("what happens around it:\n{}", timeline(&evidence.timeline)));
    }
    notes
}

/// Moments as lines, in columns.
fn timeline(rows: &[TimelineRow]) -> String {
    let widest = |text: fn(&TimelineRow) -> &str| rows.iter().map(|row| text(row).chars().count()).max().unwrap_or(0);
    let (at, happens) = (widest(|row| &row.at), widest(|row| &row.happens));
    let line = |row: &TimelineRow| {
        let screens = row.screens.join(", ");
        format!("  {:>at$}  {:<happens$}  {screens}", row.at, row.happens)
    };
    rows.iter().map(line).collect::<Vec<_>>().join("\n")
}

/// How many of what.
fn summary(report: &Report) -> String {
    let some = |count: usize, word: &str| match count {
        1 => format!("1 {word}"),
        n => format!("{n} {word}s"),
    };
    let severities = [Severity::Error, Severity::Warning, Severity::Note];
    let mut counts: Vec<String> = severities
        .into_iter()
        .filter(|severity| report.count(*severity) > 0)
        .map(|severity| some(report.count(severity), severity.word()))
        .collect();
    if counts.is_empty() {
        counts.push("no findings".into());
    }
    if !report.accepted.is_empty() {
        counts.push(format!("{} accepted", report.accepted.len()));
    }
    if !report.unsolved.is_empty() {
        counts.push(format!("{} not solved", some(report.unsolved.len(), "state")));
    }
    format!("{}\n", counts.join(", "))
}
