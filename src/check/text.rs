//! A report for people.

use super::{Evidence, Finding, Report, Severity, TimelineRow};
use diagnostic::{Message, Style, draw};
use model::Model;

/// Printed if worst values are bounds.
const BOUNDED: &str = "bounded: too many inputs to solve every combination, so zones that share only the supply were checked \
                       separately;\n         their combined draw may change a load's current or a relay's state, so true \
                       worst values\n         may be some percent higher\n";

/// Every finding with its line and its evidence, then usual notes with a line each, the accepted findings, and a line with
/// the counts.
pub fn text(model: &Model, report: &Report, style: Style) -> String {
    let (usual, others): (Vec<&Finding>, Vec<&Finding>) = report.findings.iter().partition(|finding| finding.usual);
    printed(model, report, style, &others, &usual)
}

/// The same with usual notes in full.
pub fn text_in_full(model: &Model, report: &Report, style: Style) -> String {
    printed(model, report, style, &report.findings.iter().collect::<Vec<_>>(), &[])
}

fn printed(model: &Model, report: &Report, style: Style, findings: &[&Finding], usual: &[&Finding]) -> String {
    let mut out = String::new();
    for finding in findings {
        out.push_str(&one(model, finding, style));
        out.push_str("\n\n");
    }
    out.push_str(&usual_notes(usual));
    for (finding, line) in &report.accepted {
        let accepted = &model.accepted[*line];
        out.push_str(&format!("accepted: {} on {}: {}\n", finding.rule, finding.about, finding.message));
        out.push_str(&format!("          because: {}\n", accepted.because));
    }
    for state in &report.unsolved {
        out.push_str(&format!("not solved, so not checked: {state}\n"));
    }
    if report.bounded {
        out.push_str(BOUNDED);
    }
    out.push_str(&report.proof.text());
    out.push('\n');
    out.push_str(&summary(report));
    out
}

/// A line for each usual note, and where to find more.
fn usual_notes(notes: &[&Finding]) -> String {
    if notes.is_empty() {
        return String::new();
    }
    let lines: String = notes.iter().map(|note| format!("  {}: {}\n", note.rule, note.message)).collect();
    format!(
        "notes on nearly every harness (`explain RULE` says what they mean, `check --full` shows all of them):\n{lines}\n"
    )
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

/// The evidence as lines: state, values and path of the current.
fn notes(evidence: &Evidence) -> Vec<String> {
    let mut notes = Vec::new();
    match (&evidence.state, &evidence.corner) {
        (Some(state), Some(corner)) => notes.push(format!("in state: {state} ({corner})")),
        (Some(state), None) => notes.push(format!("in state: {state}")),
        (None, Some(corner)) => notes.push(format!("at {corner}")),
        (None, None) => {}
    }
    for figure in &evidence.figures {
        notes.push(figure.words());
    }
    if !evidence.path.is_empty() {
        let mut lines = vec!["path of the current:".to_string()];
        lines.extend(evidence.path.iter().map(|point| match (&point.through, point.amps) {
            (Some(through), Some(amps)) => format!("  {amps} through {through} to {} at {}", point.pin, point.volts),
            _ => format!("  {} at {}", point.pin, point.volts),
        }));
        notes.push(lines.join("\n"));
    }
    if !evidence.timeline.is_empty() {
        notes.push(format!("timeline:\n{}", timeline(&evidence.timeline)));
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

/// The counts of findings.
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
