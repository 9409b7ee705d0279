//! A connection diagram with everything in its position.

use kit::geometry::{Point, Rect, Size};
use kit::scene::TextItem;

/// The finished layout. Millimetres from its own top left corner.
#[derive(Debug, Clone, Default)]
pub struct PlacedDiagram {
    /// Extent of everything.
    pub size: Size,
    /// Frames of the places that have parts.
    pub frames: Vec<PlacedFrame>,
    /// All parts, as in the diagram.
    pub parts: Vec<PlacedPart>,
    /// All wires, as in the diagram.
    pub wires: Vec<PlacedWire>,
    /// All exits to other sheets, as in the diagram.
    pub exits: Vec<PlacedExit>,
}

/// An exit in its position.
#[derive(Debug, Clone)]
pub struct PlacedExit {
    /// From the pin to the tip of its arrow.
    pub path: [Point; 2],
    /// Its label: number, and what comes after it.
    pub label: [TextItem; 2],
}

/// A place's frame.
#[derive(Debug, Clone)]
pub struct PlacedFrame {
    /// Index of the place.
    pub place: usize,
    /// Its edge.
    pub rect: Rect,
}

/// A part in its position.
#[derive(Debug, Clone)]
pub struct PlacedPart {
    /// Its body: no wire but at its own pins and no foreign label may touch it.
    pub outline: Rect,
    /// The same without the connectors plugged into it.
    pub core: Rect,
    /// Its pins.
    pub pins: Vec<PlacedPin>,
}

/// A pin on an edge of its part.
#[derive(Debug, Clone)]
pub struct PlacedPin {
    /// Index of the pin. A pin whose wires leave on both sides is there once for each.
    pub pin: usize,
    /// Whether it is on the left edge.
    pub on_left: bool,
    /// Where its wires begin, from the top; where one would begin if it has none.
    pub spots: Vec<Point>,
}

/// A wire in its position.
#[derive(Debug, Clone)]
pub struct PlacedWire {
    /// Its corners, from its first end to its second; level and upright pieces in turn.
    pub path: Vec<Point>,
    /// Where its level pieces hop over upright pieces of other wires: the piece (its index in `path`) and the point.
    pub hops: Vec<(usize, Point)>,
    /// The labels at its first and second end: number, and what comes after it.
    pub labels: [[TextItem; 2]; 2],
}

impl PlacedWire {
    /// How many corners it has.
    pub fn bends(&self) -> usize {
        self.path.len().saturating_sub(2)
    }
    /// Its length on paper, millimetres.
    pub fn length(&self) -> f64 {
        self.path.windows(2).map(|pair| pair[0].distance(pair[1])).sum()
    }
}

impl PlacedDiagram {
    /// How many times wires cross.
    pub fn crossings(&self) -> usize {
        self.wires.iter().map(|wire| wire.hops.len()).sum()
    }
    /// Corners of all wires.
    pub fn bends(&self) -> usize {
        self.wires.iter().map(PlacedWire::bends).sum()
    }
    /// Length of all wires on paper, millimetres.
    pub fn length(&self) -> f64 {
        self.wires.iter().map(PlacedWire::length).sum()
    }
    /// What the diagram costs to read: see [`Priced::price`].
    pub(super) fn price(&self) -> f64 {
        Priced { crossings: self.crossings(), bends: self.bends(), length: self.length(), size: self.size }.price()
    }
}

/// What makes a diagram hard to read.
pub(super) struct Priced {
    pub crossings: usize,
    pub bends: usize,
    /// Length of all wires, millimetres.
    pub length: f64,
    pub size: Size,
}

impl Priced {
    /// The lower the better: crossings count most, then corners, then length, then paper beyond an A3 sheet.
    pub fn price(&self) -> f64 {
        const CROSSING: f64 = 10.0;
        const BEND: f64 = 3.0;
        const LENGTH_PER_MM: f64 = 0.03;
        const WIDTH_PER_MM: f64 = 0.8;
        const FREE_WIDTH: f64 = 380.0;
        // Paper is counted by the width of a sheet of the usual shape around the drawing.
        let wide = self.size.width.max(self.size.height * std::f64::consts::SQRT_2);
        CROSSING * self.crossings as f64
            + BEND * self.bends as f64
            + LENGTH_PER_MM * self.length
            + WIDTH_PER_MM * (wide - FREE_WIDTH).max(0.0)
    }
}
