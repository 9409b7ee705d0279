//! What explains the layout: samples of coverings, clips and connectors, the table of runs, notes; and where there is
//! room for it.

use super::callouts::{self, STEP};
use super::housings;
use super::paint::covered;
use super::sides;
use super::tree::Forest;
use kit::colour::{INK, SOFT_INK};
use kit::font;
use kit::lines::{FINE, SMALL, SYMBOL};
use kit::scene::*;
use model::{Model, Part, PartKind, RunId, bundle};
use spec::Covering;

/// Between one thing and what stands below or beside it, millimetres.
const APART: f64 = 8.0;

/// Sheets that are being filled.
pub(super) struct Pages {
    room: Size,
    pages: Vec<Vec<Item>>,
}

impl Pages {
    /// With so much room on each.
    pub fn new(room: Size) -> Self {
        Self { room, pages: vec![Vec::new()] }
    }

    /// The room on a sheet.
    pub fn room(&self) -> Size {
        self.room
    }

    fn extent(items: &[Item]) -> Size {
        let bounds = around(items.iter().filter_map(Item::bounds));
        bounds.map_or(Size::default(), |b| Size::new(b.right.max(0.0), b.bottom.max(0.0)))
    }

    /// Puts items below everything on the last sheet, or on a new one.
    pub fn below(&mut self, items: Vec<Item>, size: Size) {
        let used = self.pages.last().map_or(0.0, |page| Self::extent(page).height);
        let top = if used > 0.0 { used + APART } else { 0.0 };
        if top + size.height > self.room.height && used > 0.0 {
            self.pages.push(items);
        } else if let Some(page) = self.pages.last_mut() {
            page.extend(items.into_iter().map(|item| item.moved(0.0, top)));
        }
    }

    /// Puts items on a sheet of their own; what comes next starts another.
    pub fn alone(&mut self, items: Vec<Item>) {
        if self.pages.last().is_some_and(|page| !page.is_empty()) {
            self.pages.push(Vec::new());
        }
        self.pages.last_mut().into_iter().for_each(|page| page.extend(items.iter().cloned()));
    }

    /// Puts items where the last sheet has room for them without growing more than it must, or on a new one.
    pub fn beside(&mut self, items: Vec<Item>, size: Size) {
        const STEPS: f64 = 4.0;
        let page = self.pages.last().cloned().unwrap_or_default();
        // Piece by piece: the box around a leader and its words is mostly empty.
        let mut taken: Vec<Rect> = Vec::new();
        let mut take = |item: &Item| {
            if !matches!(item, Item::Group(_)) {
                taken.extend(item.bounds().map(|rect| rect.inflate(APART / 2.0)));
            }
        };
        page.iter().for_each(|item| item.walk(&mut take));
        let used = Self::extent(&page);
        let [across, down] = [(self.room.width, size.width), (self.room.height, size.height)]
            .map(|(room, own)| ((room - own) / STEPS).max(-1.0).floor() as i64);
        let spots = (0..=down).flat_map(|j| (0..=across).map(move |i| (i as f64 * STEPS, j as f64 * STEPS)));
        let free = |&(x, y): &(f64, f64)| {
            let spot = Rect::sized(Point::new(x, y), size);
            taken.iter().all(|rect| !rect.overlaps(&spot))
        };
        let grown = |(x, y): (f64, f64)| (used.height.max(y + size.height), used.width.max(x + size.width), x);
        let best = spots.filter(free).min_by(|&a, &b| {
            let (a, b) = (grown(a), grown(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2))
        });
        match (best, self.pages.last_mut()) {
            (Some((x, y)), Some(page)) => page.extend(items.into_iter().map(|item| item.moved(x, y))),
            _ => self.pages.push(items),
        }
    }

    /// Puts tables below everything in rows, those of a row with one top line; a row that
    /// has no room below starts a new sheet.
    pub fn in_rows(&mut self, tables: Vec<(Vec<Item>, Size)>) {
        let mut rows: Vec<Vec<(Vec<Item>, Size)>> = Vec::new();
        let width = |row: &[(Vec<Item>, Size)]| row.iter().map(|(_, size)| size.width + APART).sum::<f64>() - APART;
        for table in tables {
            match rows.last_mut() {
                Some(row) if width(row) + APART + table.1.width <= self.room.width => row.push(table),
                _ => rows.push(vec![table]),
            }
        }
        for row in rows {
            let height = row.iter().map(|(_, size)| size.height).fold(0.0, f64::max);
            let size = Size::new(width(&row), height);
            let (mut items, mut x) = (Vec::new(), 0.0);
            for (table, own) in row {
                items.extend(table.into_iter().map(|item| item.moved(x, 0.0)));
                x += own.width + APART;
            }
            self.below(items, size);
        }
    }

    /// The sheets, each with its extent.
    pub fn finish(self) -> Vec<(Vec<Item>, Size)> {
        let sized = |page: Vec<Item>| {
            let extent = Self::extent(&page);
            (page, extent)
        };
        self.pages.into_iter().map(sized).collect()
    }
}

/// Blocks that stand anywhere beside the runs, none higher than the room: the key, the table, the notes.
pub(super) fn blocks(model: &Model, forest: &Forest, room: Size) -> Vec<(Vec<Item>, Size)> {
    let rows: Vec<[String; 7]> = (0..model.runs.len()).map(|i| callouts::row(model, RunId(i))).collect();
    let notes: Vec<String> =
        notes(model, forest).iter().flat_map(|note| font::wrapped(note, NOTE_WIDTH, SMALL, false)).collect();
    let most = ((room.height / STEP) as usize).saturating_sub(4).max(1);
    let tables = rows.chunks(most).map(|share| table(&rows, share));
    let note = |(i, note): (usize, &String)| {
        let at = Point::new(0.0, STEP * (i as f64 + 1.0));
        Item::from(TextItem::new(at, note.clone(), SMALL).coloured(SOFT_INK))
    };
    let notes: Vec<Item> = notes.iter().enumerate().map(note).collect();
    let sized = |items: Vec<Item>| {
        let bounds = around(items.iter().filter_map(Item::bounds));
        let size = bounds.map_or(Size::default(), |b| Size::new(b.right, b.bottom));
        (items, size)
    };
    std::iter::once(key(model, room.width)).chain(tables).chain([notes]).filter(|b| !b.is_empty()).map(sized).collect()
}

/// Widest line of a note, millimetres.
const NOTE_WIDTH: f64 = 170.0;

/// Some rows of the table of runs, as wide as all of them ask for, the top left at the origin.
fn table(all: &[[String; 7]], rows: &[[String; 7]]) -> Vec<Item> {
    let mut items = Vec::new();
    let mut x = 0.0;
    for (column, heading) in callouts::HEADINGS.iter().enumerate() {
        let cells = all.iter().map(|row| font::width(&row[column], SMALL, false));
        let width = cells.fold(font::width(heading, SMALL, true), f64::max);
        items.push(TextItem::new(Point::new(x, STEP), *heading, SMALL).bold().into());
        for (i, row) in rows.iter().enumerate() {
            let at = Point::new(x, STEP * (i as f64 + 2.2));
            items.push(TextItem::new(at, row[column].clone(), SMALL).into());
        }
        x += width + 6.0;
    }
    let rule = Path::line(Point::new(0.0, STEP * 1.4), Point::new(x - 6.0, STEP * 1.4));
    items.push(rule.stroked(Stroke::solid(SOFT_INK, FINE)).into());
    items
}

/// What the tree can't show.
fn notes(model: &Model, forest: &Forest) -> Vec<String> {
    let ring = |run: &RunId| {
        let this = &model.runs[run.0];
        let [a, b] = this.ends.map(|p| model.places[p.0].to_string());
        let wires = bundle::wires_in(model, *run).len();
        format!("Also a run between {a} and {b}, {}, {wires} wires: it closes a loop and is not drawn.", this.length)
    };
    let mut notes: Vec<String> = forest.rings.iter().map(ring).collect();
    if forest.trunks.first().is_some_and(|trunk| sides::to_the_rear(model, &trunk.places) == Some(false)) {
        notes.push("The trunk is seen from above, the vehicle's front on the right, its left side above.".into());
    }
    notes.push("Lengths are from breakout to breakout; cut lengths with allowances are on the wire list.".into());
    if let Some(tail) = callouts::usual_tail(model) {
        notes.push(format!(
            "Branches: the cut lengths of new wires leave {:.0} mm from a breakout to each part unless its line says otherwise.",
            tail.value() * 1000.0
        ));
    }
    let mut kinds: Vec<&str> = Vec::new();
    for part in model.parts.iter().filter(|part| part.kind == PartKind::Splice) {
        if !kinds.contains(&part.form.title.0.as_str()) {
            kinds.push(&part.form.title.0);
        }
    }
    if !kinds.is_empty() {
        notes.push(format!(
            "Splices: {}. Distances are from the breakout to the middle of the splice; without one, it is at the breakout.",
            kinds.join("; ")
        ));
    }
    if has_connectors(model) {
        notes.push(
            "Connectors are shown with the latch towards you; without a latch, it is the upper side of the face."
                .into(),
        );
    }
    notes
}

/// Whether any connector is drawn.
fn has_connectors(model: &Model) -> bool {
    let is_drawn = |part: &Part| {
        let wired = part.pins.iter().any(|&pin| model.wires_on(pin).next().is_some());
        wired && part.at.is_some_and(|at| model.runs.iter().any(|run| run.ends.contains(&at)))
    };
    model.parts.iter().any(|part| part.kind == PartKind::Connector && is_drawn(part))
}

/// What patterns, ticks and housings mean: those in use, side by side in as many lines as the width asks for, the top
/// left at the origin.
fn key(model: &Model, room: f64) -> Vec<Item> {
    const SAMPLE: f64 = 14.0;
    const LINE: f64 = 7.0;
    let mut coverings: Vec<Covering> = Vec::new();
    for run in &model.runs {
        if !coverings.contains(&run.covering) {
            coverings.push(run.covering);
        }
    }
    let (mut items, mut x, mut y): (Vec<Item>, f64, f64) = (Vec::new(), 0.0, LINE / 2.0);
    let mut sample = |paths: &dyn Fn(Point, Point) -> Vec<Item>, words: &str| {
        let wanted = SAMPLE + 2.0 + font::width(words, SMALL, false);
        if x > 0.0 && x + wanted > room.min(NOTE_WIDTH) {
            (x, y) = (0.0, y + LINE);
        }
        let (from, to) = (Point::new(x, y), Point::new(x + SAMPLE, y));
        items.push(ItemGroup::of(Tag::kind("key"), paths(from, to)).into());
        let text = TextItem::new(Point::new(x + SAMPLE + 2.0, y), words, SMALL).centred_on(y);
        x = text.bounds().right + 8.0;
        items.push(text.into());
    };
    let items_of = |paths: Vec<Path>| paths.into_iter().map(Item::from).collect::<Vec<Item>>();
    for covering in coverings {
        sample(&|from, to| items_of(covered(&Path::line(from, to), 1.6, covering)), &covering.to_string());
    }
    if model.runs.iter().any(|run| run.clips.is_some()) {
        let ticks = |from: Point, to: Point| {
            let tick = |x: f64| Path::line(Point::new(x, from.y - 2.0), Point::new(x, from.y + 2.0));
            let line = Path::line(from, to).stroked(Stroke::solid(INK, 1.6));
            let ticks = [4.0, 10.0].map(|dx| tick(from.x + dx).stroked(Stroke::solid(INK, SYMBOL)));
            items_of(ticks.into_iter().chain([line]).collect())
        };
        sample(&ticks, "clip");
    }
    if has_connectors(model) {
        sample(
            &|from, _| housings::sample(from),
            "connector: arrow = mating side, small box = latch, dot = cavity 1's side",
        );
    }
    items
}
