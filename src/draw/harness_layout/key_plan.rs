//! The key plan of a build board: which sheet lies where, what is on it, and where pegs and holders go.

use super::callouts::{self, STEP};
use super::cells::{Cell, name};
use super::fittings::peg_words;
use super::housings;
use super::legend::Pages;
use super::runs::Board;
use kit::colour::{FAINT, INK, SOFT_INK};
use kit::font;
use kit::geometry::clipped;
use kit::lines::{FINE, LABEL, SMALL, SYMBOL};
use kit::scene::*;
use model::{Model, PartId, PlaceId, RunId};
use std::collections::BTreeMap;

/// One tree of the board: its sheets and what is on them.
pub(super) struct Plan {
    cells: Vec<(Cell, Board)>,
    field: Rect,
}

/// Share of a sheet's height that the plans may take.
const SHARE: f64 = 0.55;
/// Smallest height of a sheet on the plan, so that its name has room, millimetres.
const LEAST: f64 = 9.0;

impl Plan {
    /// Of cells that are each as large as a field.
    pub fn of(cells: &BTreeMap<Cell, Board>, field: Rect) -> Self {
        Self { cells: cells.iter().map(|(cell, board)| (*cell, board.clone())).collect(), field }
    }

    /// Sheets as boxes with their names, runs as lines, places with their names; the top left at the origin.
    fn items(&self, model: &Model, room: Size) -> (Vec<Item>, Size) {
        let rows = self.cells.iter().map(|((row, _), _)| *row);
        let columns = self.cells.iter().map(|((_, column), _)| *column);
        let (Some(top), Some(bottom)) = (rows.clone().min(), rows.max()) else { return Default::default() };
        let (Some(left), Some(right)) = (columns.clone().min(), columns.max()) else { return Default::default() };
        let [across, down] =
            [(right - left + 1) as f64 * self.field.width(), (bottom - top + 1) as f64 * self.field.height()];
        let least = LEAST / self.field.height();
        let scale = (room.width / across).min(room.height / down).min(0.12).max(least.min(room.width / across));
        let mut items: Vec<Item> = Vec::new();
        let (mut lines, mut words) = (Vec::new(), Vec::new());
        let size = Size::new(across * scale, down * scale);
        let mut names = PlaceNames { room: Rect::sized(Point::default(), size), lines: Vec::new(), words: Vec::new() };
        let mut places: BTreeMap<PlaceId, Point> = BTreeMap::new();
        for ((row, column), board) in &self.cells {
            let corner = Point::new(
                (column - left) as f64 * self.field.width() * scale,
                (row - top) as f64 * self.field.height() * scale,
            );
            let own = Size::new(self.field.width() * scale, self.field.height() * scale);
            let cell = Rect::sized(corner, own);
            items.push(Path::rect(&cell).stroked(Stroke::solid(FAINT, FINE)).into());
            names.lines.extend(edges(&cell));
            let on_plan = |p: Point| corner.by((p.x - self.field.left) * scale, (p.y - self.field.top) * scale);
            let mut taken: Vec<[Point; 2]> = Vec::new();
            for stretch in &board.stretches {
                let [from, to] = [stretch.from, stretch.to].map(on_plan);
                taken.push([from, to]);
                names.lines.push([from, to]);
                lines.push(Item::from(Path::line(from, to).stroked(Stroke::solid(INK, 0.7))));
            }
            for (place, at) in &board.places {
                let at = on_plan(*at);
                taken.push([at, at]);
                names.lines.push([at, at]);
                places.entry(*place).or_insert(at);
                lines.push(Item::from(Path::circle(at, 0.9).filled(INK).stroked(Stroke::solid(INK, SYMBOL))));
            }
            let label = name((*row, *column));
            if let Some(at) = clear_spot(&cell, font::width(&label, SMALL, true), &taken) {
                let text = TextItem::new(at, label.clone(), SMALL).bold().coloured(SOFT_INK);
                names.words.push(text.bounds());
                words.push(Item::from(ItemGroup::of(Tag::label(format!("sheet {label}")), [text])));
            }
        }
        for (place, at) in places {
            let place = model.places[place.0].as_str();
            words.extend(names.beside(place, at).map(|text| {
                Item::from(ItemGroup::of(Tag::label(format!("place {place}")).with("place", place), [text]))
            }));
        }
        items.extend(lines);
        items.extend(words);
        (items, size)
    }

    /// What is on each sheet, a line a sheet.
    fn contents(&self, model: &Model) -> Vec<[String; 3]> {
        let row = |(cell, board): &(Cell, Board)| {
            let places: Vec<&str> = board.places.iter().map(|(place, _)| model.places[place.0].as_str()).collect();
            let mut runs: Vec<RunId> = board.stretches.iter().map(|s| s.run).collect();
            runs.sort();
            runs.dedup();
            let runs: Vec<String> = runs.into_iter().map(callouts::letter).collect();
            [name(*cell), places.join(", "), runs.join(", ")]
        };
        self.cells.iter().map(row).collect()
    }
}

/// What the names of places on the plan must keep off.
struct PlaceNames {
    room: Rect,
    /// Runs, edges of sheets, and places.
    lines: Vec<[Point; 2]>,
    /// Names that are there.
    words: Vec<Rect>,
}

impl PlaceNames {
    /// The name of a place beside it, where there is room: the nearest spot first.
    fn beside(&mut self, name: &str, at: Point) -> Option<TextItem> {
        const NEAREST: f64 = 2.2;
        const STEPS: u32 = 6;
        let width = font::width(name, SMALL, false);
        let spots = (0..STEPS).flat_map(|step| {
            let out = NEAREST + f64::from(step) * 1.5;
            let (right, left, centred) = (at.x + out, at.x - out - width, at.x - width / 2.0);
            let (below, above) = (at.y + out + SMALL, at.y - out);
            let slid = [at.x + 1.5, at.x - 1.5 - width];
            let beside = [(right, at.y + SMALL / 3.0), (left, at.y + SMALL / 3.0)];
            let over = [centred, slid[0], slid[1]].map(|x| (x, above));
            let under = [centred, slid[0], slid[1]].map(|x| (x, below));
            beside.into_iter().chain(over).chain(under).chain([
                (right, above),
                (left, above),
                (right, below),
                (left, below),
            ])
        });
        let text = |(x, y): (f64, f64)| TextItem::new(Point::new(x, y), name, SMALL);
        let is_clear = |text: &TextItem| {
            let bounds = text.bounds();
            self.room.contains_rect(&bounds)
                && self.words.iter().all(|other| !other.inflate(0.5).overlaps(&bounds))
                && self.lines.iter().all(|[a, b]| clipped(*a, *b, &bounds.inflate(0.5)).is_none())
        };
        let found = spots.map(text).find(is_clear)?;
        self.words.push(found.bounds());
        Some(found)
    }
}

/// The edges of a box.
fn edges(r: &Rect) -> [[Point; 2]; 4] {
    let corners = [(r.left, r.top), (r.right, r.top), (r.right, r.bottom), (r.left, r.bottom)];
    let corner = |i: usize| Point::new(corners[i % 4].0, corners[i % 4].1);
    [0, 1, 2, 3].map(|i| [corner(i), corner(i + 1)])
}

/// Where a sheet's name has room on the plan, off the runs.
fn clear_spot(cell: &Rect, width: f64, taken: &[[Point; 2]]) -> Option<Point> {
    const EDGE: f64 = 1.0;
    const STEPS: u32 = 8;
    let size = Size::new(width, SMALL);
    let room = [cell.width() - size.width - 2.0 * EDGE, cell.height() - size.height - 2.0 * EDGE];
    let steps = (0..=STEPS)
        .flat_map(|down| (0..=STEPS).map(move |across| [across, down].map(|n| f64::from(n) / f64::from(STEPS))));
    let mut spots = steps
        .map(|[x, y]| Rect::sized(Point::new(cell.left + EDGE + room[0] * x, cell.top + EDGE + room[1] * y), size));
    let is_clear = |spot: &Rect| taken.iter().all(|[a, b]| clipped(*a, *b, &spot.inflate(1.6)).is_none());
    spots.find(is_clear).map(|spot| Point::new(spot.left, spot.bottom - 0.4))
}

/// The key plan on as many pages as it takes, each with its size.
pub(super) fn pages(model: &Model, plans: Vec<Plan>, room: Size) -> Vec<(Vec<Item>, Size)> {
    let mut pages = Pages::new(room);
    let plan_room = Size::new(room.width, room.height * SHARE / plans.len().max(1) as f64);
    for plan in &plans {
        let (items, size) = plan.items(model, plan_room);
        pages.below(items, size);
    }
    let sheets: Vec<Vec<String>> = plans.iter().flat_map(|plan| plan.contents(model)).map(Vec::from).collect();
    let sheets = ("What is on each sheet", vec!["sheet", "breakouts", "runs"], sheets);
    pages.in_rows(shared_out([sheets], room).into_iter().chain(fittings(model, room)).collect());
    pages.finish()
}

/// A table: title, headings, rows.
type Table = (&'static str, Vec<&'static str>, Vec<Vec<String>>);

/// Where pegs and holders go, in tables no higher than the room, each with its size.
pub(super) fn fittings(model: &Model, room: Size) -> Vec<(Vec<Item>, Size)> {
    let pegs: Vec<Vec<String>> = (0..model.runs.len()).map(RunId).map(|run| peg_row(model, run)).collect();
    let pegs = (
        "Pegs, from the first place of each run; one at each breakout as well",
        vec!["run", "between", "length", "pegs at"],
        pegs,
    );
    let holders = (
        "Holders, from the breakout to the rear of each connector",
        vec!["connector", "breakout", "distance"],
        holder_rows(model),
    );
    shared_out([pegs, holders], room)
}

fn shared_out(tables: impl IntoIterator<Item = Table>, room: Size) -> Vec<(Vec<kit::scene::Item>, Size)> {
    let most = (((room.height - 14.0) / STEP) as usize).saturating_sub(4).max(1);
    let mut all = Vec::new();
    for (title, headings, rows) in tables {
        all.extend(rows.chunks(most).map(|share| table(title, &headings, &rows, share)));
    }
    all
}

fn peg_row(model: &Model, run: RunId) -> Vec<String> {
    let [letter, between, length, ..] = callouts::row(model, run);
    vec![letter, between, length, peg_words(model, run)]
}

/// Each connector with wires, and how far from its breakout its holder stands.
fn holder_rows(model: &Model) -> Vec<Vec<String>> {
    let places = (0..model.places.len()).map(PlaceId);
    let halves =
        places.flat_map(|place| housings::at_place(model, place).into_iter().map(move |halves| (place, halves)));
    let all = halves
        .flat_map(|(place, (first, other))| [Some(first), other].into_iter().flatten().map(move |id| (place, id)));
    let row = |(place, id): (PlaceId, PartId)| {
        let far = housings::holder_distance(model, id).unwrap_or_else(|| "–".into());
        vec![model.part(id).name.to_string(), model.places[place.0].to_string(), far]
    };
    all.map(row).collect()
}

/// A table with its title, as wide as all of its rows ask for, the top left at the origin.
fn table(title: &str, headings: &[&str], all: &[Vec<String>], rows: &[Vec<String>]) -> (Vec<Item>, Size) {
    let mut items: Vec<Item> = vec![TextItem::new(Point::new(0.0, STEP), title, LABEL).bold().into()];
    let mut x = 0.0;
    for (column, heading) in headings.iter().enumerate() {
        let cells = all.iter().map(|row| font::width(&row[column], SMALL, false));
        let width = cells.fold(font::width(heading, SMALL, true), f64::max);
        items.push(TextItem::new(Point::new(x, STEP * 2.4), *heading, SMALL).bold().into());
        for (i, row) in rows.iter().enumerate() {
            let at = Point::new(x, STEP * (i as f64 + 3.6));
            items.push(TextItem::new(at, row[column].clone(), SMALL).into());
        }
        x += width + 6.0;
    }
    let rule = Path::line(Point::new(0.0, STEP * 2.8), Point::new(x - 6.0, STEP * 2.8));
    items.push(rule.stroked(Stroke::solid(SOFT_INK, FINE)).into());
    let bounds =
        around(items.iter().filter_map(Item::bounds)).map_or(Size::default(), |b| Size::new(b.right, b.bottom));
    (items, bounds)
}
