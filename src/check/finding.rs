//! What a rule reports: a message of one clause, the place, the evidence and what to do.

use super::repair::Repair;
use form::Place;
use model::{PartId, PinId, ScreenId, Shown, WireId};
use quantity::{Amps, Volts};
use serde::Serialize;
use states::Picture;
use std::fmt;

/// Severity, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The harness doesn't do what it should, or can do harm.
    Error,
    /// It works, but is likely to give trouble.
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

/// A fault, or something else that a rule reports.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// The rule, `family/name`.
    pub rule: &'static str,
    /// Its severity.
    pub severity: Severity,
    /// One clause: what is wrong, with value and limit and the state where it shows.
    pub message: String,
    /// Its subject, as `accept` names it: `wire 7`, `K1`, `screen dash`.
    pub about: String,
    /// The place in the spec.
    pub place: Place,
    /// Short words under the marked text.
    pub label: String,
    /// Other places that belong to it, each with a word.
    pub also: Vec<(Place, String)>,
    /// The values, path and timeline that show it.
    pub evidence: Evidence,
    /// What it is about as ids.
    pub involved: Involved,
    /// What to do.
    pub hint: String,
    /// Whether nearly every sound harness has it: a report for people keeps it to a line.
    pub usual: bool,
    /// How its cause is repaired, if the finding shows a cause.
    pub repair: Option<Repair>,
    /// A view that some state breaks in the same way: then the finding follows from that.
    pub breaks_view: Option<Place>,
    /// The finding that it follows from, by its index in the report.
    pub follows_from: Option<usize>,
}

/// What a finding is about as ids, so that findings are compared by these and not by their words. None of it is printed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Involved {
    /// The pins that the message is about, the one at fault first.
    pub pins: Vec<PinId>,
    /// The screen that shows it.
    pub screen: Option<ScreenId>,
    /// What the screen should show, and what it shows.
    pub shows: Option<(Shown, Picture)>,
    /// The triggers of the screen that are on.
    pub triggers: Vec<PinId>,
    /// What is wrong with a part that should work at times.
    pub works: Option<WorksFault>,
}

impl Involved {
    /// The source that should show.
    pub fn wanted(&self) -> Option<PartId> {
        match self.shows {
            Some((Shown::Source(part), _)) => Some(part),
            _ => None,
        }
    }

    /// The picture that shows.
    pub fn shown(&self) -> Option<&Picture> {
        self.shows.as_ref().map(|(_, picture)| picture)
    }

    /// The input of a screen on which no picture comes in.
    pub fn without_picture(&self) -> Option<PinId> {
        match self.shown() {
            Some(Picture::NoSignal(pin)) => Some(*pin),
            _ => None,
        }
    }
}

/// What is wrong with a part that should work at times.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WorksFault {
    /// It doesn't work when it should.
    Dead,
    /// It works when it shouldn't.
    Unasked,
    /// It works when another should.
    Crossed,
}

/// The state, values, path and timeline that show a finding.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Evidence {
    /// The state, in words.
    pub state: Option<String>,
    /// The corner at which it was solved.
    pub corner: Option<String>,
    /// The path of the current, from the supply on.
    pub path: Vec<Waypoint>,
    /// Values with their limits.
    pub figures: Vec<Figure>,
    /// The events around the moment that shows it, in order of time.
    pub timeline: Vec<TimelineRow>,
}

/// A moment in a timeline.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TimelineRow {
    /// Time from the start of the drive or from the input change in question.
    pub at: String,
    /// What happens: `left-turn off, K1 out`; empty if only screens change.
    pub happens: String,
    /// What each screen shows from then on, and after `≠` what it should show: `dash: switching over ≠ LEFT`.
    pub screens: Vec<String>,
}

/// A pin in the path of a current.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Waypoint {
    /// The pin, as people write it.
    pub pin: String,
    /// Voltage against the battery's negative.
    pub volts: Volts,
    /// The connection from the pin before, `wire 7` or `K1 30-87`; `None` for the first.
    pub through: Option<String>,
    /// The current through it.
    pub amps: Option<Amps>,
}

/// A value with its limit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Figure {
    /// Its name.
    pub name: String,
    /// The value with its unit.
    pub value: String,
    /// The limit with its unit.
    pub limit: Option<String>,
}

impl Figure {
    /// `voltage at the coil: 8.18 V, needs at least 9.17 V`: a bare number is called a limit, other limits say what
    /// they are.
    pub fn words(&self) -> String {
        let Figure { name, value, .. } = self;
        match self.limit.as_deref() {
            Some(limit) if limit.starts_with("at least") => format!("{name}: {value}, needs {limit}"),
            Some(limit) if limit.starts_with(|c: char| c.is_ascii_digit()) => format!("{name}: {value}, limit {limit}"),
            Some(limit) => format!("{name}: {value}, {limit}"),
            None => format!("{name}: {value}"),
        }
    }
}

impl Finding {
    /// Whether the first value with a limit prints the same as that limit. Then only rounding puts one above the other, and
    /// nothing is wrong.
    pub fn is_at_its_limit(&self) -> bool {
        let first = self.evidence.figures.iter().find_map(|figure| Some((&figure.value, figure.limit.as_ref()?)));
        first.is_some_and(|(value, limit)| limit.strip_prefix("at least ").unwrap_or(limit) == value)
    }

    /// Marks a note that nearly every sound harness has.
    pub fn usual(mut self) -> Self {
        self.usual = true;
        self
    }

    /// Sets how its cause is repaired.
    pub fn repaired_by(mut self, repair: Repair) -> Self {
        self.repair = Some(repair);
        self
    }

    /// Sets the subject.
    pub fn about(mut self, about: impl Into<String>) -> Self {
        self.about = about.into();
        self
    }

    /// Adds pins that the message is about.
    pub fn at_pins(mut self, pins: impl IntoIterator<Item = PinId>) -> Self {
        self.involved.pins.extend(pins);
        self
    }

    /// Sets the words under the marked text.
    pub fn label(mut self, label: impl Into<String>) -> Self {
        self.label = label.into();
        self
    }

    /// Adds another place that belongs to it.
    pub fn also(mut self, place: Place, word: impl Into<String>) -> Self {
        self.also.push((place, word.into()));
        self
    }

    /// Adds a wire that is wrong: the harness is repaired without it.
    pub fn without(mut self, wire: Option<WireId>) -> Self {
        let mut wires = match self.repair.take() {
            Some(Repair::Without(wires)) => wires,
            _ => Vec::new(),
        };
        wires.extend(wire);
        self.repair = (!wires.is_empty()).then_some(Repair::Without(wires));
        self
    }

    /// Sets what to do.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = hint.into();
        self
    }

    /// Adds a value without a limit.
    pub fn value(self, name: &str, value: impl fmt::Display) -> Self {
        self.figure(Figure { name: name.into(), value: value.to_string(), limit: None })
    }

    /// Adds a value with its limit.
    pub fn limit(self, name: &str, value: impl fmt::Display, limit: impl fmt::Display) -> Self {
        self.figure(Figure { name: name.into(), value: value.to_string(), limit: Some(limit.to_string()) })
    }

    fn figure(mut self, figure: Figure) -> Self {
        self.evidence.figures.push(figure);
        self
    }

    /// Sets the state and corner that show it.
    pub fn shown_in(mut self, state: String, corner: impl fmt::Display) -> Self {
        self.evidence.state = Some(state);
        self.evidence.corner = Some(corner.to_string());
        self
    }

    /// Sets the path of the current that shows it.
    pub fn path(mut self, path: Vec<Waypoint>) -> Self {
        self.evidence.path = path;
        self
    }
}
