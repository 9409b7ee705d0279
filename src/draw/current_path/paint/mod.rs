//! Draws what was placed, sheet by sheet.

mod page;
mod runs;
mod symbols;

use super::pieces::Shape;
use kit::colour::{INK, SOFT_INK};
use kit::font;
use kit::lines::{self, NAME, RAIL, SMALL};
use kit::scene::*;
pub(super) use page::{Bands, Drawing};
use page::{HEADINGS, NAMES, Page};

/// A sheet's items inside its field.
pub(super) fn items(drawing: &Drawing, sheet: usize, field: &Rect) -> Vec<Item> {
    let mut page = Page::new(drawing, sheet, field);
    paint(&mut page);
    page.items
}

fn paint(page: &mut Page) {
    let (placed, first, last) = (page.all.placed, page.first, page.last);
    let here = move |column: usize| (first..=last).contains(&column);
    headings(page);
    rails(page);
    placed.across.iter().for_each(|a| runs::across(page, a));
    placed.falls.iter().filter(|f| here(f.column)).for_each(|f| runs::fall(page, f));
    placed.joined.iter().filter(|j| here(j.columns[0])).for_each(|j| runs::joined(page, j));
    placed.taps.iter().filter(|t| here(t.1)).for_each(|&(pin, column)| runs::tap(page, pin, column));
    placed.grounds.iter().filter(|g| here(g.1)).for_each(|&(pin, column)| runs::ground(page, pin, column));
    placed.stands.iter().filter(|s| here(s.column)).for_each(|s| symbols::stand(page, s));
    placed.crossings.iter().filter(|c| here(c.column)).for_each(|c| symbols::crossing(page, c));
    placed.blocks.iter().filter(|b| here(b.columns[0])).for_each(|b| symbols::block(page, b));
    placed.flags.iter().filter(|f| here(f.column)).for_each(|f| symbols::flag(page, f));
    placed.across.iter().for_each(|a| runs::dots(page, a));
    placed.tips.iter().filter(|t| here(t.column)).for_each(|t| runs::tip(page, t));
    placed.falls.iter().filter(|f| here(f.column)).for_each(|f| runs::wire_label(page, f));
    (first..=last).for_each(|column| path_number(page, column));
}

/// What the paths below are for, over a line from the first to the last of them.
fn headings(page: &mut Page) {
    let all = page.all;
    let y = page.headings_y();
    let groups = &all.placed.groups;
    for (i, group) in groups.iter().enumerate() {
        let end = groups.get(i + 1).map_or(all.columns.len(), |next| next.column) - 1;
        let (first, last) = (group.column.max(page.first), end.min(page.last));
        if first > last || group.title.is_empty() {
            continue;
        }
        let left = page.x(first) - all.columns[first].left.min(3.0);
        let right = page.x(last) + all.columns[last].right;
        let line = Path::line(Point::new(left, y), Point::new(right, y)).stroked(lines::fine());
        let mut drawn = ItemGroup::of(Tag::label("function"), [line]);
        // Short words where the columns have little room; the first phrase says most.
        let sized =
            |(height, lines, _): (f64, usize, f64)| font::phrases(&group.title, right - left, (height, true), lines);
        let whole = |size: &(f64, usize, f64)| sized(*size).join(" ") == group.title;
        let size = HEADINGS.into_iter().find(whole).unwrap_or(HEADINGS[HEADINGS.len() - 1]);
        let mut lines = sized(size);
        if lines.iter().any(|line| line.contains('…')) {
            lines = vec![short_heading(page, first)];
        }
        for (i, line) in lines.iter().rev().enumerate() {
            let at = Point::new(left, y - 1.4 - size.2 * i as f64);
            drawn.push(TextItem::new(at, line.clone(), size.0).bold());
        }
        page.put(drawn);
    }
}

/// What a narrow column is for, in the shortest words: its topmost part, else the part that its flag points to.
fn short_heading(page: &Page, column: usize) -> String {
    let (model, placed) = (page.all.model, page.all.placed);
    let stands = placed.stands.iter().filter(|stand| stand.column == column);
    let top = stands.min_by(|a, b| a.y.total_cmp(&b.y)).map(|stand| page.all.pieces.get(stand.piece).part);
    let flag = || placed.flags.iter().find(|flag| flag.column == column).map(|flag| model.pin(flag.pin).part);
    top.or_else(flag).map_or(String::new(), |part| model.part(part).name.to_string())
}

/// Supply rails with their terminal numbers, and the ground rail: those that something on the sheet connects to.
fn rails(page: &mut Page) {
    let model = page.all.model;
    for (i, &pin) in page.rails.clone().iter().enumerate() {
        let part = model.part(model.pin(pin).part);
        rail(page, page.rail_y(i), &part.use_name, &part.name.to_string(), Tag::part(part.name.to_string()));
        let next = (page.sheet + 1..page.all.cuts.len()).find(|&sheet| page.all.rails_of(sheet).contains(&pin));
        continuation(page, page.rail_y(i), next);
    }
    let grounded = |sheet: usize| {
        let [first, last] = page.all.cuts[sheet];
        page.all.placed.grounds.iter().any(|&(_, column)| (first..=last).contains(&column))
    };
    if grounded(page.sheet) {
        let next = (page.sheet + 1..page.all.cuts.len()).find(|&sheet| grounded(sheet));
        let foot = page.foot;
        rail(page, foot, "31", "ground", Tag::kind("ground-rail"));
        continuation(page, foot, next);
    }
}

fn rail(page: &mut Page, y: f64, terminal: &str, name: &str, tag: Tag) {
    let [left, right] = page.edges;
    let line = Path::line(Point::new(left, y), Point::new(right, y)).stroked(Stroke::solid(INK, RAIL));
    page.put(ItemGroup::of(tag.of_kind("rail"), [line]));
    let terminal_text = font::fitted(terminal, 10.0, NAME, true);
    let number = TextItem::new(Point::new(left - NAMES + 3.0, y), terminal_text, NAME).bold().centred_on(y);
    let room = NAMES - 14.0;
    let text = font::fitted(name, room, SMALL, false);
    let words = TextItem::new(Point::new(left - 2.0, y), text, SMALL).anchored(Anchor::End).centred_on(y);
    page.put(ItemGroup::of(Tag::label(format!("terminal {terminal}")), [number, words]));
}

/// An arrow where a rail goes on to a later sheet.
fn continuation(page: &mut Page, y: f64, next: Option<usize>) {
    if let Some(sheet) = next {
        let right = page.edges[1];
        runs::mark(page, Point::new(right, y), 1.0, "", sheet + 1);
    }
}

/// The path's number at the foot, and what it is for.
fn path_number(page: &mut Page, column: usize) {
    let number = page.all.number(column);
    let x = page.x(column) - 1.2;
    let mut lines = vec![TextItem::new(Point::new(x, page.foot + 6.6), number.to_string(), NAME).bold()];
    if let Some((purpose, part)) = purpose(page, column) {
        let room = page.all.columns[column].right + 1.0;
        // A pin that is too long goes by its part.
        let words = if font::width(&purpose, SMALL, false) <= room { &purpose } else { &part };
        let text = font::fitted(words, room, SMALL, false);
        lines.push(TextItem::new(Point::new(x, page.foot + 11.0), text, SMALL).coloured(SOFT_INK));
    }
    page.put(ItemGroup::of(Tag::label(format!("path {number}")), lines));
}

/// The lowest thing on a path that does something, and a shorter name of it.
fn purpose(page: &Page, column: usize) -> Option<(String, String)> {
    let placed = page.all.placed;
    let stands = placed.stands.iter().filter(|s| s.column == column).map(|s| (s.y, s.piece));
    let boxes = placed.blocks.iter().filter(|b| b.columns[0] == column).map(|b| (b.y, b.piece));
    let Some(lowest) = stands.chain(boxes).max_by(|a, b| a.0.total_cmp(&b.0)) else {
        let pins = placed.blocks.iter().flat_map(|b| b.uppers.iter().chain(&b.lowers));
        let pin = pins.into_iter().find(|&&(_, c)| c == column).map(|&(pin, _)| pin);
        let flagged = || placed.flags.iter().find(|f| f.column == column).map(|f| f.pin);
        let model = page.all.model;
        let names = |pin| (model.pin_name(pin), model.part(model.pin(pin).part).name.to_string());
        return pin.or_else(flagged).map(names);
    };
    let piece = page.all.pieces.get(lowest.1);
    let name = page.all.model.part(piece.part).name.to_string();
    let words = if matches!(piece.shape, Shape::Coil(_)) { format!("{name} coil") } else { name };
    Some((words.clone(), words))
}
