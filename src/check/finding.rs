//! What a rule reports: one clause, where, the evidence with figures, and what to do.

use form::Place;
use quantity::{Amps, Volts};
use serde::Serialize;
use std::fmt;

/// How bad it is, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The harness won't do what it should, or can do harm.
    Error,
    /// It works, and will give trouble.
    Warning,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Error => "error",
            Severity::Warning => "warning",
            Severity::Note => "note",
        }
    }
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

impl Serialize for Severity {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

/// Something that a rule found.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The rule, `family/name`.
    pub rule: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// One clause: what is wrong, with value and limit and the state where it shows.
    pub message: String,
    /// What it is about, as `accept` names it: `wire 7`, `K1`, `screen dash`.
    pub about: String,
    /// Where.
    pub place: Place,
    /// Short words under the marked text.
    pub label: String,
    /// Other places that belong to it, each with a word.
    pub also: Vec<(Place, String)>,
    /// What shows it.
    pub evidence: Evidence,
    /// What to do.
    pub hint: String,
}

/// What shows a finding.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Evidence {
    /// The state, in words.
    pub state: Option<String>,
    /// The corner at which it was solved.
    pub corner: Option<String>,
    /// The way that the current takes, from the supply on.
    pub path: Vec<Waypoint>,
    /// Values with their limits.
    pub figures: Vec<Figure>,
    /// What happens around the moment that shows it, in order of time.
    pub timeline: Vec<TimelineRow>,
}

/// A moment at which something happens.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TimelineRow {
    /// When, from the start of the drive or of the move that is looked at.
    pub at: String,
    /// What happens: `left-turn off, K1 out`; empty where only screens change.
    pub happens: String,
    /// What each screen shows from then on, and behind `≠` what it should: `dash: changing over ≠ LEFT`.
    pub screens: Vec<String>,
}

/// A pin on the way of a current.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Waypoint {
    /// The pin, as people write it.
    pub pin: String,
    /// Against the battery's negative.
    pub volts: Volts,
    /// What leads here from the pin before, `wire 7` or `K1 30-87`; none for the first.
    pub through: Option<String>,
    /// The current through it.
    pub amps: Option<Amps>,
}

/// A value with its limit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Figure {
    /// What it is.
    pub name: String,
    /// With its unit.
    pub value: String,
    /// What it may be, with its unit.
    pub limit: Option<String>,
}

impl Finding {
    /// What it is about.
    pub fn about(mut self, about: impl Into<String>) -> Self {
        self.about = about.into();
        self
    }

    /// Words under the marked text.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// Another place that belongs to it.
    pub fn also(mut self, place: Place, word: impl Into<String>) -> Self {
        self.also.push((place, word.into()));
        self
    }

    /// What to do.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// A value, without a limit of its own.
    pub fn value(self, name: &str, value: impl fmt::Display) -> Self {
        self.figure(Figure { name: name.into(), value: value.to_string(), limit: None })
    }

    /// A value and what it may be.
    pub fn limit(self, name: &str, value: impl fmt::Display, limit: impl fmt::Display) -> Self {
        self.figure(Figure { name: name.into(), value: value.to_string(), limit: Some(limit.to_string()) })
    }

    fn figure(mut self, figure: Figure) -> Self {
        self.evidence.figures.push(figure);
        self
    }

    /// The state and corner in which it shows.
    pub fn shown_in(mut self, state: String, corner: impl fmt::Display) -> Self {
        self.evidence.state = Some(state);
        self.evidence.corner = Some(corner.to_string());
        self
    }

    /// The way of the current that shows it.
    pub fn path(mut self, path: Vec<Waypoint>) -> Self {
        self.evidence.path = path;
        self
    }
}
