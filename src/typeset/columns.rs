//! Widths of the columns of tables.

use crate::blocks::{Block, Cell, Table, TableRow};
use crate::lines::extent;
use std::collections::BTreeMap;

/// Beside the texts of a cell, millimetres.
pub const PAD: f64 = 1.1;
/// Width of a column to write in, at least.
const BY_HAND: f64 = 15.0;
/// Width that the line along a chain takes.
pub const STOP: f64 = 4.0;

/// What a column takes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ColumnExtent {
    /// Its longest word.
    least: f64,
    /// Its longest text on one line.
    most: f64,
    /// Sum of the squares of its texts' widths, and how many there are: one long text among many short ones should not
    /// decide.
    squares: f64,
    texts: f64,
}

impl ColumnExtent {
    fn add(&mut self, other: Self) {
        self.least = self.least.max(other.least);
        self.most = self.most.max(other.most);
        self.squares += other.squares;
        self.texts += other.texts;
    }
    /// Its weight when the room beyond the least widths is shared out.
    fn weight(&self) -> f64 {
        ((self.squares / self.texts.max(1.0)).sqrt() - self.least).max(0.02 * self.most)
    }
}

/// What each column of each kind of table takes.
pub type Extents = BTreeMap<(String, usize), Vec<ColumnExtent>>;

/// The extents of all tables in these blocks; tables of one kind with as many columns share them.
pub fn extents(blocks: &[Block], into: &mut Extents) {
    for block in blocks {
        match block {
            Block::Table(table) => {
                let own = own_extents(table);
                let shared = into.entry(key(table)).or_insert_with(|| vec![ColumnExtent::default(); table.columns]);
                shared.iter_mut().zip(own).for_each(|(shared, own)| shared.add(own));
                let rows = table.bodies.iter().flat_map(|(rows, _)| rows);
                rows.flat_map(|row| &row.cells).for_each(|cell| extents(&cell.blocks, into));
            }
            Block::Items(items) => items.iter().for_each(|(_, blocks)| extents(blocks, into)),
            Block::Framed(_, blocks) | Block::Together(blocks) | Block::TwoColumns(blocks) => extents(blocks, into),
            _ => {}
        }
    }
}

/// What tables share their extents by.
pub fn key(table: &Table) -> (String, usize) {
    (table.kind.clone(), table.columns)
}

fn own_extents(table: &Table) -> Vec<ColumnExtent> {
    let mut widths = vec![ColumnExtent::default(); table.columns];
    let parts = [table.head.as_slice()].into_iter().chain(table.bodies.iter().map(|(rows, _)| rows.as_slice()));
    for rows in parts {
        for (at, cell) in placed(rows).into_iter().flatten().filter(|(_, cell)| cell.columns == 1) {
            let [least, most] = cell_extent(cell);
            widths[at].add(ColumnExtent { least, most, squares: most * most, texts: 1.0 });
        }
    }
    widths
}

/// The cells of each row with the number of their first column; cells that cover several rows move those below along.
pub fn placed(rows: &[TableRow]) -> Vec<Vec<(usize, &Cell)>> {
    let mut covered: Vec<usize> = Vec::new();
    let mut all = Vec::new();
    for row in rows {
        let mut at = 0;
        let mut placed = Vec::new();
        for cell in &row.cells {
            while covered.get(at).is_some_and(|&rows| rows > 0) {
                at += 1;
            }
            covered.resize(covered.len().max(at + cell.columns), 0);
            covered[at..at + cell.columns].iter_mut().for_each(|rows| *rows = cell.rows);
            placed.push((at, cell));
            at += cell.columns;
        }
        covered.iter_mut().for_each(|rows| *rows = rows.saturating_sub(1));
        all.push(placed);
    }
    all
}

fn cell_extent(cell: &Cell) -> [f64; 2] {
    let inside = cell.blocks.iter().map(block_extent).fold([0.0_f64; 2], |a, b| [a[0].max(b[0]), a[1].max(b[1])]);
    let more = 2.0 * PAD + if cell.stop { STOP } else { 0.0 };
    let least = if cell.by_hand { BY_HAND } else { 0.0 };
    inside.map(|width| (width + more).max(least))
}

fn block_extent(block: &Block) -> [f64; 2] {
    match block {
        Block::Text(atoms, _) => extent(atoms),
        Block::Items(items) => {
            let all = items.iter().flat_map(|(_, blocks)| blocks).map(block_extent);
            all.fold([0.0_f64; 2], |a, b| [a[0].max(b[0]), a[1].max(b[1])])
        }
        _ => [0.0; 2],
    }
}

/// The widths of columns that together take all of the room.
pub fn widths(columns: &[ColumnExtent], room: f64) -> Vec<f64> {
    let least: f64 = columns.iter().map(|column| column.least).sum();
    let most: f64 = columns.iter().map(|column| column.most).sum();
    if most <= 0.0 {
        return columns.iter().map(|_| room / columns.len().max(1) as f64).collect();
    }
    if most <= room {
        return columns.iter().map(|column| column.most * room / most).collect();
    }
    if least >= room {
        return narrowed(columns, room);
    }
    shared(columns, room - least)
}

/// The least width of each column, and the rest of the room shared out by weight; no column gets more than its longest
/// text takes.
fn shared(columns: &[ColumnExtent], left: f64) -> Vec<f64> {
    let mut widths: Vec<f64> = columns.iter().map(|column| column.least).collect();
    let mut left = left;
    // Each round fills at least one column, or is the last.
    for _ in 0..columns.len() {
        let open: Vec<usize> = (0..columns.len()).filter(|&i| columns[i].most - widths[i] > 1e-9).collect();
        let weights: f64 = open.iter().map(|&i| columns[i].weight()).sum();
        if left <= 1e-9 || weights <= 0.0 {
            break;
        }
        let unit = left / weights;
        for i in open {
            let more = (unit * columns[i].weight()).min(columns[i].most - widths[i]);
            widths[i] += more;
            left -= more;
        }
    }
    widths
}

/// No room for the longest word of each column: the widest columns give way first, down to one width.
fn narrowed(columns: &[ColumnExtent], room: f64) -> Vec<f64> {
    let mut sorted: Vec<f64> = columns.iter().map(|column| column.least).collect();
    sorted.sort_by(f64::total_cmp);
    let mut left = room;
    let mut cap = room;
    for (i, width) in sorted.iter().enumerate() {
        cap = left / (sorted.len() - i) as f64;
        if *width >= cap {
            break;
        }
        left -= width;
    }
    columns.iter().map(|column| column.least.min(cap)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_take_all_of_the_room_and_no_more() {
        let column = |least: f64, most: f64| ColumnExtent { least, most, squares: most * most, texts: 1.0 };
        let extents = [column(10.0, 12.0), column(20.0, 90.0), column(5.0, 5.0)];
        for room in [20.0, 35.0, 60.0, 107.0, 200.0] {
            let widths = widths(&extents, room);
            assert!((widths.iter().sum::<f64>() - room).abs() < 1e-9, "{room}: {widths:?}");
        }
        assert_eq!(widths(&extents, 20.0), [7.5, 7.5, 5.0], "the widest give way first");
    }
}
