//! Connector faces: each connector from its mating side and from its wire side. A cavity shows its number and its wire:
//! number, colour letters, insulation. Cavities stand in a neutral grid, not at the places of a certain housing. A table beside the views lists the cavities.

mod packing;
mod table;
mod views;

use kit::colour::SOFT_INK;
use kit::font;
use kit::lines::{LABEL, NAME, SMALL};
use kit::scene::*;
use kit::sheet::{Sheet, Strip};
use model::{Model, PartId, PartKind, PinId, WireId};
use packing::{Spot, Stack};
use table::Remarks;
pub(super) use views::mirrored;
use views::{CELL_WIDTHS, View, cell, housing, rows, size};

/// Height of the line with a view's name.
const CAPTION: f64 = 6.0;
/// Between a view and the table, and between two connectors in a row.
const GAP: f64 = 7.0;
/// Between two rows of connectors.
const ROW_GAP: f64 = 5.0;
/// Between two views that stand beside each other.
const BETWEEN_VIEWS: f64 = 4.0;
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
    let (group, size) = beside(model, connector, ROOM, Remarks::All);
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

/// All connectors on as few sheets of a size (`Paper::A4.upright()`) as hold them; empty if the model has no connectors.
pub fn sheets(model: &Model, size: Size) -> Vec<Scene> {
    let connectors = connectors(model);
    if connectors.is_empty() {
        return Vec::new();
    }
    let note = table::OF_ALL.join(" ");
    let paper = Sheet::noted(size, &note);
    let room = paper.field.size();
    let half = (room.width - GAP) / 2.0;
    let wide: Vec<[Option<Drawn>; 1]> =
        connectors.iter().map(|&id| [Some(beside(model, id, room.width, Remarks::Own))]).collect();
    let narrow: Vec<[Option<Drawn>; 2]> =
        connectors.iter().map(|&id| Stack::BOTH.map(|stack| narrow(model, id, half, stack))).collect();
    let pages = packing::pages(&wide, &narrow, room);
    let count = pages.len();
    let sheet = |(i, page): (usize, Vec<Spot>)| {
        let drawn = |spot: &Spot| match spot.narrow {
            Some(stack) => narrow[spot.index][stack].as_ref(),
            None => wide[spot.index][0].as_ref(),
        };
        let placed: Vec<(Point, &Drawn)> = page.iter().filter_map(|spot| Some((spot.at, drawn(spot)?))).collect();
        let right = placed.iter().map(|(at, (_, size))| at.x + size.width).fold(0.0, f64::max);
        let bottom = placed.iter().map(|(at, (_, size))| at.y + size.height).fold(0.0, f64::max);
        let fits = right <= room.width + 1e-6 && bottom <= room.height + 1e-6;
        let sheet = if fits { paper.clone() } else { Sheet::around_noted(Size::new(right, bottom), &note) };
        let place = |(at, (group, _)): (Point, &Drawn)| {
            Item::from(group.clone()).moved(sheet.field.left + at.x, sheet.field.top + at.y)
        };
        let items = placed.into_iter().map(place).collect();
        let strip = Strip::of(&model.job.title, &model.job.revision, "Connector faces", [i + 1, count]);
        let names: Vec<String> = page.iter().map(|spot| model.part(connectors[spot.index]).name.to_string()).collect();
        sheet.scene(&strip, &format!("Both sides of {}.", names.join(", ")), items)
    };
    pages.into_iter().enumerate().map(sheet).collect()
}

/// A connector's name, views and table, its top left corner at the origin, and its size.
type Drawn = (ItemGroup, Size);

/// A connector with its table beside the views, within a width; below them if it doesn't fit.
fn beside(model: &Model, connector: PartId, room: f64, remarks: Remarks) -> Drawn {
    let rows = rows(model, connector);
    // Cavities as wide as leaves room for the table beside them, or else as wide as the sheet has room for.
    let beside = CELL_WIDTHS.iter().find_map(|&cell| {
        let view = size(&rows, cell);
        Some((view, table::drawn(model, connector, room - view.width - GAP, remarks)?))
    });
    let (view, table) = match beside {
        Some((view, table)) => (view, Some(table)),
        None => (size(&rows, cell(&rows, room)), None),
    };
    let (mut group, title) = begun(model, connector, room);
    let foot = add_views(&mut group, model, connector, &rows, view, Stack::Down).height;
    let (at, (table, wanted)) = match table {
        Some(table) => (Point::new(view.width + GAP, HEAD), table),
        None => (Point::new(0.0, foot + 3.0), table::below(model, connector, room, remarks)),
    };
    group.push(Item::from(table).moved(at.x, at.y));
    (group, Size::new(title.max(view.width).max(at.x + wanted.width), foot.max(at.y + wanted.height)))
}

/// A connector with its table below the views, which stand below or beside each other, within a width; `None` if it
/// doesn't fit.
fn narrow(model: &Model, connector: PartId, room: f64, stack: Stack) -> Option<Drawn> {
    let rows = rows(model, connector);
    let of_views = |cell: &&f64| match stack {
        Stack::Down => size(&rows, **cell).width,
        Stack::Across => 2.0 * size(&rows, **cell).width + BETWEEN_VIEWS,
    };
    let view = size(&rows, *CELL_WIDTHS.iter().find(|cell| of_views(cell) <= room)?);
    let (table, wanted) = table::drawn(model, connector, room, Remarks::Own)?;
    let (mut group, title) = begun(model, connector, room);
    let views = add_views(&mut group, model, connector, &rows, view, stack);
    group.push(Item::from(table).moved(0.0, views.height + 1.0));
    let width = title.max(views.width).max(wanted.width);
    (width <= room).then(|| (group, Size::new(width, views.height + 1.0 + wanted.height)))
}

/// The group of a connector with its heading, and the heading's width.
fn begun(model: &Model, connector: PartId, room: f64) -> (ItemGroup, f64) {
    let tag = Tag::part(model.part(connector).name.to_string()).of_kind("connector-face");
    let mut group = ItemGroup { tag, items: Vec::new() };
    let title = head(&mut group, model, connector, room);
    (group, title)
}

/// Adds both views of a size; returns how far right and down they reach.
fn add_views(
    group: &mut ItemGroup,
    model: &Model,
    connector: PartId,
    rows: &[Vec<PinId>],
    view: Size,
    stack: Stack,
) -> Size {
    let step = match stack {
        Stack::Down => Point::new(0.0, CAPTION + view.height + 3.0),
        Stack::Across => Point::new(view.width + BETWEEN_VIEWS, 0.0),
    };
    for (side, at) in [View::Mating, View::Wires].into_iter().zip([Point::default(), step]) {
        let at = at.by(0.0, HEAD);
        caption(group, side, at);
        let from_right = mirrored(model, connector) != (side == View::Wires);
        group.push(housing(model, rows, side, from_right, Rect::sized(at.by(0.0, CAPTION), view)));
    }
    Size::new(step.x + view.width, HEAD + step.y + CAPTION + view.height)
}

/// Name, place, mate and title; returns their width.
fn head(group: &mut ItemGroup, model: &Model, connector: PartId, room: f64) -> f64 {
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
    let title = TextItem::new(Point::new(0.0, 8.2), font::fitted(&part.title, room, SMALL, false), SMALL);
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
