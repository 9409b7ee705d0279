//! A report for people.

use super::{Evidence, Finding, Report, Severity, TimelineRow};
use diagnostic::{Message, Style, draw};
use facts::small_currents::or_no_current;
use model::Model;

/// Printed if worst values are bounds.
const BOUNDED: &str = "bounded: too many inputs to solve every combination, so zones that share only the supply were checked \
                       separately;\n         their combined draw may change a load's current or a relay's state, so true \
                       worst values\n         may be some percent higher\n";

/// Every finding that follows from no other, with its line and its evidence, then usual notes with a line each, the
/// accepted findings, and a line with the counts.
pub fn text(model: &Model, report: &Report, style: Style) -> String {
    let (others, usual) = parted(report);
    printed(model, report, style, &others, &usual)
}

/// The same with only message, place and advice of each finding.
pub fn brief(model: &Model, report: &Report, style: Style) -> String {
    let (others, usual) = parted(report);
    let mut out = String::new();
    for Printed { finding, note } in &others {
        let message = Message { notes: note.iter().cloned().collect(), also: Vec::new(), ..message(finding) };
        out.push_str(&diagnostic::brief(&model.sources, &message, style));
        out.push_str("\n\n");
    }
    if !others.is_empty() {
        out.push_str("(check --long prints the lines, values and current paths of each)\n\n");
    }
    out + &below(model, report, &usual)
}

/// The same with usual notes in full, and after each root what follows from it.
pub fn text_in_full(model: &Model, report: &Report, style: Style) -> String {
    let note = |finding: &Finding| {
        let root = report.findings.get(finding.follows_from?)?;
        Some(format!("follows from: {}", root.message))
    };
    let all: Vec<Printed> = report.findings.iter().map(|finding| Printed { finding, note: note(finding) }).collect();
    printed(model, report, style, &all, &[])
}

/// A finding, and what is said about its root or its consequences.
struct Printed<'r> {
    finding: &'r Finding,
    note: Option<String>,
}

/// Consequences that are named below their root.
const NAMED: usize = 4;

/// The roots, and apart from them the notes that nearly every harness has.
fn parted(report: &Report) -> (Vec<Printed<'_>>, Vec<&Finding>) {
    let (usual, others): (Vec<Printed>, Vec<Printed>) = roots(report).partition(|printed| printed.finding.usual);
    (others, usual.into_iter().map(|printed| printed.finding).collect())
}

/// The findings that follow from no other, each with what follows from it.
fn roots(report: &Report) -> impl Iterator<Item = Printed<'_>> {
    let roots = report.findings.iter().enumerate().filter(|(_, finding)| finding.follows_from.is_none());
    roots.map(|(i, finding)| {
        let names: Vec<String> = report.following(i).map(|one| format!("{} on {}", one.rule, one.about)).collect();
        let note = match names.len() {
            0 => None,
            n if n > NAMED => Some(format!("{}; …", names[..NAMED].join("; "))),
            _ => Some(names.join("; ")),
        };
        let note = note.map(|named| format!("follows from this: {} more (--full): {named}", names.len()));
        Printed { finding, note }
    })
}

fn printed(model: &Model, report: &Report, style: Style, findings: &[Printed], usual: &[&Finding]) -> String {
    let mut out = String::new();
    for printed in findings {
        out.push_str(&one(model, printed, style));
        out.push_str("\n\n");
    }
    out + &below(model, report, usual)
}

/// Usual notes, accepted findings, what was solved, and the counts.
fn below(model: &Model, report: &Report, usual: &[&Finding]) -> String {
    let mut out = String::new();
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
    out.push_str(&super::endurance::text(&report.endurance));
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

fn one(model: &Model, printed: &Printed, style: Style) -> String {
    let finding = printed.finding;
    let notes = notes(&finding.evidence).into_iter().chain(printed.note.clone()).collect();
    draw(&model.sources, &Message { notes, ..message(finding) }, style)
}

/// A finding without its evidence.
fn message(finding: &Finding) -> Message<'_> {
    Message {
        level: finding.severity.word(),
        rule: Some(finding.rule),
        text: &finding.message,
        place: Some((finding.place, &finding.label)),
        also: finding.also.iter().map(|(place, word)| (*place, word.as_str())).collect(),
        notes: Vec::new(),
        hint: (!finding.hint.is_empty()).then_some(finding.hint.as_str()),
    }
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
            (Some(through), Some(amps)) => {
                format!("  {} through {through} to {} at {}", or_no_current(amps), point.pin, point.volts)
            }
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

/// The counts of findings, on one line.
pub fn summary(report: &Report) -> String {
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
    let follow = report.findings.len() - report.roots().count();
    if follow > 0 {
        counts.push(format!("{follow} that {} from them", if follow == 1 { "follows" } else { "follow" }));
    }
    if !report.accepted.is_empty() {
        counts.push(format!("{} accepted", report.accepted.len()));
    }
    if !report.unsolved.is_empty() {
        counts.push(format!("{} not solved", some(report.unsolved.len(), "state")));
    }
    format!("{}\n", counts.join(", "))
}
