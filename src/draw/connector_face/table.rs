//! The table beside a connector's views: the wire or plug of each cavity, and the terminals and seals of the connector.

use super::{other_end, plug, wires};
use crate::halves::has_pins;
use crate::shields;
use kit::colour::SOFT_INK;
use kit::font;
use kit::lines::{FINE, LABEL, SMALL};
use kit::scene::*;
use model::{Family, Model, PartId, half};

/// Headings of the columns.
const HEADINGS: [&str; 5] = ["cavity", "wire", "mm²", "colour", "to"];
/// From one line to the next, and from one column to the next.
const LINE: f64 = 4.6;
const BETWEEN: f64 = 2.6;
/// Widest cell and widest remark.
const CELL: f64 = 70.0;
const REMARK: f64 = 95.0;

/// What holds for every connector; on a sheet it stands once, at its foot.
pub(super) const OF_ALL: [&str; 2] = [
    "The housing's own keying and numbers take precedence.",
    "Two housings alike at one place need different keys or marks.",
];

/// Which remarks stand under a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Remarks {
    /// Those of the connector.
    Own,
    /// What holds for every connector as well.
    All,
}

/// The table within a width, its top left corner at the origin, and its size; `None` if its rows don't fit.
pub(super) fn drawn(model: &Model, connector: PartId, room: f64, wanted: Remarks) -> Option<(ItemGroup, Size)> {
    let (table, size) = below(model, connector, room, wanted);
    (size.width <= room).then_some((table, size))
}

/// The table, however wide its rows are; its remarks are broken to the width.
pub(super) fn below(model: &Model, connector: PartId, room: f64, wanted: Remarks) -> (ItemGroup, Size) {
    let rows = rows(model, connector);
    let mut group = ItemGroup { tag: Tag::kind("cavities"), items: Vec::new() };
    let mut lines: Vec<ItemGroup> = vec![ItemGroup { tag: Tag::label("cavities"), items: Vec::new() }; rows.len() + 1];
    let mut x = 0.0;
    for (column, heading) in HEADINGS.iter().enumerate() {
        let cells = rows.iter().map(|row| font::width(&row[column], LABEL, false));
        let width = cells.fold(font::width(heading, LABEL, true), f64::max);
        lines[0].push(TextItem::new(Point::new(x, LINE), *heading, LABEL).bold());
        for (i, row) in rows.iter().enumerate().filter(|(_, row)| !row[column].is_empty()) {
            lines[i + 1].push(TextItem::new(Point::new(x, LINE * (i as f64 + 2.2)), row[column].clone(), LABEL));
        }
        x += width + BETWEEN;
    }
    lines.into_iter().for_each(|line| group.push(line));
    let width = x - BETWEEN;
    let rule = Path::line(Point::new(0.0, LINE * 1.4), Point::new(width, LINE * 1.4));
    group.push(rule.stroked(Stroke::solid(SOFT_INK, FINE)));
    let (mut y, mut widest) = (LINE * (rows.len() as f64 + 2.6), width);
    let mut words = ItemGroup { tag: Tag::label("remarks"), items: Vec::new() };
    for line in remarks(model, connector, room, wanted) {
        let text = TextItem::new(Point::new(0.0, y), line, SMALL).coloured(SOFT_INK);
        widest = widest.max(text.bounds().right);
        words.push(text);
        y += LINE * 0.85;
    }
    group.push(words);
    (group, Size::new(widest, y - LINE * 0.85 + 1.0))
}

/// A row for each wire in a cavity, and for each empty cavity.
fn rows(model: &Model, connector: PartId) -> Vec<[String; 5]> {
    let part = model.part(connector);
    let mut rows = Vec::new();
    for &pin in &part.pins {
        let name = model.pin(pin).name.to_string();
        let wires = wires(model, pin);
        if wires.is_empty() {
            let what =
                plug(model, connector).map_or("stays empty".to_string(), |plug| font::fitted(plug, CELL, LABEL, false));
            rows.push([name.clone(), "–".into(), String::new(), String::new(), what]);
        }
        for id in wires {
            let wire = model.wire(id);
            let colour = wire.colour.map_or(String::new(), |c| c.to_string());
            let to = font::fitted(&other_end(model, pin, id), CELL, LABEL, false);
            let size = wire.size().trim_end_matches(" mm²").to_string();
            rows.push([name.clone(), wire.id.to_string(), size, colour, to]);
        }
    }
    rows
}

/// Whether a connector has pins or sockets: from its mate, from its kind, or from the part that it plugs into.
fn half_words(model: &Model, connector: PartId) -> String {
    let mate = model.joints.iter().find_map(|joint| {
        let [a, b] = joint.pins.map(|pin| model.pin(pin).part);
        (a == connector).then_some(b).or((b == connector).then_some(a))
    });
    match (half(model, connector), mate) {
        (Some(half), _) => half.words().to_string(),
        (None, _) if model.part(connector).form.family != Family::Connector => "as its standard gives it".to_string(),
        (None, Some(mate)) => {
            let terminals = if has_pins(model, connector, mate) { "pins" } else { "sockets" };
            let mate = &model.part(mate).name;
            format!("{terminals}, if the lead of {mate} is as usual: check its plug first")
        }
        (None, None) => "open: the spec has nothing that it mates with".to_string(),
    }
}

/// Terminal, pin or socket and seal of the connector, its shields and its note, then what holds for every connector.
fn remarks(model: &Model, connector: PartId, room: f64, wanted: Remarks) -> Vec<String> {
    let part = model.part(connector);
    let mut lines = Vec::new();
    if let Some(terminal) = &part.form.terminal {
        lines.push(format!("terminal: {}, for {} to {}", terminal.title.0, terminal.wire.0.low, terminal.wire.0.high));
        lines.push(format!("half: {}", half_words(model, connector)));
        let seal = terminal.seal.as_ref().map_or("none", |seal| &seal.0);
        lines.push(format!("seal: {seal}"));
    }
    for &pin in &part.pins {
        let shields = shields::words(model, pin);
        if !shields.is_empty() {
            lines.push(format!(
                "cavity {} also carries the {shields} (common practice, no source)",
                model.pin(pin).name
            ));
        }
    }
    lines.extend(part.note.as_ref().map(|note| format!("note: {note}")));
    if wanted == Remarks::All {
        lines.extend(OF_ALL.map(String::from));
    }
    lines.iter().flat_map(|line| font::wrapped(line, room.min(REMARK), SMALL, false)).collect()
}
