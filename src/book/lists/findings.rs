//! Findings as printed in the book.

use check::{Finding, Report, Severity, TimelineRow};
use form::{Place, Sources};
use model::Model;
use serde::Serialize;

/// What was found, and what was accepted on purpose.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Findings {
    /// The findings that are not accepted, in the order of the spec.
    pub counted: Vec<FindingLine>,
    /// What was accepted, each with the reason.
    pub accepted: Vec<AcceptedLine>,
    /// How many of the findings that are not accepted are errors.
    pub errors: usize,
}

/// A report in the book's words.
pub fn findings(model: &Model, report: &Report) -> Findings {
    let accepted = model.accepted.iter().enumerate().flat_map(|(line, accepted)| {
        let taken: Vec<&Finding> = report.accepted.iter().filter(|(_, l)| *l == line).map(|(f, _)| f).collect();
        let messages: Vec<Option<String>> =
            if taken.is_empty() { vec![None] } else { taken.iter().map(|f| Some(f.message.clone())).collect() };
        messages.into_iter().map(move |message| AcceptedLine {
            rule: accepted.rule.clone(),
            about: accepted.on.clone(),
            message,
            because: accepted.because.clone(),
        })
    });
    Findings { counted: counted(model, report), accepted: accepted.collect(), errors: report.count(Severity::Error) }
}

/// Every root, with the messages of its consequences.
fn counted(model: &Model, report: &Report) -> Vec<FindingLine> {
    let roots = report.findings.iter().enumerate().filter(|(_, finding)| finding.follows_from.is_none());
    let with_following = |(i, finding): (usize, &Finding)| {
        let follows = report.following(i).map(|finding| finding.message.clone()).collect();
        FindingLine { follows, ..line(&model.sources, finding) }
    };
    roots.map(with_following).collect()
}

fn line(sources: &Sources, finding: &Finding) -> FindingLine {
    FindingLine {
        severity: finding.severity,
        rule: finding.rule.to_string(),
        about: finding.about.clone(),
        message: finding.message.clone(),
        place: place(sources, finding.place),
        state: finding.evidence.state.clone(),
        corner: finding.evidence.corner.clone(),
        timeline: finding.evidence.timeline.clone(),
        hint: finding.hint.clone(),
        follows: Vec::new(),
    }
}

/// File and line. The file goes by its name alone, so that a book doesn't depend on where it is built.
fn place(sources: &Sources, place: Place) -> String {
    let name = sources.name(place.file);
    let name = name.rsplit('/').next().unwrap_or_default();
    format!("{name}, line {}", place.line)
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FindingLine {
    /// Its severity.
    pub severity: Severity,
    /// The rule's name.
    pub rule: String,
    /// What it is about.
    pub about: String,
    /// What is wrong.
    pub message: String,
    /// Where in the spec: file and line.
    pub place: String,
    /// The state in which it shows.
    pub state: Option<String>,
    /// The corner at which it shows.
    pub corner: Option<String>,
    /// What happens around the moment that shows it.
    pub timeline: Vec<TimelineRow>,
    /// What to do.
    pub hint: String,
    /// The messages of the findings that follow from it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub follows: Vec<String>,
}

/// A finding that was accepted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AcceptedLine {
    /// The rule's name.
    pub rule: String,
    /// What it is about.
    pub about: String,
    /// What is wrong; `None` if no such finding was made.
    pub message: Option<String>,
    /// Why it was accepted.
    pub because: String,
}
