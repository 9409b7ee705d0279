//! Tables.

use super::blocks;
use super::runs::{Run, class};
use crate::blocks::{Block, Cell, Row, Side, Table};
use crate::letters::{CELL, DEEP, Letters};
use kit::colour::SOFT_INK;
use roxmltree::Node;

/// A table.
pub fn table(node: Node) -> Table {
    let part = |name: &'static str| node.children().filter(move |child| child.has_tag_name(name));
    let head: Vec<Row> = part("thead").flat_map(rows).collect();
    let bodies: Vec<(Vec<Row>, bool)> = part("tbody").map(|body| (rows(body), class(body, "whole"))).collect();
    let all = head.iter().chain(bodies.iter().flat_map(|(rows, _)| rows));
    let columns = all.map(|row| row.cells.iter().map(|cell| cell.columns).sum()).max().unwrap_or(0);
    Table { kind: node.attribute("class").unwrap_or_default().to_string(), columns, head, bodies }
}

fn rows(part: Node) -> Vec<Row> {
    part.children().filter(|child| child.has_tag_name("tr")).map(row).collect()
}

fn row(node: Node) -> Row {
    let cells = node.children().filter(Node::is_element).map(|cell| self::cell(cell, node)).collect();
    Row { cells, shelf: class(node, "shelf"), tinted: class(node, "moments") }
}

fn cell(node: Node, row: Node) -> Cell {
    let count = |name: &str| node.attribute(name).and_then(|n| n.parse().ok()).unwrap_or(1);
    let figure = class(node, "figure");
    let side = match (figure, class(node, "tick")) {
        (true, _) => Side::Right,
        (false, true) => Side::Middle,
        (false, false) => Side::Left,
    };
    let letters = letters(node, row);
    let blocks = match figure {
        true => vec![Block::Text(Run::whole(node, letters).atoms, side)],
        false => blocks(node, letters).into_iter().map(|block| on(block, side)).collect(),
    };
    let dead = node.ancestors().any(|other| class(other, "chain") && class(other, "dead"));
    let stop = class(node, "via") && !dead;
    Cell { blocks, columns: count("colspan"), rows: count("rowspan"), side, by_hand: class(node, "read"), stop }
}

fn on(block: Block, side: Side) -> Block {
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
