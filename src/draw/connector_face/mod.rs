//! Connector faces: each connector from its mating side and from its wire side, cavities numbered, filled ones in the
//! colour of their insulation, empty ones marked for a plug, and a list of what is in them.

use kit::colour::{FAINT, INK, PAPER, SOFT_INK, TINT};
use kit::font;
use kit::insulation::Insulation;
use kit::lines::{self, LABEL, MODULE, NAME, SMALL};
use kit::scene::*;
use kit::sheet::{Sheet, Strip};
use model::{Model, PartId, PartKind, PinId, WireId};

/// A cavity's side, and the distance from one to the next.
const CELL: f64 = 9.0;
const PITCH: f64 = 10.5;
/// From the outermost cavities to the housing's edge.
const WALL: f64 = 2.5;
/// Height of the line with a view's name.
const CAPTION: f64 = 6.0;
/// Between two views, and between two connectors.
const GAP: f64 = 10.0;
/// From one line of the list to the next.
const LINE: f64 = 4.4;
/// Height of the connector's name and title.
const HEAD: f64 = 11.0;
/// Views wider than this stand one above the other.
const BROAD: f64 = 90.0;

/// From where a connector is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum View {
    Mating,
    Wires,
}

/// Every connector of a model, in the order of the spec.
pub fn connectors(model: &Model) -> Vec<PartId> {
    model.part_ids().filter(|&p| model.part(p).kind == PartKind::Connector).collect()
}

/// One connector alone, without a sheet's frame: for a page beside its pin list.
pub fn face(model: &Model, connector: PartId) -> Scene {
    let (group, size) = drawn(model, connector);
    let part = model.part(connector);
    let filled = part.pins.iter().filter(|&&pin| !wires(model, pin).is_empty()).count();
    let title = format!("Connector {}, both sides", part.name);
    let description = format!(
        "{}: {filled} of {} cavities filled. Mating side and wire side, and a list of the cavities.",
        part.title,
        part.pins.len()
    );
    let mut scene = Scene::new(Size::new(size.width + 4.0, size.height + 4.0), title, description);
    scene.push(Item::from(group).moved(2.0, 2.0));
    scene
}

/// All connectors on sheets of a size (`Paper::A4.upright()`), or with `None` on one sheet as big as it needs; empty
/// if the model has no connectors.
pub fn sheets(model: &Model, size: Option<Size>) -> Vec<Scene> {
    let drawings: Vec<(PartId, ItemGroup, Size)> = connectors(model)
        .into_iter()
        .map(|part| {
            let (group, size) = drawn(model, part);
            (part, group, size)
        })
        .collect();
    if drawings.is_empty() {
        return Vec::new();
    }
    let paper = size.map(Sheet::of);
    let widest = drawings.iter().map(|d| d.2.width).fold(0.0, f64::max);
    let tallest = drawings.iter().map(|d| d.2.height).fold(0.0, f64::max);
    let room = paper.as_ref().map_or(Size::new(widest.max(380.0), f64::INFINITY), |s| s.field.size());
    let room = Size::new(room.width.max(widest), room.height.max(tallest));
    let pages = flow(&drawings, room);
    let count = pages.len();
    pages
        .into_iter()
        .enumerate()
        .map(|(i, page)| {
            let (mut right, mut bottom) = (0.0f64, 0.0f64);
            for &(index, at) in &page {
                right = right.max(at.x + drawings[index].2.width);
                bottom = bottom.max(at.y + drawings[index].2.height);
            }
            let fits = |sheet: &Sheet| right <= sheet.field.width() + 1e-6 && bottom <= sheet.field.height() + 1e-6;
            let sheet = paper.clone().filter(fits).unwrap_or_else(|| Sheet::around(Size::new(right, bottom)));
            let place = |&(index, at): &(usize, Point)| {
                Item::from(drawings[index].1.clone()).moved(sheet.field.left + at.x, sheet.field.top + at.y)
            };
            let items = page.iter().map(place).collect();
            let strip = Strip {
                job: model.job.title.clone(),
                drawing: "Connector faces".into(),
                revision: model.job.revision.clone(),
                sheet: i + 1,
                sheets: count,
                scale: "not to scale".into(),
            };
            let names: Vec<String> = page.iter().map(|&(d, _)| model.part(drawings[d].0).name.to_string()).collect();
            sheet.scene(&strip, &format!("Both sides of {}.", names.join(", ")), items)
        })
        .collect()
}

/// Places of drawings on pages, row by row.
fn flow(drawings: &[(PartId, ItemGroup, Size)], room: Size) -> Vec<Vec<(usize, Point)>> {
    let mut pages: Vec<Vec<(usize, Point)>> = vec![Vec::new()];
    let (mut x, mut y, mut row) = (0.0, 0.0, 0.0f64);
    for (i, (_, _, size)) in drawings.iter().enumerate() {
        if x > 0.0 && x + size.width > room.width {
            (x, y, row) = (0.0, y + row + GAP, 0.0);
        }
        if y > 0.0 && y + size.height > room.height {
            pages.push(Vec::new());
            (x, y, row) = (0.0, 0.0, 0.0);
        }
        if let Some(page) = pages.last_mut() {
            page.push((i, Point::new(x, y)));
        }
        x += size.width + GAP;
        row = row.max(size.height);
    }
    pages
}

/// A connector's name, views and list, its top left corner at the origin, and its size.
fn drawn(model: &Model, connector: PartId) -> (ItemGroup, Size) {
    let part = model.part(connector);
    let rows = rows(model, connector);
    let mut group = ItemGroup { tag: Tag::part(part.name.to_string()).of_kind("connector-face"), items: Vec::new() };
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let view = Size::new(
        columns as f64 * PITCH - (PITCH - CELL) + 2.0 * WALL,
        rows.len() as f64 * PITCH - (PITCH - CELL) + 2.0 * WALL + MODULE,
    );
    let broad = view.width > BROAD;
    let list = list(model, connector);
    let list_width = list.iter().map(|l| font::width(l, LABEL, false)).fold(0.0, f64::max) + 6.0;
    let step = if broad { Point::new(0.0, view.height + CAPTION + 4.0) } else { Point::new(view.width + GAP, 0.0) };
    for (i, side) in [View::Mating, View::Wires].into_iter().enumerate() {
        let at = Point::new(step.x * i as f64, HEAD + step.y * i as f64);
        caption(&mut group, side, at);
        let from_right = mirrored(model, connector) != (side == View::Wires);
        group.push(housing(model, &rows, side, from_right, Rect::sized(at.by(0.0, CAPTION), view)));
    }
    let views = Size::new(step.x + view.width, HEAD + step.y + CAPTION + view.height);
    let foot = write_list(&mut group, &list, views.height + 5.5);
    let title = head(&mut group, model, connector);
    (group, Size::new(views.width.max(list_width).max(title).max(60.0), foot))
}

/// Name, place, mate and title; returns their width.
fn head(group: &mut ItemGroup, model: &Model, connector: PartId) -> f64 {
    let part = model.part(connector);
    let mate = model.joints.iter().find_map(|joint| {
        let [a, b] = joint.pins.map(|pin| model.pin(pin).part);
        (a == connector).then_some(b).or((b == connector).then_some(a))
    });
    let place = part.at.map(|_| model.place_name(part.at).to_string());
    let mate = mate.map(|other| match model.part(other).kind {
        PartKind::Connector => format!("mates with {}", model.part(other).name),
        _ => format!("on {}", model.part(other).name),
    });
    let name = TextItem::new(Point::new(0.0, 4.0), part.name.as_str(), NAME).bold();
    let after = name.bounds().right + 3.0;
    let about = [place, mate].into_iter().flatten().collect::<Vec<_>>().join(", ");
    let about = TextItem::new(Point::new(after, 4.0), about, SMALL).coloured(SOFT_INK);
    let title = TextItem::new(Point::new(0.0, 8.2), font::fitted(&part.title, 120.0, SMALL, false), SMALL);
    let width = about.bounds().right.max(title.bounds().right);
    group.push(ItemGroup::of(Tag::label(part.name.to_string()), [name, about, title]));
    width
}

fn caption(group: &mut ItemGroup, side: View, at: Point) {
    let words = match side {
        View::Mating => "mating side",
        View::Wires => "wire side",
    };
    let text = TextItem::new(at.by(0.0, CAPTION - 2.0), words, LABEL).bold();
    group.push(ItemGroup::of(Tag::label(words), [text]));
}

/// Cavities by row, as seen from the mating side: as the kind of part gives them, else in one or two rows.
fn rows(model: &Model, connector: PartId) -> Vec<Vec<PinId>> {
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

/// The wires in a cavity.
fn wires(model: &Model, cavity: PinId) -> Vec<WireId> {
    model.wires_on(cavity).collect()
}

/// Whether the mating side is numbered from right to left. A kind's rows are given as one half is seen; where two
/// halves mate, cavity 1 meets cavity 1, so the other half's face is the mirror of the first one's.
pub(super) fn mirrored(model: &Model, connector: PartId) -> bool {
    model.joints.iter().any(|joint| {
        let [a, b] = joint.pins.map(|pin| model.pin(pin).part);
        let other = if a == connector { b } else { a };
        (a == connector || b == connector) && model.part(other).kind == PartKind::Connector && other < connector
    })
}

/// The housing with its cavities, numbered from the left or from the right; the wire side is the mating side seen in a
/// mirror.
fn housing(model: &Model, rows: &[Vec<PinId>], side: View, from_right: bool, area: Rect) -> ItemGroup {
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
    for (r, row) in rows.iter().enumerate() {
        let width = row.len() as f64 * PITCH - (PITCH - CELL);
        let left = middle - width / 2.0;
        for (c, &pin) in row.iter().enumerate() {
            let column = if from_right { row.len() - 1 - c } else { c };
            let at = Point::new(left + PITCH * column as f64, body.top + WALL + PITCH * r as f64);
            group.push(cavity(model, pin, Rect::sized(at, Size::new(CELL, CELL))));
        }
    }
    group
}

/// A cavity: its number above, its wires' colours below, or the mark for a plug.
fn cavity(model: &Model, pin: PinId, cell: Rect) -> ItemGroup {
    let wires = wires(model, pin);
    let name = model.pin_name(pin);
    let tag = Tag { part: None, ..Tag::pin(name.clone()) }.of_kind(if wires.is_empty() { "plug" } else { "cavity" });
    let mut group = ItemGroup { tag: tag.hovered(hover(model, pin, &wires)), items: Vec::new() };
    group.push(Path::rounded(&cell, 1.0).filled(PAPER));
    let split = cell.top + 4.3;
    if wires.is_empty() {
        let centre = Point::new(cell.centre().x, (split + cell.bottom) / 2.0);
        let (radius, k) = (1.7, 1.7 * std::f64::consts::FRAC_1_SQRT_2);
        group.push(Path::circle(centre, radius).stroked(lines::fine()));
        for way in [1.0, -1.0] {
            group.push(Path::line(centre.by(-k, -k * way), centre.by(k, k * way)).stroked(lines::fine()));
        }
    }
    let share = cell.width() / wires.len().max(1) as f64;
    for (i, &wire) in wires.iter().enumerate() {
        let patch = Rect::sized(Point::new(cell.left + share * i as f64, split), Size::new(share, cell.bottom - split));
        group.push(ItemGroup::of(Tag::wire(model.wire(wire).id.to_string()), swatch(model, wire, &patch)));
    }
    group.push(Path::rounded(&cell, 1.0).stroked(lines::symbol()));
    let number = font::fitted(model.pin(pin).name.as_str(), CELL - 1.0, LABEL, true);
    let text = TextItem::new(Point::new(cell.centre().x, 0.0), number, LABEL).bold().anchored(Anchor::Middle);
    group.push(ItemGroup::of(Tag::label(name), [text.centred_on(cell.top + 2.3)]));
    group
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
    match wires {
        [] => format!("Cavity {cavity}: empty, plug it"),
        _ => format!(
            "Cavity {cavity}: {}",
            wires.iter().map(|&w| wire_words(model, pin, w)).collect::<Vec<_>>().join("; ")
        ),
    }
}

fn wire_words(model: &Model, pin: PinId, id: WireId) -> String {
    let wire = model.wire(id);
    let colour = wire.colour.map_or(String::new(), |c| format!(" {c}"));
    let other = wire.ends.into_iter().find(|&end| end != pin).unwrap_or(pin);
    format!("wire {}, {}{colour}, to {}", wire.id, wire.size(), model.pin_name(other))
}

/// A line for each cavity in use, one for the plugs, and what counts where the housing says otherwise.
fn list(model: &Model, connector: PartId) -> Vec<String> {
    let part = model.part(connector);
    let mut lines = Vec::new();
    for &pin in &part.pins {
        for wire in wires(model, pin) {
            lines.push(format!("{}: {}", model.pin(pin).name, wire_words(model, pin, wire)));
        }
    }
    let empty: Vec<&str> =
        part.pins.iter().filter(|&&p| wires(model, p).is_empty()).map(|&p| model.pin(p).name.as_str()).collect();
    if !empty.is_empty() {
        let plug = part.form.terminal.as_ref().and_then(|t| t.plug.as_ref()).map_or("plug", |p| p.0.as_str());
        let numbers = empty.join(", ");
        lines.extend(font::wrapped(&format!("Empty, {plug}: {numbers}"), 120.0, LABEL, false));
    }
    lines.push("If the housing is numbered differently, its own numbers take precedence.".into());
    lines
}

/// Writes the list below the views; returns where it ends.
fn write_list(group: &mut ItemGroup, list: &[String], top: f64) -> f64 {
    let mut label = ItemGroup { tag: Tag::label("cavities"), items: Vec::new() };
    for (i, line) in list.iter().enumerate() {
        label.push(TextItem::new(Point::new(0.0, top + LINE * i as f64), line.clone(), LABEL));
    }
    group.push(label);
    top + LINE * list.len() as f64 - LINE + 1.5
}
