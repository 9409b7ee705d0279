//! What a group of items shows.

use super::geometry::{Point, Rect};
use std::fmt;

/// What a group shows, for pages that light it and tests that audit it. Written as `data-…` on `<g>`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tag {
    /// Number of the wire: `data-wire`.
    pub wire: Option<String>,
    /// Name of the part: `data-part`.
    pub part: Option<String>,
    /// Pin, `PART.pin`: `data-pin`.
    pub pin: Option<String>,
    /// What this group is the label of; its text is written beside it: `data-label` and `data-text`.
    pub label: Option<LabelOf>,
    /// What kind of thing it is (`symbol`, `outline`, `rail`, …): `data-kind`.
    pub kind: Option<String>,
    /// Words shown when a pointer rests on it.
    pub hover: Option<String>,
    /// A box that wires and labels must keep out of (a part's body): `data-outline`.
    pub outline: Option<Rect>,
    /// Where wires join a pin: `data-at`.
    pub at: Option<Point>,
    /// Anything else, as `data-KEY`; keys are lower-case letters and hyphens.
    pub data: Vec<(String, String)>,
}

/// What a label belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LabelOf {
    /// A wire, by its number.
    Wire(String),
    /// A part or a pin by its name, or a piece of the drawing.
    Thing(String),
}

impl fmt::Display for LabelOf {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            LabelOf::Wire(number) => write!(f, "wire {number}"),
            LabelOf::Thing(name) => f.write_str(name),
        }
    }
}

impl<T: Into<String>> From<T> for LabelOf {
    fn from(name: T) -> Self {
        LabelOf::Thing(name.into())
    }
}

impl Tag {
    /// A wire by its number.
    pub fn wire(number: impl Into<String>) -> Self {
        Self { wire: Some(number.into()), ..Self::default() }
    }
    /// A part by its name.
    pub fn part(name: impl Into<String>) -> Self {
        Self { part: Some(name.into()), ..Self::default() }
    }
    /// A pin, `PART.pin`.
    pub fn pin(name: impl Into<String>) -> Self {
        Self { pin: Some(name.into()), ..Self::default() }
    }
    /// A label of something.
    pub fn label(of: impl Into<LabelOf>) -> Self {
        Self { label: Some(of.into()), ..Self::default() }
    }
    /// A thing known only by its kind.
    pub fn kind(kind: impl Into<String>) -> Self {
        Self { kind: Some(kind.into()), ..Self::default() }
    }
    /// The same, named as of a kind.
    pub fn of_kind(mut self, kind: impl Into<String>) -> Self {
        self.kind = Some(kind.into());
        self
    }
    /// The same with words for a resting pointer.
    pub fn hovered(mut self, words: impl Into<String>) -> Self {
        self.hover = Some(words.into());
        self
    }
    /// The same with a box that wires and labels must keep out of.
    pub fn outlined(mut self, outline: Rect) -> Self {
        self.outline = Some(outline);
        self
    }
    /// A pin, `PART.pin`, and where wires join it.
    pub fn pin_at(name: impl Into<String>, at: Point) -> Self {
        Self { pin: Some(name.into()), at: Some(at), ..Self::default() }
    }
    /// The same wire with the pins it joins: `data-from` and `data-to`.
    pub fn between(self, from: impl Into<String>, to: impl Into<String>) -> Self {
        self.with("from", from).with("to", to)
    }
    /// The same with one more pair.
    pub fn with(mut self, key: impl Into<String>, value: impl Into<String>) -> Self {
        self.data.push((key.into(), value.into()));
        self
    }
}
