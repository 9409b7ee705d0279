//! The two views of a connector: its housing with the cavities.

use super::{other_end, plug, wires};
use kit::colour::{FAINT, INK, PAPER, TINT};
use kit::font;
use kit::insulation::Insulation;
use kit::lines::{self, LABEL, LEAST_TEXT, MODULE, NAME};
use kit::scene::*;
use model::{Model, PartId, PartKind, PinId, WireId};

/// A cavity's largest size, the least width that long rows squeeze it to, and the distance from one to the next.
const CELL: Size = Size { width: 22.0, height: 18.0 };
const LEAST_CELL: f64 = 14.5;
const BETWEEN: f64 = 1.5;
/// From the outermost cavities to the housing's edge.
const WALL: f64 = 3.0;
/// Height of the part of a cavity that has its number, and of the insulation's colour.
const NUMBER: f64 = 5.6;
const COLOUR: f64 = 4.0;
/// Sizes of lettering in a cavity, the largest that fits counts.
const LETTERING: [f64; 4] = [4.0, NAME, LABEL, LEAST_TEXT];

/// From where a connector is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum View {
    Mating,
    Wires,
}

/// Widths that a cavity may have, the largest first.
pub(super) const CELL_WIDTHS: [f64; 5] = [CELL.width, 20.0, 18.0, 16.0, LEAST_CELL];

/// Width and height of a view with cavities of a width.
pub(super) fn size(rows: &[Vec<PinId>], cell: f64) -> Size {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0) as f64;
    let along = |count: f64, one: f64| count * (one + BETWEEN) - BETWEEN + 2.0 * WALL;
    Size::new(along(columns, cell), along(rows.len() as f64, CELL.height) + MODULE)
}

/// The width of a cavity in a view of a width.
pub(super) fn cell(rows: &[Vec<PinId>], view: f64) -> f64 {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(1).max(1) as f64;
    ((view - 2.0 * WALL + BETWEEN) / columns - BETWEEN).clamp(LEAST_CELL, CELL.width)
}

/// Cavities by row, as seen from the mating side: as the kind of part gives them, else in one or two rows.
pub(super) fn rows(model: &Model, connector: PartId) -> Vec<Vec<PinId>> {
    let part = model.part(connector);
    let given: Vec<usize> = part.form.rows.iter().map(|&n| usize::from(n)).filter(|&n| n > 0).collect();
    let count = part.pins.len();
    let lengths = match (given.iter().sum::<usize>() == count && count > 0, count) {
        (true, _) => given,
        (false, 0..=6) => vec![count],
        (false, _) => vec![count.div_ceil(2), count / 2],
    };
    let mut pins = part.pins.iter().copied();
    lengths.into_iter().map(|n| pins.by_ref().take(n).collect()).collect()
}

/// Whether the mating side is numbered from right to left. A kind's rows are given as one half is seen; where two
/// halves mate, cavity 1 meets cavity 1, so the other half's face is the mirror of the first one's.
pub(crate) fn mirrored(model: &Model, connector: PartId) -> bool {
    model.joints.iter().any(|joint| {
        let [a, b] = joint.pins.map(|pin| model.pin(pin).part);
        let other = if a == connector { b } else { a };
        (a == connector || b == connector) && model.part(other).kind == PartKind::Connector && other < connector
    })
}

/// The housing with its cavities, numbered from the left or from the right; the wire side is the mating side seen in a
/// mirror.
pub(super) fn housing(model: &Model, rows: &[Vec<PinId>], side: View, from_right: bool, area: Rect) -> ItemGroup {
    let body = Rect { top: area.top + MODULE, ..area };
    let kind = match side {
        View::Mating => "mating-side",
        View::Wires => "wire-side",
    };
    let mut group = ItemGroup { tag: Tag::kind(kind), items: Vec::new() };
    // A latch on top, so that up is up on both sides.
    let middle = area.centre().x;
    let latch = Rect::new(Point::new(middle - 4.0, area.top), Point::new(middle + 4.0, body.top));
    group.push(Path::rect(&latch).stroked(lines::symbol()).filled(TINT));
    group.push(Path::rounded(&body, 1.5).stroked(Stroke::solid(INK, lines::HEAVY)).filled(TINT));
    let size = Size::new(cell(rows, area.width()), CELL.height);
    let letters = colour_height(model, rows, size.width);
    for (r, row) in rows.iter().enumerate() {
        let width = row.len() as f64 * (size.width + BETWEEN) - BETWEEN;
        let left = middle - width / 2.0;
        for (c, &pin) in row.iter().enumerate() {
            let column = if from_right { row.len() - 1 - c } else { c } as f64;
            let top = body.top + WALL + (size.height + BETWEEN) * r as f64;
            let at = Point::new(left + (size.width + BETWEEN) * column, top);
            group.push(cavity(model, pin, Rect::sized(at, size), letters));
        }
    }
    group
}

/// A cavity: its number, the number and the colour letters of its wires, and their insulation; or what it gets if it is
/// empty.
fn cavity(model: &Model, pin: PinId, cell: Rect, letters: f64) -> ItemGroup {
    let wires = wires(model, pin);
    let name = model.pin_name(pin);
    let tag = Tag { part: None, ..Tag::pin(name.clone()) }.of_kind(if wires.is_empty() { "plug" } else { "cavity" });
    let mut group = ItemGroup { tag: tag.hovered(hover(model, pin, &wires)), items: Vec::new() };
    group.push(Path::rounded(&cell, 1.0).filled(PAPER));
    if wires.is_empty() {
        empty(&mut group, plug(model, model.pin(pin).part), &cell);
    }
    let share = cell.width() / wires.len().max(1) as f64;
    for (i, &wire) in wires.iter().enumerate() {
        let at = Point::new(cell.left + share * i as f64, cell.top + NUMBER);
        let area = Rect::sized(at, Size::new(share, cell.height() - NUMBER));
        group.push(wire_in(model, wire, &area, letters));
    }
    group.push(Path::rounded(&cell, 1.0).stroked(lines::symbol()));
    let number = lettering(model.pin(pin).name.as_str(), cell.width() - 1.0, true);
    let text = number.anchored(Anchor::Middle).moved_to(Point::new(cell.centre().x, 0.0));
    group.push(ItemGroup::of(Tag::label(name), [text.centred_on(cell.top + NUMBER / 2.0)]));
    group
}

/// The mark for a plug, or a dash for a cavity that stays empty.
fn empty(group: &mut ItemGroup, plug: Option<&str>, cell: &Rect) {
    let centre = Point::new(cell.centre().x, (cell.top + NUMBER + cell.bottom) / 2.0);
    let (radius, k) = (2.6, 2.6 * std::f64::consts::FRAC_1_SQRT_2);
    if plug.is_none() {
        group.push(Path::line(centre.by(-radius, 0.0), centre.by(radius, 0.0)).stroked(lines::fine()));
        return;
    }
    group.push(Path::circle(centre, radius).stroked(lines::fine()));
    for way in [1.0, -1.0] {
        group.push(Path::line(centre.by(-k, -k * way), centre.by(k, k * way)).stroked(lines::fine()));
    }
}

/// A wire in its share of a cavity: its insulation, its number, its colour in letters.
fn wire_in(model: &Model, id: WireId, area: &Rect, letters: f64) -> ItemGroup {
    let wire = model.wire(id);
    let mut group = ItemGroup { tag: Tag::wire(wire.id.to_string()), items: Vec::new() };
    let patch = Rect { bottom: area.top + COLOUR, ..*area };
    swatch(model, id, &patch).into_iter().for_each(|path| group.push(path));
    let room = area.width() - BESIDE_TEXT;
    let line =
        |text: TextItem, y: f64| text.anchored(Anchor::Middle).moved_to(Point::new(area.centre().x, 0.0)).centred_on(y);
    let rest = area.bottom - patch.bottom;
    let mut words = ItemGroup { tag: Tag::label(wire.id.to_string()), items: Vec::new() };
    words.push(line(lettering(wire.id.as_str(), room, true), patch.bottom + rest * 0.28));
    if let Some(colour) = wire.colour {
        words.push(line(lettering_of(&colour.to_string(), room, false, letters), patch.bottom + rest * 0.74));
    }
    group.push(words);
    group
}

/// What stays free beside a text in a cavity.
const BESIDE_TEXT: f64 = 1.6;

/// One height for the colour letters of all cavities: the largest that has room in each.
fn colour_height(model: &Model, rows: &[Vec<PinId>], width: f64) -> f64 {
    let of_pin = |pin: &PinId| {
        let wires = wires(model, *pin);
        let room = width / wires.len().max(1) as f64 - BESIDE_TEXT;
        let colours = wires.into_iter().filter_map(|id| model.wire(id).colour);
        colours.map(|colour| largest(&colour.to_string(), room, false)).fold(LETTERING[0], f64::min)
    };
    rows.iter().flatten().map(of_pin).fold(LETTERING[0], f64::min)
}

/// The largest lettering in which a text has room.
fn largest(text: &str, room: f64, bold: bool) -> f64 {
    LETTERING.into_iter().find(|&height| font::width(text, height, bold) <= room).unwrap_or(LEAST_TEXT)
}

/// A text in the largest lettering that has room.
fn lettering(text: &str, room: f64, bold: bool) -> TextItem {
    lettering_of(text, room, bold, largest(text, room, bold))
}

/// A text of a height, narrowed to its room.
fn lettering_of(text: &str, room: f64, bold: bool, height: f64) -> TextItem {
    let item = TextItem::new(Point::default(), font::fitted(text, room, height, bold), height);
    if bold { item.bold() } else { item }
}

/// The insulation's colour with its tracer as a stripe across.
fn swatch(model: &Model, wire: WireId, patch: &Rect) -> Vec<Path> {
    let insulation = model.wire(wire).colour.and_then(|c| Insulation::of(&c.to_string()));
    let Some(insulation) = insulation else { return vec![Path::rect(patch).filled(FAINT)] };
    let mut paths = vec![Path::rect(patch).filled(insulation.base).stroked(lines::symbol())];
    if let Some(tracer) = insulation.tracer {
        let third = patch.height() / 3.0;
        let stripe = Rect { top: patch.top + third, bottom: patch.bottom - third, ..*patch };
        paths.push(Path::rect(&stripe.inflate(-lines::SYMBOL / 2.0)).filled(tracer));
    }
    paths
}

fn hover(model: &Model, pin: PinId, wires: &[WireId]) -> String {
    let cavity = &model.pin(pin).name;
    if wires.is_empty() {
        let plug = plug(model, model.pin(pin).part).map_or("stays empty".to_string(), |plug| format!("empty, {plug}"));
        return format!("Cavity {cavity}: {plug}");
    }
    let words = wires.iter().map(|&id| {
        let wire = model.wire(id);
        let colour = wire.colour.map_or(String::new(), |c| format!(" {c}"));
        format!("wire {}, {}{colour}, to {}", wire.id, wire.size(), other_end(model, pin, id))
    });
    format!("Cavity {cavity}: {}", words.collect::<Vec<_>>().join("; "))
}
