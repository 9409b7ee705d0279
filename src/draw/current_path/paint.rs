//! Draws what was placed, sheet by sheet.

use super::measure::BLOCK;
use super::pieces::{Piece, Pieces, Shape};
use super::place::{Across, Block, Crossing, Fall, Flag, Level, Placed, Stand, Tip};
use super::symbol;
use super::widths::{self, BESIDE, Column, LONGEST};
use super::words::{self, Line, bold, plain};
use crate::draw::colour::{INK, Insulation, PAPER, SOFT_INK, TINT};
use crate::draw::font;
use crate::draw::lines::{self, LABEL, NAME, RAIL, SMALL, SYMBOL};
use crate::draw::scene::*;
use crate::draw::symbols::{self, Picture, Pole};
use crate::model::{Model, PartKind, PinId, WireId};

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
        model: &'a Model,
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
        Self { model, pieces, placed, columns, cuts, bands, numbers: numbers.collect(), rails }
    }

    /// The room that a sheet needs.
    pub fn size(&self, sheet: usize) -> Size {
        let [first, last] = self.cuts[sheet];
        let left = self.columns[first].x - self.columns[first].left;
        let width = self.columns[last].x + self.columns[last].right - left + self.bands.sides();
        Size::new(width, self.bands.total() + self.placed.depth)
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
        self.cuts.iter().position(|&[a, b]| (a..=b).contains(&column)).unwrap_or(0)
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
        let top = self.zero - 0.9;
        placed.loose.iter().filter(|l| here(l.1)).for_each(|&(pin, column)| self.terminal(pin, column, top));
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
        self.put(Group::of(tag.of_kind("rail"), [line]));
        let terminal_text = font::fitted(terminal, 10.0, NAME, true);
        let number = Text::new(Point::new(left - NAMES + 3.0, y), terminal_text, NAME).bold().centred_on(y);
        let room = NAMES - 16.0;
        let text = font::fitted(name, room, SMALL, false);
        let words = Text::new(Point::new(left - 2.0, y), text, SMALL).anchored(Anchor::End).centred_on(y);
        self.put(Group::of(Tag::label(format!("terminal {terminal}")), [number, words]));
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
        self.put(Group::of(Tag::kind("continuation"), [head]));
        let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
        let words = if name.is_empty() { format!("sheet {sheet}") } else { format!("{name}, sheet {sheet}") };
        let text = Text::new(tip.by(way, 0.0), font::fitted(&words, NAMES - 8.0, SMALL, false), SMALL);
        let text = text.anchored(anchor).centred_on(at.y).coloured(SOFT_INK);
        self.put(Group::of(Tag::label("continuation"), [text]));
    }

    /// A splice's bar, or a lead from a contact to its column.
    fn across(&mut self, across: &Across) {
        if across.to < self.first || across.from > self.last {
            return;
        }
        let y = self.zero + across.y;
        let model = self.all.model;
        let name = across.pin.map(|pin| model.pin_name(pin));
        let starts = self.here(across.from);
        let left = if starts { self.x(across.from) + across.inset } else { self.edges[0] };
        let right = if self.here(across.to) { self.x(across.to) } else { self.edges[1] };
        let width = if across.pin.is_some() { lines::HEAVY } else { SYMBOL };
        let tag = match across.pin {
            Some(pin) => Tag::part(model.part(model.pin(pin).part).name.to_string()).of_kind("joint"),
            None => Tag::kind("lead"),
        };
        if right > left {
            let line = Path::line(Point::new(left, y), Point::new(right, y)).stroked(Stroke::solid(INK, width));
            self.put(Group::of(tag, [line]));
        }
        let shown = name.unwrap_or_else(|| "lead".into());
        if !starts {
            self.mark(Point::new(self.edges[0], y), -1.0, &shown, self.all.sheet_of(across.from) + 1);
        }
        if !self.here(across.to) {
            self.mark(Point::new(self.edges[1], y), 1.0, "", self.all.sheet_of(across.to) + 1);
        }
        // A terminal right below its own symbol is named there.
        let stands = &self.all.placed.stands;
        let named = stands.iter().any(|s| Some(s.lower) == across.pin && s.column == across.from);
        if starts && across.pin.is_some() && !named {
            let text = font::fitted(&shown, LONGEST, SMALL, true);
            let label = Text::new(Point::new(self.x(across.from) + BESIDE, y - 1.4), text, SMALL).bold();
            self.put(Group::of(Tag::label(shown), [label]));
        }
    }

    /// The dots on a bar that say its wires are joined, over the wires' ends.
    fn dots(&mut self, across: &Across) {
        let Some(pin) = across.pin else { return };
        let model = self.all.model;
        let tag = Tag::part(model.part(model.pin(pin).part).name.to_string()).of_kind("joint");
        let mut group = Group { tag, items: Vec::new() };
        for &column in across.dots.iter().filter(|&&c| self.here(c)) {
            let at = Point::new(self.x(column), self.zero + across.y);
            group.push(Group::of(Tag::pin_at(model.pin_name(pin), at), [Path::circle(at, 0.9).filled(INK)]));
        }
        if !group.items.is_empty() {
            self.put(group);
        }
    }

    /// A wire or a lead down its column.
    fn fall(&mut self, fall: &Fall) {
        let x = self.x(fall.column);
        let line = Path::line(Point::new(x, self.y(fall.from)), Point::new(x, self.y(fall.to)));
        match fall.wire {
            Some((wire, _, _)) => {
                let group = self.wire(wire, &line);
                self.put(group);
            }
            None => self.put(Group::of(Tag::kind("lead"), [line.stroked(lines::symbol())])),
        }
    }

    /// A line in the wire's insulation.
    fn wire(&self, id: WireId, line: &Path) -> Group {
        let model = self.all.model;
        let wire = model.wire(id);
        let [from, to] = wire.ends.map(|pin| model.pin_name(pin));
        let tag = Tag::wire(wire.id.to_string()).between(from, to).hovered(words::wire_sentence(model, id));
        let insulation = wire.colour.and_then(|c| Insulation::of(&c.to_string()));
        match insulation {
            Some(insulation) => Group::of(tag, insulation.paint(line, lines::WIRE)),
            None => Group::of(tag, [line.clone().stroked(Stroke::solid(SOFT_INK, lines::WIRE))]),
        }
    }

    /// Where a path leaves a supply's rail or a vehicle's wire.
    fn tap(&mut self, pin: PinId, column: usize) {
        let at = Point::new(self.x(column), self.y(Level::Rail(pin)));
        if self.all.rails.contains(&pin) {
            let dot = Path::circle(at, 0.9).filled(INK);
            let name = self.all.model.pin_name(pin);
            self.put(Group::of(Tag::pin_at(name, at), [dot]));
        } else {
            self.terminal(pin, column, at.y - 0.9);
        }
    }

    /// A small open circle with a name on its right.
    fn terminal(&mut self, pin: PinId, column: usize, y: f64) {
        let model = self.all.model;
        let at = Point::new(self.x(column), y);
        let circle = Path::circle(at, 0.9).stroked(lines::symbol()).filled(PAPER);
        let name = model.pin_name(pin);
        let tag = Tag { part: Some(model.part(model.pin(pin).part).name.to_string()), ..Tag::pin_at(name.clone(), at) };
        self.put(Group::of(tag, [circle]));
        let lines = words::rail(model, pin);
        let first = y - LEADING * (lines.len() - 1) as f64;
        self.label(&name, Point::new(at.x + 0.9 + BESIDE, first), &lines, SMALL);
    }

    fn ground(&mut self, pin: PinId, column: usize) {
        let model = self.all.model;
        let at = Point::new(self.x(column), self.foot);
        let name = model.pin_name(pin);
        let tag = Tag { part: Some(name.clone()), ..Tag::pin_at(name.clone(), at) };
        self.put(Group::of(tag, [Path::circle(at, 0.9).filled(INK)]));
        let lines = words::rail(model, pin);
        let first = self.foot - 2.9 - LEADING * (lines.len() - 1) as f64;
        self.label(&name, Point::new(at.x + BESIDE, first), &lines, SMALL);
    }

    /// Lines of text, the first one centred on the point's height.
    fn label(&mut self, of: &str, at: Point, lines: &[Line], height: f64) {
        let mut group = Group { tag: Tag::label(of), items: Vec::new() };
        for (i, line) in lines.iter().enumerate() {
            let y = at.y + LEADING * i as f64;
            let text = Text::new(Point::new(at.x, y), font::fitted(&line.text, LONGEST, height, line.bold), height);
            let text = text.centred_on(y);
            group.push(if line.bold { text.bold() } else { text });
        }
        self.put(group);
    }

    fn stand(&mut self, stand: &Stand) {
        let model = self.all.model;
        let piece = self.all.pieces.get(stand.piece);
        let name = model.part(piece.part).name.to_string();
        let at = Point::new(self.x(stand.column), self.zero + stand.y + 5.0);
        let symbol = symbol::of(piece, stand.upper, stand.lower).at(at);
        let right = symbol.body.right;
        let kind = match piece.shape {
            Shape::Coil(_) => "coil",
            Shape::Contact => "contact",
            Shape::Switch(_) => "switch",
            Shape::Pole(_) | Shape::Block(_) => "symbol",
        };
        // The throw that is not straight below has a port of its own; the symbol's own names stand for the part's pins.
        let side = symbol.ports.iter().find(|p| (p.at.x - at.x).abs() > 1.0).map(|p| p.at);
        let side_pin = piece.pins.iter().copied().find(|&p| p != stand.upper && p != stand.lower);
        let mut group = symbol.group(Tag::part(name.clone()).of_kind(kind));
        // Beside the boxes of fuses and resistors, close to the lead of all others.
        let narrow = matches!(piece.shape, Shape::Pole(Pole::Fuse | Pole::Resistor));
        let beside = if narrow { 1.8 } else { 0.9 };
        let mut ends = vec![(stand.upper, at.by(0.0, -5.0)), (stand.lower, at.by(0.0, 5.0))];
        ends.extend(side_pin.zip(side));
        for (pin, place) in ends {
            group.items.push(self.pin(pin, place));
            let inward = if place.y < at.y { 1.3 } else { -1.3 };
            group.push(self.pin_number(pin, place.by(-beside, inward)));
        }
        self.put(group);
        let lines = words::piece(model, piece, &self.all.partners(piece));
        let top = at.y - LEADING * (lines.len() - 1) as f64 / 2.0;
        self.label(&name, Point::new(right + BESIDE, top), &lines, SMALL);
    }

    /// A place where wires join, with nothing drawn.
    fn pin(&self, pin: PinId, at: Point) -> Item {
        Group { tag: Tag::pin_at(self.all.model.pin_name(pin), at), items: Vec::new() }.into()
    }

    /// A pin's name, small, ending at a point left of the lead.
    fn pin_number(&self, pin: PinId, at: Point) -> Group {
        let name = self.all.model.pin(pin).name.to_string();
        let text = Text::new(at, name, SMALL).anchored(Anchor::End).coloured(SOFT_INK);
        Group::of(Tag::label(self.all.model.pin_name(pin)), [text.centred_on(at.y)])
    }

    fn crossing(&mut self, crossing: &Crossing) {
        let model = self.all.model;
        let joint = &model.joints[crossing.joint];
        let at = Point::new(self.x(crossing.column), self.zero + crossing.y + 5.0);
        let [a, b] = joint.pins;
        let (upper, lower) = if a == crossing.upper { (a, b) } else { (b, a) };
        let symbol = symbols::connector(true).at(at);
        let mut group = symbol.group(Tag::part(model.part(model.pin(upper).part).name.to_string()).of_kind("crossing"));
        for (from, to) in [(-5.0, -2.5), (2.5, 5.0)] {
            group.push(Path::line(at.by(0.0, from), at.by(0.0, to)).stroked(lines::symbol()));
        }
        group.items.push(self.pin(upper, at.by(0.0, -5.0)));
        group.items.push(self.pin(lower, at.by(0.0, 5.0)));
        self.put(group);
        let lines = [plain(model.pin_name(upper)), plain(model.pin_name(lower))];
        self.label("connector", Point::new(at.x + 1.5 + BESIDE, at.y - LEADING / 2.0), &lines, SMALL);
    }

    /// A box with its pins, picture, name, place and title.
    fn block(&mut self, block: &Block) {
        let model = self.all.model;
        let piece = self.all.pieces.get(block.piece);
        let part = model.part(piece.part);
        let [left, right] = widths::box_edges(self.all.columns, block.columns).map(|x| x + self.shift);
        let top = self.zero + block.y;
        let case = Rect::new(Point::new(left, top), Point::new(right, top + BLOCK));
        let tag = Tag::part(part.name.to_string()).of_kind("box").outlined(case).hovered(part.title.clone());
        let mut group = Group { tag, items: Vec::new() };
        group.push(Path::rect(&case).stroked(lines::symbol()).filled(TINT));
        for (pins, y, name_y) in [(&block.uppers, top, top + 2.6), (&block.lowers, case.bottom, case.bottom - 2.6)] {
            for (i, &(pin, column)) in pins.iter().enumerate() {
                let x = self.x(column);
                let next = pins.get(i + 1).map_or(f64::INFINITY, |&(_, c)| self.x(c) - x);
                let before = if i > 0 { x - self.x(pins[i - 1].1) } else { f64::INFINITY };
                let room = (2.0 * (x - left)).min(2.0 * (right - x)).min(next).min(before) - 1.5;
                let name = font::fitted(model.pin(pin).name.as_str(), room, SMALL, false);
                let text = Text::new(Point::new(x, name_y), name, SMALL).anchored(Anchor::Middle).centred_on(name_y);
                group.push(Group::of(Tag::label(model.pin_name(pin)), [text.coloured(SOFT_INK)]));
                group.items.push(self.pin(pin, Point::new(x, y)));
            }
        }
        let Shape::Block(picture) = piece.shape else { return };
        let mut text_left = left + 2.5;
        if picture != Picture::None {
            group.items.extend(symbols::picture(picture, Point::new(left + 7.0, top + 9.8)));
            text_left = left + 13.5;
        }
        let mut label = Group { tag: Tag::label(part.name.to_string()), items: Vec::new() };
        let room = right - text_left - 1.5;
        let mut write = |x: f64, y: f64, text: &str, room: f64, height: f64, strong: bool| {
            let text = Text::new(Point::new(x, y), font::fitted(text, room, height, strong), height).centred_on(y);
            label.push(if strong { text.bold() } else { text });
        };
        write(text_left, top + 8.0, part.name.as_str(), room, NAME, true);
        if part.at.is_some() {
            write(text_left, top + 12.2, model.place_name(part.at), room, SMALL, false);
        }
        let title = font::wrapped(&part.title, right - left - 4.0, SMALL, false);
        for (i, line) in title.iter().take(2).enumerate() {
            let more = if i == 1 && title.len() > 2 { format!("{line} …") } else { line.clone() };
            write(left + 2.0, top + 17.0 + LEADING * i as f64, &more, right - left - 4.0, SMALL, false);
        }
        group.push(label);
        self.put(group);
    }

    /// A pointer to another path: a small pennant with that path's number.
    fn flag(&mut self, flag: &Flag) {
        let (model, all) = (self.all.model, self.all);
        let x = self.x(flag.column);
        let y = self.zero + flag.y;
        let column = flag.points_to.or_else(|| all.placed.column(flag.target));
        let number = column.and_then(|c| all.number(c).or_else(|| nearest_number(all, c)));
        let (stub, top) = match (flag.incoming, flag.stub) {
            (true, _) => (Some((y - 7.5, y)), y - 14.5),
            (false, true) => (Some((y, y + 5.0)), y + 5.0),
            (false, false) => (None, y),
        };
        if let Some((from, to)) = stub {
            let line = Path::line(Point::new(x, from), Point::new(x, to));
            let group = match flag.wire {
                Some(wire) => self.wire(wire, &line),
                None => Group::of(Tag::kind("lead"), [line.stroked(lines::symbol())]),
            };
            self.put(group);
        }
        let text = number.map_or("–".into(), |n| n.to_string());
        let half = (font::width(&text, SMALL, true) / 2.0 + 1.2).max(3.0);
        let at = |dx: f64, dy: f64| Point::new(x + dx, top + dy);
        let pennant = [at(-half, 0.0), at(half, 0.0), at(half, 4.6), at(0.0, 7.0), at(-half, 4.6)];
        let shape = Path::polygon(&pennant).stroked(lines::symbol()).filled(PAPER);
        let target = text.clone();
        self.put(Group::of(Tag::kind("flag").with("path", target), [shape]));
        let number = Text::new(at(0.0, 2.5), text, SMALL).bold().anchored(Anchor::Middle).centred_on(top + 2.5);
        self.put(Group::of(Tag::label("path"), [number]));
        let other = column.map(|c| all.sheet_of(c)).filter(|&s| s != self.sheet);
        let mut lines = vec![plain(self.flag_name(flag))];
        lines.extend(other.map(|s| plain(format!("sheet {}", s + 1))));
        self.label("flag", Point::new(x + half + BESIDE, top + 1.9), &lines, SMALL);
        if flag.incoming
            && let Some(wire) = flag.wire
        {
            let line = [bold(model.wire(wire).id.to_string())];
            self.label(&format!("wire {}", model.wire(wire).id), Point::new(x + BESIDE, y - 3.6), &line, LABEL);
        }
    }

    /// What a flag points to, in words: for a flag above a pin, the far end of its wire.
    fn flag_name(&self, flag: &Flag) -> String {
        let model = self.all.model;
        match (flag.incoming, flag.wire) {
            (true, Some(wire)) => {
                let [a, b] = model.wire(wire).ends;
                model.pin_name(if a == flag.pin { b } else { a })
            }
            _ => model.pin_name(flag.pin),
        }
    }

    fn tip(&mut self, tip: &Tip) {
        let y = self.zero + tip.y;
        self.terminal_below(tip.pin, tip.column, y, tip.vehicle);
    }

    fn terminal_below(&mut self, pin: PinId, column: usize, y: f64, vehicle: bool) {
        let model = self.all.model;
        let at = Point::new(self.x(column), y + 0.9);
        let circle = Path::circle(at, 0.9).stroked(lines::symbol()).filled(PAPER);
        let name = model.pin_name(pin);
        let part = model.part(model.pin(pin).part).name.to_string();
        let tag = Tag { part: Some(part), ..Tag::pin_at(name.clone(), Point::new(at.x, y)) };
        self.put(Group::of(tag, [circle]));
        let lines = if vehicle { words::rail(model, pin) } else { vec![plain(name.clone())] };
        self.label(&name, Point::new(at.x + 0.9 + BESIDE, at.y), &lines, SMALL);
    }

    /// A wire's number, size and colour, on the first stretch of it that nothing crosses.
    fn wire_label(&mut self, fall: &Fall) {
        let Some((wire, _, _)) = fall.wire else { return };
        let model = self.all.model;
        let lines = words::wire(model, wire);
        let height = LEADING * lines.len() as f64;
        let (top, bottom) = (self.y(fall.from).max(self.zero), self.y(fall.to));
        let reserve = if fall.to == Level::Foot { 8.0 } else { 4.6 };
        let crossed = self.all.placed.across.iter().filter(|a| a.from <= fall.column && fall.column < a.to);
        let mut levels: Vec<f64> = crossed.map(|a| self.zero + a.y).filter(|&y| y > top + 0.1 && y < bottom).collect();
        levels.push(bottom - reserve + 1.0);
        levels.sort_by(f64::total_cmp);
        let mut slot = top + 1.2;
        for level in levels {
            if level - 1.0 - slot >= height - 0.4 {
                break;
            }
            // Above a bar stands its name.
            slot = if level < bottom - reserve { level + 1.2 } else { slot };
        }
        let at = Point::new(self.x(fall.column) + BESIDE, slot + LEADING / 2.0);
        self.label(&format!("wire {}", model.wire(wire).id), at, &lines, LABEL);
    }

    /// The path's number at the foot, and what it is for.
    fn path_number(&mut self, column: usize) {
        let Some(number) = self.all.number(column) else { return };
        let x = self.x(column) - 1.2;
        let mut lines = vec![Text::new(Point::new(x, self.foot + 6.6), number.to_string(), NAME).bold()];
        if let Some(purpose) = self.purpose(column) {
            let room = self.all.columns[column].right + 1.0;
            let text = font::fitted(&purpose, room, SMALL, false);
            lines.push(Text::new(Point::new(x, self.foot + 11.0), text, SMALL).coloured(SOFT_INK));
        }
        self.put(Group::of(Tag::label(format!("path {number}")), lines));
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
