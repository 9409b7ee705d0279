//! Tables.

use super::blocks;
use super::runs::{TextRun, class};
use crate::blocks::{Block, Cell, Table, TableRow, TextSide};
use crate::letters::{CELL, DEEP, Letters};
use kit::colour::SOFT_INK;
use roxmltree::Node;

/// A table.
pub fn table(node: Node) -> Table {
    let part = |name: &'static str| node.children().filter(move |child| child.has_tag_name(name));
    let head: Vec<TableRow> = part("thead").flat_map(rows).collect();
    let direct = rows(node);
    let mut bodies: Vec<(Vec<TableRow>, bool)> = part("tbody").map(|body| (rows(body), class(body, "whole"))).collect();
    if !direct.is_empty() {
        bodies.insert(0, (direct, false));
    }
    let all = head.iter().chain(bodies.iter().flat_map(|(rows, _)| rows));
    let columns = all.map(|row| row.cells.iter().map(|cell| cell.columns).sum()).max().unwrap_or(0);
    // Tables with the same headings are of one kind.
    let kind = part("thead").map(|head| TextRun::of(head, CELL).plain()).collect();
    Table { kind, columns, head, bodies }
}

fn rows(part: Node) -> Vec<TableRow> {
    part.children().filter(|child| child.has_tag_name("tr")).map(row).collect()
}

fn row(node: Node) -> TableRow {
    let cells = node.children().filter(Node::is_element).map(|cell| self::cell(cell, node)).collect();
    TableRow { cells, shelf: class(node, "shelf"), tinted: class(node, "moments") }
}

fn cell(node: Node, row: Node) -> Cell {
    let count = |name: &str| node.attribute(name).and_then(|n| n.parse().ok()).unwrap_or(1);
    let figure = class(node, "figure");
    let side = match (figure, class(node, "tick")) {
        (true, _) => TextSide::Right,
        (false, true) => TextSide::Middle,
        (false, false) => TextSide::Left,
    };
    let letters = letters(node, row);
    let blocks = match figure || class(node, "shown") {
        true => vec![Block::Text(TextRun::whole(node, letters).atoms, side)],
        false => blocks(node, letters).into_iter().map(|block| on(block, side)).collect(),
    };
    let dead = node.ancestors().any(|other| class(other, "chain") && class(other, "dead"));
    let stop = class(node, "via") && !dead;
    Cell { blocks, columns: count("colspan"), rows: count("rowspan"), side, by_hand: class(node, "read"), stop }
}

fn on(block: Block, side: TextSide) -> Block {
    match block {
        Block::Text(atoms, _) => Block::Text(atoms, side),
        other => other,
    }
}

fn letters(node: Node, row: Node) -> Letters {
    let bold = node.has_tag_name("th") || class(node, "strong") || class(node, "pin") || class(row, "turn");
    let colour = if class(node, "soft") || class(row, "idle") {
        SOFT_INK
    } else if class(row, "shelf") || class(row, "turn") {
        DEEP
    } else {
        CELL.colour
    };
    Letters { bold, colour, ..CELL }
}
