//! One sheet being painted: its measures, and what is put on it.

use super::super::column_widths::Column;
use super::super::labels::{Line, longest};
use super::super::pieces::{Piece, PieceId, Pieces, Shape};
use super::super::placed::{Level, Placed};
use kit::colour::SOFT_INK;
use kit::font;
use kit::lines::{LABEL, NAME, SMALL};
use kit::scene::*;
use model::{Model, PartKind, PinId};
use states::Live;

/// Distance of the supply rails from each other.
pub(super) const RAIL_STEP: f64 = 5.5;
/// From the lowest rail to where paths begin: room for the vehicle's wires.
pub(super) const FEEDS: f64 = 13.0;
/// Between the lowest thing on any path and the ground rail.
pub(super) const SPARE: f64 = 5.5;
/// Below the ground rail: path numbers and what the paths are for.
pub(super) const NUMBERS: f64 = 12.5;
/// Room for names left of the rails.
pub(super) const NAMES: f64 = 30.0;
/// Room for continuation marks right of the rails.
pub(super) const MARKS: f64 = 15.0;
/// From one line of a label to the next.
pub(super) const LEADING: f64 = 3.3;
/// The same beside wires.
pub(super) const STEP: f64 = 3.6;
/// The same beside symbols.
pub(super) const CLOSE: f64 = 3.1;

/// Sizes of a heading, the first in which all of it has room: letters, most lines, and from one line to the next.
pub(super) const HEADINGS: [(f64, usize, f64); 4] =
    [(NAME, 2, HEADING_STEP), (LABEL, 2, HEADING_STEP), (SMALL, 2, CLOSE), (SMALL, 3, CLOSE)];
/// From one line of a large heading to the next, and the room above it.
const HEADING_STEP: f64 = 4.2;
const HEADING: f64 = 2.0;

/// The height and width of the bands around the paths.
#[derive(Debug, Clone, Copy)]
pub struct Bands {
    pub rails: usize,
}

impl Bands {
    pub fn of(model: &Model) -> Self {
        Self { rails: model.parts.iter().filter(|p| p.kind == PartKind::Supply).count() }
    }
    /// Above where paths begin.
    fn above(self) -> f64 {
        HEADING + 2.0 * HEADING_STEP + self.below_headings()
    }
    fn below_headings(self) -> f64 {
        4.0 + RAIL_STEP * self.rails.saturating_sub(1) as f64 + FEEDS
    }
    /// Above and below the paths together.
    pub fn total(self) -> f64 {
        self.above() + SPARE + NUMBERS
    }
    /// Left and right of the paths together.
    pub fn sides(self) -> f64 {
        NAMES + MARKS
    }
}

/// All that is needed to paint any of the sheets.
pub struct Drawing<'a> {
    pub model: &'a Model,
    pub live: Option<&'a Live>,
    pub pieces: &'a Pieces,
    pub placed: &'a Placed,
    pub columns: &'a [Column],
    pub cuts: &'a [[usize; 2]],
    pub bands: Bands,
    /// Every supply with a rail.
    rails: Vec<PinId>,
}

impl<'a> Drawing<'a> {
    pub fn new(
        (model, live): (&'a Model, Option<&'a Live>),
        pieces: &'a Pieces,
        placed: &'a Placed,
        columns: &'a [Column],
        cuts: &'a [[usize; 2]],
        bands: Bands,
    ) -> Self {
        let rails = model.parts.iter().filter(|p| p.kind == PartKind::Supply).map(|p| p.pins[0]).collect();
        Self { model, live, pieces, placed, columns, cuts, bands, rails }
    }

    /// The room that a sheet needs.
    pub fn size(&self, sheet: usize) -> Size {
        let [first, last] = self.cuts[sheet];
        let left = self.columns[first].x - self.columns[first].left;
        let width = self.columns[last].x + self.columns[last].right - left + self.bands.sides();
        let depth = self.placed.depth_of(first, last) - self.unused(sheet);
        Size::new(width, self.bands_of(sheet).total() + depth)
    }

    /// The supplies that something on a sheet connects to.
    pub fn rails_of(&self, sheet: usize) -> Vec<PinId> {
        let [first, last] = self.cuts[sheet];
        let tapped = |rail: &&PinId| {
            self.placed.taps.iter().any(|&(pin, column)| pin == **rail && (first..=last).contains(&column))
        };
        self.rails.iter().filter(tapped).copied().collect()
    }

    fn bands_of(&self, sheet: usize) -> Bands {
        Bands { rails: self.rails_of(sheet).len() }
    }

    /// How far below the rails the first thing of a sheet stands: nothing is there to connect above it.
    fn unused(&self, sheet: usize) -> f64 {
        let [first, last] = self.cuts[sheet];
        self.placed.top_of(first, last)
    }

    /// What a sheet shows, in words.
    pub fn description(&self, sheet: usize) -> String {
        let [first, last] = self.cuts[sheet];
        format!(
            "Supply rails on top, ground along the foot, and current paths {} to {} running down between them.",
            self.number(first),
            self.number(last)
        )
    }

    /// The number of a path: every column has one.
    pub fn number(&self, column: usize) -> usize {
        column + 1
    }

    pub fn sheet_of(&self, column: usize) -> usize {
        let sheet = self.cuts.iter().position(|&[a, b]| (a..=b).contains(&column));
        let Some(sheet) = sheet else { panic!("column {column} is on no sheet") };
        sheet
    }

    /// The paths of the other pieces of a relay: of its contacts for a coil, of its coils for a contact.
    pub fn partners(&self, piece: &Piece) -> Vec<usize> {
        let Some(relay) = piece.relay else { return Vec::new() };
        let others = self.pieces.list.iter().enumerate().filter(|(_, p)| {
            p.relay == Some(relay) && matches!(p.shape, Shape::Coil(_)) != matches!(piece.shape, Shape::Coil(_))
        });
        let columns = others.filter_map(|(i, _)| self.placed.column_of(PieceId(i)));
        let mut paths: Vec<usize> = columns.map(|c| self.number(c)).collect();
        paths.sort_unstable();
        paths.dedup();
        paths
    }
}

/// One sheet being painted.
pub(super) struct Page<'a> {
    pub all: &'a Drawing<'a>,
    pub sheet: usize,
    pub first: usize,
    pub last: usize,
    /// Added to a column's x.
    pub shift: f64,
    /// The height where paths begin.
    pub zero: f64,
    pub foot: f64,
    /// Left and right edge of the rails.
    pub edges: [f64; 2],
    /// The rails on this sheet, from the top.
    pub rails: Vec<PinId>,
    pub items: Vec<Item>,
}

impl<'a> Page<'a> {
    pub fn new(all: &'a Drawing<'a>, sheet: usize, field: &Rect) -> Self {
        let [first, last] = all.cuts[sheet];
        let left = field.left + NAMES;
        let shift = left + all.columns[first].left - all.columns[first].x;
        let right = all.columns[last].x + all.columns[last].right + shift;
        let zero = field.top + all.bands_of(sheet).above() - all.unused(sheet);
        let foot = field.bottom - NUMBERS;
        Self {
            all,
            sheet,
            first,
            last,
            shift,
            zero,
            foot,
            edges: [left - 2.0, right],
            rails: all.rails_of(sheet),
            items: Vec::new(),
        }
    }

    pub fn x(&self, column: usize) -> f64 {
        self.all.columns[column].x + self.shift
    }

    pub fn y(&self, level: Level) -> f64 {
        match level {
            Level::At(y) => self.zero + y,
            Level::Nowhere => self.zero,
            Level::Foot => self.foot,
            Level::Rail(pin) => match self.rails.iter().position(|&r| r == pin) {
                Some(i) => self.rail_y(i),
                None => self.zero - 1.6,
            },
        }
    }

    pub fn rail_y(&self, index: usize) -> f64 {
        self.zero - FEEDS - RAIL_STEP * (self.rails.len() - 1 - index) as f64
    }

    /// The line below the headings.
    pub fn headings_y(&self) -> f64 {
        self.zero + self.all.unused(self.sheet) - Bands { rails: self.rails.len() }.below_headings()
    }

    pub fn here(&self, column: usize) -> bool {
        (self.first..=self.last).contains(&column)
    }

    pub fn put(&mut self, item: impl Into<Item>) {
        self.items.push(item.into());
    }

    /// Lines of text, the first one centred on the point's height.
    pub fn label(&mut self, of: impl Into<LabelOf>, at: Point, lines: &[Line], height: f64) {
        self.lines(of, at, lines, height, LEADING);
    }

    pub fn lines(&mut self, of: impl Into<LabelOf>, at: Point, lines: &[Line], height: f64, leading: f64) {
        let mut group = ItemGroup { tag: Tag::label(of), items: Vec::new() };
        for (i, line) in lines.iter().enumerate() {
            let y = at.y + leading * i as f64;
            let text = TextItem::new(
                Point::new(at.x, y),
                font::fitted(&line.text, longest(height), height, line.bold),
                height,
            );
            let text = text.centred_on(y);
            group.push(if line.bold { text.bold() } else { text });
        }
        self.put(group);
    }

    /// A place where wires join, with nothing drawn.
    pub fn pin(&self, pin: PinId, at: Point) -> Item {
        ItemGroup { tag: Tag::pin_at(self.all.model.pin_name(pin), at), items: Vec::new() }.into()
    }

    /// How wide a pin's name is.
    pub fn number_width(&self, pin: PinId) -> f64 {
        font::width(self.all.model.pin(pin).name.as_str(), SMALL, false)
    }

    /// A pin's name, small, ending at a point left of the lead.
    pub fn pin_number(&self, pin: PinId, at: Point) -> ItemGroup {
        let name = self.all.model.pin(pin).name.to_string();
        let text = TextItem::new(at, name, SMALL).anchored(Anchor::End).coloured(SOFT_INK);
        ItemGroup::of(Tag::label(self.all.model.pin_name(pin)), [text.centred_on(at.y)])
    }
}
