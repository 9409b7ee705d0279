//! A line of text as a placed item.

use super::colour::{INK, Rgb};
use super::font;
use super::geometry::{Point, Rect};

/// Where a text stands against its point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anchor {
    /// The point is at its start.
    #[default]
    Start,
    /// The point is below its middle.
    Middle,
    /// The point is at its end.
    End,
}

/// Which way a text runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Turn {
    /// Left to right.
    #[default]
    Level,
    /// Upwards, to be read from the right edge of the sheet.
    Up,
}

/// A line of text in the drawing's own font. It never wraps.
#[derive(Debug, Clone, PartialEq)]
pub struct TextItem {
    /// A point on its base line.
    pub at: Point,
    /// What it says. Control characters and line breaks are dropped by the writers.
    pub text: String,
    /// Font size, millimetres; capitals are 0.73 of it.
    pub height: f64,
    /// Where the text stands against `at`.
    pub anchor: Anchor,
    /// In the bold weight.
    pub bold: bool,
    /// Which way it runs.
    pub turn: Turn,
    /// Colour of the letters.
    pub colour: Rgb,
    /// A border of this colour behind the letters, to keep lines below from touching them.
    pub halo: Option<Rgb>,
}

impl TextItem {
    /// Level text in ink, starting at the point.
    pub fn new(at: Point, text: impl Into<String>, height: f64) -> Self {
        Self {
            at,
            text: text.into(),
            height,
            anchor: Anchor::Start,
            bold: false,
            turn: Turn::Level,
            colour: INK,
            halo: None,
        }
    }
    /// The same at another point.
    pub fn moved_to(mut self, at: Point) -> Self {
        self.at = at;
        self
    }
    /// The same, standing otherwise against its point.
    pub fn anchored(mut self, anchor: Anchor) -> Self {
        self.anchor = anchor;
        self
    }
    /// The same in bold.
    pub fn bold(mut self) -> Self {
        self.bold = true;
        self
    }
    /// The same, running upwards.
    pub fn up(mut self) -> Self {
        self.turn = Turn::Up;
        self
    }
    /// The same in another colour.
    pub fn coloured(mut self, colour: Rgb) -> Self {
        self.colour = colour;
        self
    }
    /// The same with a border behind its letters.
    pub fn haloed(mut self, colour: Rgb) -> Self {
        self.halo = Some(colour);
        self
    }
    /// The same text moved so that its box (see [`TextItem::bounds`]) has its middle at the point's height: for texts
    /// inside boxes and beside lines.
    pub fn centred_on(mut self, line: f64) -> Self {
        let shift = font::CAP_HEIGHT * self.height / 2.0;
        match self.turn {
            Turn::Level => self.at.y = line + shift,
            Turn::Up => self.at.x = line + shift,
        }
        self
    }
    /// Where its first letter starts.
    pub fn start(&self) -> Point {
        let width = font::width(&self.text, self.height, self.bold);
        let back = match self.anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => width / 2.0,
            Anchor::End => width,
        };
        match self.turn {
            Turn::Level => self.at.by(-back, 0.0),
            Turn::Up => self.at.by(0.0, back),
        }
    }
    /// The box it takes: its advance width, from the top of tall letters to the bottom of descenders.
    pub fn bounds(&self) -> Rect {
        let width = font::width(&self.text, self.height, self.bold);
        let (up, down) = (font::ASCENT * self.height, font::DESCENT * self.height);
        let start = self.start();
        match self.turn {
            Turn::Level => Rect::new(start.by(0.0, -up), start.by(width, down)),
            Turn::Up => Rect::new(start.by(-up, 0.0), start.by(down, -width)),
        }
    }
}
