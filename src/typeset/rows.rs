//! Sets the rows of tables.

use crate::blocks::{Cell, Table, TableRow};
use crate::columns::{PAD, STOP, placed};
use crate::flow::PageStrip;
use crate::letters::{CELL, DEEP, LEADING, RULE, TINT};
use crate::paint::{ground, rule, upright};
use kit::colour::PAPER;
use kit::path::{Path, Stroke};
use kit::scene::{Item, Point, Rect, Size};
use std::rc::Rc;

/// Above and below the texts of a cell, millimetres.
const ABOVE: f64 = 0.75;

/// How a table stands.
pub struct Grid<'a> {
    /// Width of each column.
    pub widths: &'a [f64],
    /// The highest that a row may be.
    pub limit: f64,
}

/// A cell with its strips.
struct SetCell<'a> {
    cell: &'a Cell,
    x: f64,
    width: f64,
    strips: Vec<PageStrip>,
}

impl SetCell<'_> {
    fn height(&self) -> f64 {
        self.strips.iter().map(|strip| strip.above + strip.height).sum()
    }
}

/// The strips of a table. `inside` sets the contents of a cell in a width.
pub fn table(table: &Table, grid: &Grid, inside: &mut dyn FnMut(&Cell, f64) -> Vec<PageStrip>) -> Vec<PageStrip> {
    let mut out = Vec::new();
    let head: Vec<PageStrip> = rows(&table.head, grid, inside).into_iter().map(|row| headed(row, grid)).collect();
    let repeated = head.first().cloned().map(Rc::new);
    out.extend(head.into_iter().map(|strip| PageStrip { keep: true, ..strip }));
    for (body, whole) in &table.bodies {
        let set = rows(body, grid, inside);
        let many = set.len();
        for (i, row) in set.into_iter().enumerate() {
            let keep = row.keep || (*whole && i + 1 < many);
            out.push(PageStrip { head: repeated.clone(), keep, ..row });
        }
    }
    if let Some(first) = out.first_mut() {
        first.above = 1.2;
    }
    if let Some(last) = out.last_mut() {
        last.keep = false;
    }
    out
}

fn headed(strip: PageStrip, grid: &Grid) -> PageStrip {
    let width: f64 = grid.widths.iter().sum();
    let area = Rect::sized(Point::default(), Size::new(width, strip.height));
    let mut items = vec![ground(&area, TINT)];
    items.extend(strip.items);
    items.push(rule(0.0, width, strip.height, DEEP, 0.35));
    PageStrip { items, ..strip }
}

fn rows(rows: &[TableRow], grid: &Grid, inside: &mut dyn FnMut(&Cell, f64) -> Vec<PageStrip>) -> Vec<PageStrip> {
    let mut out = Vec::new();
    let cells = placed(rows);
    let mut at = 0;
    while at < rows.len() {
        let covers = rows[at].cells.iter().map(|cell| cell.rows).max().unwrap_or(1).max(1).min(rows.len() - at);
        let set: Vec<Vec<SetCell>> = (at..at + covers).map(|i| set_row(&cells[i], grid, inside)).collect();
        let ends = [at == 0, at + covers == rows.len()];
        if covers == 1 {
            out.extend(sliced(&rows[at], set.into_iter().next().unwrap_or_default(), grid, ends));
        } else {
            out.push(joined(&set, grid));
        }
        at += covers;
    }
    out
}

fn set_row<'a>(
    cells: &[(usize, &'a Cell)],
    grid: &Grid,
    inside: &mut dyn FnMut(&Cell, f64) -> Vec<PageStrip>,
) -> Vec<SetCell<'a>> {
    let set = |&(at, cell): &(usize, &'a Cell)| {
        let before = at.min(grid.widths.len());
        let after = (at + cell.columns).min(grid.widths.len());
        let x: f64 = grid.widths[..before].iter().sum();
        let width: f64 = grid.widths[before..after].iter().sum();
        let less = 2.0 * PAD + if cell.stop { STOP } else { 0.0 };
        SetCell { cell, x, width, strips: inside(cell, (width - less).max(3.0)) }
    };
    cells.iter().map(set).collect()
}

/// The strips of a row: a row that is higher than a page is cut between lines.
fn sliced(row: &TableRow, mut cells: Vec<SetCell>, grid: &Grid, ends: [bool; 2]) -> Vec<PageStrip> {
    let mut slices = Vec::new();
    loop {
        let mut rest = Vec::new();
        for set in &mut cells {
            let mut high = 0.0;
            let fits = set.strips.iter().take_while(|strip| {
                high += strip.above + strip.height;
                high <= grid.limit
            });
            let fits = fits.count().max(1).min(set.strips.len());
            let strips = set.strips.split_off(fits);
            rest.push(SetCell { cell: set.cell, x: set.x, width: set.width, strips });
        }
        let done = rest.iter().all(|set| set.strips.is_empty());
        slices.push(one_row(row, &cells, grid, ends));
        if done {
            return slices;
        }
        cells = rest;
    }
}

fn one_row(row: &TableRow, cells: &[SetCell], grid: &Grid, [first, last]: [bool; 2]) -> PageStrip {
    let line = LEADING * CELL.size;
    let height = cells.iter().map(SetCell::height).fold(line, f64::max) + 2.0 * ABOVE;
    let width: f64 = grid.widths.iter().sum();
    let mut strip =
        PageStrip { height, keep: row.shelf, above: if row.shelf { 2.2 } else { 0.0 }, ..PageStrip::default() };
    if row.tinted {
        strip.items.push(ground(&Rect::sized(Point::default(), Size::new(width, height)), TINT));
    }
    let (colour, thick) = if row.shelf { (DEEP, 0.35) } else { (RULE, 0.2) };
    strip.items.push(rule(0.0, width, height, colour, thick));
    for set in cells {
        if set.cell.by_hand {
            strip.items.push(upright(set.x, 0.6, height - 0.6, RULE, 0.2));
        }
        if set.cell.stop {
            strip.items.extend(stop(set.x + PAD + 1.2, height, [first, last]));
        }
        fill(&mut strip, set, ABOVE);
    }
    strip
}

/// A stop on the line along a chain.
fn stop(x: f64, height: f64, [first, last]: [bool; 2]) -> Vec<Item> {
    let y = ABOVE + LEADING * CELL.size / 2.0;
    let line = upright(x, if first { y } else { 0.0 }, if last { y } else { height }, DEEP, 0.7);
    let dot = Path::circle(Point::new(x, y), 0.85).filled(PAPER).stroked(Stroke::solid(DEEP, 0.7));
    vec![line, dot.into()]
}

/// The contents of a cell into a row, from `y` on.
fn fill(strip: &mut PageStrip, set: &SetCell, mut y: f64) {
    let x = set.x + PAD + if set.cell.stop { STOP } else { 0.0 };
    for inner in &set.strips {
        y += inner.above;
        let moved = inner.clone().moved(x, y);
        strip.items.extend(moved.items);
        strip.links.extend(moved.links);
        y += inner.height;
    }
}

/// Rows that some cells cover together, as one strip.
fn joined(rows: &[Vec<SetCell>], grid: &Grid) -> PageStrip {
    let line = LEADING * CELL.size;
    let mut heights: Vec<f64> = rows
        .iter()
        .map(|row| row.iter().filter(|set| set.cell.rows == 1).map(SetCell::height).fold(line, f64::max) + 2.0 * ABOVE)
        .collect();
    let across = rows.iter().flatten().filter(|set| set.cell.rows > 1).map(SetCell::height).fold(0.0, f64::max);
    let missing = across + 2.0 * ABOVE - heights.iter().sum::<f64>();
    if let (Some(last), true) = (heights.last_mut(), missing > 0.0) {
        *last += missing;
    }
    let width: f64 = grid.widths.iter().sum();
    let mut strip = PageStrip { height: heights.iter().sum(), ..PageStrip::default() };
    let mut y = 0.0;
    for (row, height) in rows.iter().zip(&heights) {
        let from = row.iter().map(|set| set.x).fold(width, f64::min);
        row.iter().for_each(|set| fill(&mut strip, set, y + ABOVE));
        if y > 0.0 {
            strip.items.push(rule(from, width, y, RULE, 0.2));
        }
        y += height;
    }
    strip.items.push(rule(0.0, width, y, RULE, 0.2));
    strip
}
