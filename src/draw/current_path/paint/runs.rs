//! What carries current from one thing to the next: wires, leads, bars, and where they begin and end.

use super::super::column_widths::BESIDE;
use super::super::labels::{self, LONGEST, plain};
use super::super::placed::{Across, Fall, Joined, Level, Tip};
use super::page::{LEADING, NAMES, Page, STEP};
use kit::colour::{INK, PAPER, SOFT_INK};
use kit::font;
use kit::insulation::Insulation;
use kit::lines::{self, LABEL, SMALL, SYMBOL};
use kit::scene::*;
use model::{PartKind, PinId, WireId};

/// A splice's bar, or a lead from a contact to its column.
pub(super) fn across(page: &mut Page, across: &Across) {
    // A bar that only passes a sheet is not drawn there: its arrows name the sheets where wires meet it.
    let reached = |sheet: usize| {
        let [first, last] = page.all.cuts[sheet];
        let reaches = |column: usize| (first..=last).contains(&column);
        reaches(across.from) || reaches(across.to) || across.dots.iter().any(|&column| reaches(column))
    };
    if !reached(page.sheet) {
        return;
    }
    let before = (0..page.sheet).rev().find(|&sheet| reached(sheet));
    let after = (page.sheet + 1..page.all.cuts.len()).find(|&sheet| reached(sheet));
    let y = page.zero + across.y;
    let model = page.all.model;
    let name = model.pin_name(across.pin);
    let starts = page.here(across.from);
    let left = if starts { page.x(across.from) + across.inset } else { page.edges[0] };
    let right = if page.here(across.to) { page.x(across.to) } else { page.edges[1] };
    let width = if across.bar && joins(page, across.pin) { lines::HEAVY } else { SYMBOL };
    let kind = if across.bar { "joint" } else { "lead" };
    let part = model.part(model.pin(across.pin).part).name.to_string();
    let tag = Tag::part(part).of_kind(kind).with("joint", name.clone()).between(name.clone(), name.clone());
    if right > left {
        let line = Path::line(Point::new(left, y), Point::new(right, y)).stroked(Stroke::solid(INK, width));
        let mut group = ItemGroup::of(tag, [line]);
        if !across.bar && page.here(across.to) {
            group.items.push(page.pin(across.pin, Point::new(right, y)));
        }
        page.put(group);
    }
    if let Some(sheet) = before {
        mark(page, Point::new(page.edges[0], y), -1.0, &name, sheet + 1);
    }
    if let Some(sheet) = after {
        mark(page, Point::new(page.edges[1], y), 1.0, "", sheet + 1);
    }
    // A terminal right below its own symbol, or where the path begins, is named there.
    let placed = page.all.placed;
    let named = !across.named
        || placed.stands.iter().any(|s| s.lower == across.pin && s.column == across.from)
        || placed.crossings.iter().any(|c| c.lower == across.pin && c.column == across.from)
        || placed.taps.iter().any(|&(pin, column)| pin == across.pin && column == across.from);
    if starts && across.bar && !named {
        let text = font::fitted(&name, LONGEST, SMALL, true);
        let label = TextItem::new(Point::new(page.x(across.from) + BESIDE, y - 1.4), text, SMALL).bold();
        page.put(ItemGroup::of(Tag::label(name), [label]));
    }
}

/// Whether wires are joined to each other at a pin. At any other they share a terminal: each comes off by itself.
fn joins(page: &Page, pin: PinId) -> bool {
    let model = page.all.model;
    model.part(model.pin(pin).part).kind == PartKind::Splice
}

/// The dots on a bar that say its wires are joined, over the wires' ends; open circles where they share a terminal.
pub(super) fn dots(page: &mut Page, across: &Across) {
    if !across.bar {
        return;
    }
    let (model, pin) = (page.all.model, across.pin);
    let tag = Tag::part(model.part(model.pin(pin).part).name.to_string()).of_kind("joint");
    let joined = joins(page, pin);
    let dot = |at| {
        let circle = Path::circle(at, if joined { 0.9 } else { 0.7 });
        if joined { circle.filled(INK) } else { circle.stroked(lines::symbol()).filled(PAPER) }
    };
    let mut group = ItemGroup { tag, items: Vec::new() };
    for &column in across.dots.iter().filter(|&&c| page.here(c)) {
        let at = Point::new(page.x(column), page.zero + across.y);
        group.push(ItemGroup::of(Tag::pin_at(model.pin_name(pin), at), [dot(at)]));
    }
    if !group.items.is_empty() {
        page.put(group);
    }
}

/// A wire or a lead down its column.
pub(super) fn fall(page: &mut Page, fall: &Fall) {
    let x = page.x(fall.column);
    let line = Path::line(Point::new(x, page.y(fall.from)), Point::new(x, page.y(fall.to)));
    match fall.wire {
        Some((wire, _, _)) => {
            let group = self::wire(page, wire, &line);
            page.put(group);
        }
        None => page.put(ItemGroup::of(Tag::kind("lead"), [line.stroked(lines::symbol())])),
    }
}

/// A line from the end of a path to a pin in another column.
pub(super) fn joined(page: &mut Page, joined: &Joined) {
    let [from, to] = joined.columns.map(|column| page.x(column));
    let [end, across, pin] = joined.levels.map(|level| page.zero + level);
    let points = [(from, end), (from, across), (to, across), (to, pin)].map(|(x, y)| Point::new(x, y));
    let line = Path::polyline(&points);
    let group = match joined.wire {
        Some(wire) => self::wire(page, wire, &line),
        None => ItemGroup::of(Tag::kind("lead"), [line.stroked(lines::symbol())]),
    };
    page.put(group);
}

/// A line in the wire's insulation.
pub(super) fn wire(page: &Page, id: WireId, line: &Path) -> ItemGroup {
    let model = page.all.model;
    let wire = model.wire(id);
    let [from, to] = wire.ends.map(|pin| model.pin_name(pin));
    let tag = Tag::wire(wire.id.to_string()).between(from, to).hovered(labels::wire_sentence(model, id));
    let insulation = wire.colour.and_then(|c| Insulation::of(&c.to_string()));
    match insulation {
        Some(insulation) => ItemGroup::of(tag, insulation.paint(line, lines::WIRE)),
        None => ItemGroup::of(tag, [line.clone().stroked(Stroke::solid(SOFT_INK, lines::WIRE))]),
    }
}

/// Where a path leaves a supply's rail or a vehicle's wire.
pub(super) fn tap(page: &mut Page, pin: PinId, column: usize) {
    let at = Point::new(page.x(column), page.y(Level::Rail(pin)));
    if page.rails.contains(&pin) {
        let dot = Path::circle(at, 0.9).filled(INK);
        let name = page.all.model.pin_name(pin);
        page.put(ItemGroup::of(Tag::pin_at(name, at), [dot]));
    } else {
        terminal(page, pin, column, at.y - 0.9);
    }
}

/// A small open circle with a name on its right.
pub(super) fn terminal(page: &mut Page, pin: PinId, column: usize, y: f64) {
    let model = page.all.model;
    let at = Point::new(page.x(column), y);
    let circle = Path::circle(at, 0.9).stroked(lines::symbol()).filled(PAPER);
    let name = model.pin_name(pin);
    let tag = Tag { part: Some(model.part(model.pin(pin).part).name.to_string()), ..Tag::pin_at(name.clone(), at) };
    page.put(ItemGroup::of(tag, [circle]));
    let lines = labels::rail(model, pin);
    let first = y - LEADING * (lines.len() - 1) as f64;
    page.label(&name, Point::new(at.x + 0.9 + BESIDE, first), &lines, SMALL);
}

pub(super) fn ground(page: &mut Page, pin: PinId, column: usize) {
    let model = page.all.model;
    let at = Point::new(page.x(column), page.foot);
    let name = model.pin_name(pin);
    let tag = Tag { part: Some(name.clone()), ..Tag::pin_at(name.clone(), at) };
    page.put(ItemGroup::of(tag, [Path::circle(at, 0.9).filled(INK)]));
    let lines = labels::rail(model, pin);
    let first = page.foot - 2.9 - LEADING * (lines.len() - 1) as f64;
    page.label(&name, Point::new(at.x + BESIDE, first), &lines, SMALL);
}

pub(super) fn tip(page: &mut Page, tip: &Tip) {
    let y = page.zero + tip.y;
    terminal_below(page, tip.pin, tip.column, y, tip.vehicle);
}

pub(super) fn terminal_below(page: &mut Page, pin: PinId, column: usize, y: f64, vehicle: bool) {
    let model = page.all.model;
    let at = Point::new(page.x(column), y + 0.9);
    let circle = Path::circle(at, 0.9).stroked(lines::symbol()).filled(PAPER);
    let name = model.pin_name(pin);
    let part = model.part(model.pin(pin).part).name.to_string();
    let tag = Tag { part: Some(part), ..Tag::pin_at(name.clone(), Point::new(at.x, y)) };
    page.put(ItemGroup::of(tag, [circle]));
    let lines = if vehicle { labels::rail(model, pin) } else { vec![plain(name.clone())] };
    page.label(&name, Point::new(at.x + 0.9 + BESIDE, at.y + 0.6), &lines, SMALL);
}

/// A wire's number, size and colour, on the first stretch of it that nothing crosses.
pub(super) fn wire_label(page: &mut Page, fall: &Fall) {
    let Some((wire, upper, lower)) = fall.wire else { return };
    let model = page.all.model;
    let lines = labels::wire(model, page.all.live, wire, [upper, lower]);
    let (top, bottom) = (page.y(fall.from).max(page.zero), page.y(fall.to));
    let reserve = if fall.to == Level::Foot { 8.0 } else { 4.6 };
    let over = page.all.placed.over(fall.column).map(|y| page.zero + y);
    let mut levels: Vec<f64> = over.filter(|&y| y > top + 0.1 && y < bottom).collect();
    levels.push(bottom - reserve + 1.0);
    levels.sort_by(f64::total_cmp);
    // Where a label would start, above each line that crosses, and how many lines of text it has room for.
    let starts = std::iter::once(top).chain(levels.iter().copied());
    let rooms = starts.zip(&levels).map(|(start, end)| (start + 1.2, (end - start - 0.9) / STEP));
    let fits = rooms.clone().find(|(_, room)| *room >= lines.len() as f64);
    let roomiest = || rooms.clone().max_by(|a, b| a.1.total_cmp(&b.1));
    let slot = fits.or_else(roomiest).map_or(top + 1.2, |(start, _)| start);
    let at = Point::new(page.x(fall.column) + BESIDE, slot + STEP / 2.0);
    page.lines(LabelOf::Wire(model.wire(wire).id.to_string()), at, &lines, LABEL, STEP);
}

/// An arrow with the sheet on which a line goes on.
pub(super) fn mark(page: &mut Page, at: Point, way: f64, name: &str, sheet: usize) {
    let tip = at.by(way * 2.6, 0.0);
    let head = Path::polygon(&[tip, at.by(0.0, -1.2), at.by(0.0, 1.2)]).filled(INK);
    page.put(ItemGroup::of(Tag::kind("continuation"), [head]));
    let anchor = if way > 0.0 { Anchor::Start } else { Anchor::End };
    let whole = format!("{name}, sheet {sheet}");
    // A name that has no room beside the sheet stands on that sheet.
    let has_room = !name.is_empty() && font::width(&whole, SMALL, false) <= NAMES - 8.0;
    let text = TextItem::new(tip.by(way, 0.0), if has_room { whole } else { format!("sheet {sheet}") }, SMALL);
    let text = text.anchored(anchor).centred_on(at.y).coloured(SOFT_INK);
    page.put(ItemGroup::of(Tag::label("continuation"), [text]));
}
