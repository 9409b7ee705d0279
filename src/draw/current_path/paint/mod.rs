//! Draws what was placed, sheet by sheet.

mod runs;
mod symbols;

use super::column_widths::Column;
use super::labels::{LONGEST, Line};
use super::pieces::{Piece, Pieces, Shape};
use super::placed::{Level, Placed};
use kit::colour::{INK, SOFT_INK};
use kit::font;
use kit::lines::{NAME, RAIL, SMALL};
use kit::scene::*;
use model::{Model, PartKind, PinId};
use states::Live;

/// Distance of the supply rails from each other.
const RAIL_STEP: f64 = 7.0;
/// From the lowest rail to where paths begin: room for the vehicle's wires.
const FEEDS: f64 = 13.0;
/// Between the lowest thing on any path and the ground rail.
const SPARE: f64 = 6.0;
/// Below the ground rail: path numbers and what the paths are for.
const NUMBERS: f64 = 14.0;
/// Room for names left of the rails.
const NAMES: f64 = 34.0;
/// Room for continuation marks right of the rails.
const MARKS: f64 = 16.0;
/// From one line of a label to the next.
const LEADING: f64 = 3.3;
/// The same beside symbols.
const CLOSE: f64 = 3.1;

/// The height and width of what surrounds the paths.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bands {
    rails: usize,
}

impl Bands {
    pub fn of(model: &Model) -> Self {
        Self { rails: model.parts.iter().filter(|p| p.kind == PartKind::Supply).count() }
    }
    /// Above where paths begin.
    fn above(self) -> f64 {
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
pub(super) struct Drawing<'a> {
    model: &'a Model,
    live: Option<&'a Live>,
    pieces: &'a Pieces,
    placed: &'a Placed,
    columns: &'a [Column],
    cuts: &'a [[usize; 2]],
    bands: Bands,
    /// The number of each column that is a path.
    numbers: Vec<Option<usize>>,
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
        let mut count = 0;
        let numbers = placed.numbered().into_iter().map(|path| {
            count += usize::from(path);
            path.then_some(count)
        });
        let rails = model.parts.iter().filter(|p| p.kind == PartKind::Supply).map(|p| p.pins[0]).collect();
        Self { model, live, pieces, placed, columns, cuts, bands, numbers: numbers.collect(), rails }
    }

    /// The room that a sheet needs.
    pub fn size(&self, sheet: usize) -> Size {
        let [first, last] = self.cuts[sheet];
        let left = self.columns[first].x - self.columns[first].left;
        let width = self.columns[last].x + self.columns[last].right - left + self.bands.sides();
        Size::new(width, self.bands.total() + self.placed.depth_of(first, last))
    }

    /// What a sheet shows, in words.
    pub fn description(&self, sheet: usize) -> String {
        let [first, last] = self.cuts[sheet];
        let numbers: Vec<usize> = self.numbers[first..=last].iter().copied().flatten().collect();
        match (numbers.first(), numbers.last()) {
            (Some(a), Some(b)) => {
                format!(
                    "Supply rails on top, ground along the foot, and current paths {a} to {b} running down between them."
                )
            }
            _ => "Supply rails on top and ground along the foot, without paths.".into(),
        }
    }

    /// A sheet's items inside its field.
    pub fn items(&self, sheet: usize, field: &Rect) -> Vec<Item> {
        let mut page = Page::new(self, sheet, field);
        page.paint();
        page.items
    }

    fn number(&self, column: usize) -> Option<usize> {
        self.numbers[column]
    }

    fn sheet_of(&self, column: usize) -> usize {
        let sheet = self.cuts.iter().position(|&[a, b]| (a..=b).contains(&column));
        let Some(sheet) = sheet else { panic!("column {column} is on no sheet") };
        sheet
    }

    /// The paths of the other pieces of a relay: of its contacts for a coil, of its coils for a contact.
    fn partners(&self, piece: &Piece) -> Vec<usize> {
        let Some(relay) = piece.relay else { return Vec::new() };
        let others = self.pieces.list.iter().enumerate().filter(|(_, p)| {
            p.relay == Some(relay) && matches!(p.shape, Shape::Coil(_)) != matches!(piece.shape, Shape::Coil(_))
        });
        let columns = others.filter_map(|(i, _)| self.placed.column_of(super::pieces::PieceId(i)));
        let mut paths: Vec<usize> = columns.filter_map(|c| self.number(c)).collect();
        paths.sort_unstable();
        paths.dedup();
        paths
    }
}

/// One sheet being painted.
struct Page<'a> {
    all: &'a Drawing<'a>,
    sheet: usize,
    first: usize,
    last: usize,
    /// Added to a column's x.
    shift: f64,
    /// The height where paths begin.
    zero: f64,
    foot: f64,
    /// Left and right edge of the rails.
    edges: [f64; 2],
    items: Vec<Item>,
}

impl<'a> Page<'a> {
    fn new(all: &'a Drawing<'a>, sheet: usize, field: &Rect) -> Self {
        let [first, last] = all.cuts[sheet];
        let left = field.left + NAMES;
        let shift = left + all.columns[first].left - all.columns[first].x;
        let right = all.columns[last].x + all.columns[last].right + shift;
        let zero = field.top + all.bands.above();
        let foot = field.bottom - NUMBERS;
        Self { all, sheet, first, last, shift, zero, foot, edges: [left - 2.0, right], items: Vec::new() }
    }

    fn x(&self, column: usize) -> f64 {
        self.all.columns[column].x + self.shift
    }
    fn y(&self, level: Level) -> f64 {
        match level {
            Level::At(y) => self.zero + y,
            Level::Nowhere => self.zero,
            Level::Foot => self.foot,
            Level::Rail(pin) => match self.all.rails.iter().position(|&r| r == pin) {
                Some(i) => self.rail_y(i),
                None => self.zero - 1.6,
            },
        }
    }
    fn rail_y(&self, index: usize) -> f64 {
        self.zero - FEEDS - RAIL_STEP * (self.all.rails.len() - 1 - index) as f64
    }
    fn here(&self, column: usize) -> bool {
        (self.first..=self.last).contains(&column)
    }
    fn put(&mut self, item: impl Into<Item>) {
        self.items.push(item.into());
    }

    fn paint(&mut self) {
        let (placed, first, last) = (self.all.placed, self.first, self.last);
        let here = move |column: usize| (first..=last).contains(&column);
        self.rails();
        placed.across.iter().for_each(|a| self.across(a));
        placed.falls.iter().filter(|f| here(f.column)).for_each(|f| self.fall(f));
        placed.across.iter().for_each(|a| self.dots(a));
        placed.taps.iter().filter(|t| here(t.1)).for_each(|&(pin, column)| self.tap(pin, column));
        placed.grounds.iter().filter(|g| here(g.1)).for_each(|&(pin, column)| self.ground(pin, column));
        placed.stands.iter().filter(|s| here(s.column)).for_each(|s| self.stand(s));
        placed.crossings.iter().filter(|c| here(c.column)).for_each(|c| self.crossing(c));
        placed.blocks.iter().filter(|b| here(b.columns[0])).for_each(|b| self.block(b));
        placed.flags.iter().filter(|f| here(f.column)).for_each(|f| self.flag(f));
        placed.tips.iter().filter(|t| here(t.column)).for_each(|t| self.tip(t));
        placed.falls.iter().filter(|f| here(f.column)).for_each(|f| self.wire_label(f));
        (first..=last).for_each(|column| self.path_number(column));
    }

    /// Supply rails with their terminal numbers, and the ground rail.
    fn rails(&mut self) {
        let model = self.all.model;
        for (i, &pin) in self.all.rails.clone().iter().enumerate() {
            let part = model.part(model.pin(pin).part);
            self.rail(self.rail_y(i), &part.use_name, &part.name.to_string(), Tag::part(part.name.to_string()));
        }
        self.rail(self.foot, "31", "ground", Tag::kind("ground-rail"));
    }

    fn rail(&mut self, y: f64, terminal: &str, name: &str, tag: Tag) {
        let [left, right] = self.edges;
        let line = Path::line(Point::new(left, y), Point::new(right, y)).stroked(Stroke::solid(INK, RAIL));
        self.put(ItemGroup::of(tag.of_kind("rail"), [line]));
        let terminal_text = font::fitted(terminal, 10.0, NAME, true);
        let number = TextItem::new(Point::new(left - NAMES + 3.0, y), terminal_text, NAME).bold().centred_on(y);
        let room = NAMES - 16.0;
        let text = font::fitted(name, room, SMALL, false);
        let words = TextItem::new(Point::new(left - 2.0, y), text, SMALL).anchored(Anchor::End).centred_on(y);
        self.put(ItemGroup::of(Tag::label(format!("terminal {terminal}")), [number, words]));
        self.continuation(y, "");
    }

    /// Arrows where a line goes on to the sheets before and after.
    fn continuation(&mut self, y: f64, name: &str) {
        let [left, right] = self.edges;
        if self.sheet > 0 && !name.is_empty() {
            self.mark(Point::new(left, y), -1.0, name, self.sheet);
        }
        if self.sheet + 1 < self.all.cuts.len() {
            self.mark(Point::new(right, y), 1.0, name, self.sheet + 2);
        }
    }

    fn mark(&mut self, at: Point, way: f64, name: &str, sheet: usize) {
        let tip = at.by(way * 2.6, 0.0);
        let head = Path::polygon(&[tip, at.by(0.0, -1.2), at.by(0.0, 1.2)]).filled(INK);
        self.put(ItemGroup::of(Tag::kind("continuation"), [head]));
        let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
        let words = if name.is_empty() { format!("sheet {sheet}") } else { format!("{name}, sheet {sheet}") };
        let text = TextItem::new(tip.by(way, 0.0), font::fitted(&words, NAMES - 8.0, SMALL, false), SMALL);
        let text = text.anchored(anchor).centred_on(at.y).coloured(SOFT_INK);
        self.put(ItemGroup::of(Tag::label("continuation"), [text]));
    }

    /// Lines of text, the first one centred on the point's height.
    fn label(&mut self, of: &str, at: Point, lines: &[Line], height: f64) {
        self.lines(of, at, lines, height, LEADING);
    }

    fn lines(&mut self, of: &str, at: Point, lines: &[Line], height: f64, leading: f64) {
        let mut group = ItemGroup { tag: Tag::label(of), items: Vec::new() };
        for (i, line) in lines.iter().enumerate() {
            let y = at.y + leading * i as f64;
            let text = TextItem::new(Point::new(at.x, y), font::fitted(&line.text, LONGEST, height, line.bold), height);
            let text = text.centred_on(y);
            group.push(if line.bold { text.bold() } else { text });
        }
        self.put(group);
    }

    /// The path's number at the foot, and what it is for.
    fn path_number(&mut self, column: usize) {
        let Some(number) = self.all.number(column) else { return };
        let x = self.x(column) - 1.2;
        let mut lines = vec![TextItem::new(Point::new(x, self.foot + 6.6), number.to_string(), NAME).bold()];
        if let Some(purpose) = self.purpose(column) {
            let room = self.all.columns[column].right + 1.0;
            // A pin that is too long goes by its part.
            let part = purpose.split('.').next().unwrap_or(&purpose);
            let words = if font::width(&purpose, SMALL, false) <= room { &purpose } else { part };
            let text = font::fitted(words, room, SMALL, false);
            lines.push(TextItem::new(Point::new(x, self.foot + 11.0), text, SMALL).coloured(SOFT_INK));
        }
        self.put(ItemGroup::of(Tag::label(format!("path {number}")), lines));
    }

    /// The lowest thing on a path that does something.
    fn purpose(&self, column: usize) -> Option<String> {
        let placed = self.all.placed;
        let stands = placed.stands.iter().filter(|s| s.column == column).map(|s| (s.y, s.piece));
        let boxes = placed.blocks.iter().filter(|b| b.columns[0] == column).map(|b| (b.y, b.piece));
        let Some(lowest) = stands.chain(boxes).max_by(|a, b| a.0.total_cmp(&b.0)) else {
            let pins = placed.blocks.iter().flat_map(|b| b.uppers.iter().chain(&b.lowers));
            let pin = pins.into_iter().find(|&&(_, c)| c == column).map(|&(pin, _)| pin);
            let flagged = || placed.flags.iter().find(|f| f.column == column).map(|f| f.pin);
            return pin.or_else(flagged).map(|pin| self.all.model.pin_name(pin));
        };
        let piece = self.all.pieces.get(lowest.1);
        let name = self.all.model.part(piece.part).name.to_string();
        Some(if matches!(piece.shape, Shape::Coil(_)) { format!("{name} coil") } else { name })
    }
}

/// A column of mere flags belongs to the box below it, whose first column is a path.
fn nearest_number(all: &Drawing, column: usize) -> Option<usize> {
    let block = all.placed.blocks.iter().find(|b| b.columns[0] <= column && column <= b.columns[1]);
    let first = block.map_or(column, |b| b.columns[0]);
    (0..=first).rev().find_map(|c| all.number(c))
}
