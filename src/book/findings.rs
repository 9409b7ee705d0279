//! Findings as printed in the book.

use serde::Serialize;

/// What was found, and what was accepted on purpose.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Findings {
    /// What counts, in the order of the spec.
    pub counted: Vec<FindingLine>,
    /// What was accepted, each with the reason.
    pub accepted: Vec<AcceptedLine>,
    /// How many of those that count are errors.
    pub errors: usize,
}

/// A finding.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FindingLine {
    /// `error`, `warning` or `note`.
    pub severity: String,
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
    /// What to do.
    pub hint: String,
}

/// A finding that was accepted.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AcceptedLine {
    /// The rule's name.
    pub rule: String,
    /// What it is about.
    pub about: String,
    /// What is wrong; none where nothing of the kind was found.
    pub message: Option<String>,
    /// Why it was accepted.
    pub because: String,
}
