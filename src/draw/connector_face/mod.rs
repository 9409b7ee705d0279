//! Connector faces: each connector from its mating side and from its wire side. A cavity shows its number and its wire:
//! number, colour letters, insulation. Cavities stand in a neutral grid, not at the places of a certain housing. A table beside the views lists the cavities.

mod table;
mod views;

use kit::colour::SOFT_INK;
use kit::font;
use kit::lines::{LABEL, NAME, SMALL};
use kit::scene::*;
use kit::sheet::{Sheet, Strip};
use model::{Model, PartId, PartKind, PinId, WireId};
pub(super) use views::mirrored;
use views::{CELL_WIDTHS, View, cell, housing, rows, size};

/// Height of the line with a view's name.
const CAPTION: f64 = 6.0;
/// Between a view and the table, and between two connectors.
const GAP: f64 = 7.0;
/// Height of the connector's name and title.
const HEAD: f64 = 11.0;
/// Width of the field of an upright A4 sheet. A table that doesn't fit beside the views stands below them.
const ROOM: f64 = 178.0;

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
            let strip = Strip::of(&model.job.title, &model.job.revision, "Connector faces", [i + 1, count]);
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

/// A connector's name, views and table, its top left corner at the origin, and its size.
fn drawn(model: &Model, connector: PartId) -> (ItemGroup, Size) {
    let part = model.part(connector);
    let rows = rows(model, connector);
    let mut group = ItemGroup { tag: Tag::part(part.name.to_string()).of_kind("connector-face"), items: Vec::new() };
    // Cavities as wide as leaves room for the table beside them, or else as wide as the sheet has room for.
    let beside = CELL_WIDTHS.iter().find_map(|&cell| {
        let view = size(&rows, cell);
        Some((view, table::drawn(model, connector, ROOM - view.width - GAP)?))
    });
    let (view, beside) = match beside {
        Some((view, table)) => (view, Some(table)),
        None => (size(&rows, cell(&rows, ROOM)), None),
    };
    let title = head(&mut group, model, connector);
    for (i, side) in [View::Mating, View::Wires].into_iter().enumerate() {
        let at = Point::new(0.0, HEAD + (CAPTION + view.height + 3.0) * i as f64);
        caption(&mut group, side, at);
        let from_right = mirrored(model, connector) != (side == View::Wires);
        group.push(housing(model, &rows, side, from_right, Rect::sized(at.by(0.0, CAPTION), view)));
    }
    let foot = HEAD + 2.0 * (CAPTION + view.height) + 3.0;
    let (at, (table, wanted)) = match beside {
        Some(table) => (Point::new(view.width + GAP, HEAD), table),
        None => (Point::new(0.0, foot + 3.0), table::below(model, connector, ROOM)),
    };
    group.push(Item::from(table).moved(at.x, at.y));
    (group, Size::new(title.max(view.width).max(at.x + wanted.width), foot.max(at.y + wanted.height)))
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
    // No kind of part says where in its housing a cavity is, only how many are in each row.
    let grid = Some("neutral grid".to_string());
    let about = [place, mate, grid].into_iter().flatten().collect::<Vec<_>>().join(", ");
    let about = TextItem::new(Point::new(after, 4.0), about, SMALL).coloured(SOFT_INK);
    let title = TextItem::new(Point::new(0.0, 8.2), font::fitted(&part.title, ROOM, SMALL, false), SMALL);
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

/// The wires in a cavity.
fn wires(model: &Model, cavity: PinId) -> Vec<WireId> {
    model.wires_on(cavity).collect()
}

/// What an empty cavity of a connector gets, if anything.
fn plug(model: &Model, connector: PartId) -> Option<&str> {
    model.part(connector).form.terminal.as_ref()?.plug.as_ref().map(|plug| plug.0.as_str())
}

/// What is at the other end of a wire.
fn other_end(model: &Model, pin: PinId, wire: WireId) -> String {
    let other = model.wire(wire).ends.into_iter().find(|&end| end != pin).unwrap_or(pin);
    model.pin_name(other)
}
