//! The table of changes: a row for each picture that is left, a column for each picture that follows, and in the fields
//! the moves that do it.

use super::chart::Chart;
use kit::colour::{FAINT, SOFT_INK};
use kit::flow::SheetFlow;
use kit::font;
use kit::lines::{self, LABEL, NAME};
use kit::scene::*;

/// Height of a line, millimetres.
const LINE: f64 = 4.2;
/// Most moves named in a field.
const MOST_MOVES: usize = 8;
/// Widest line of a field, millimetres: the first at which all columns stand beside each other.
const FIELDS: [f64; 3] = [36.0, 30.0, 24.0];
/// Between columns, millimetres.
const GAP: f64 = 5.0;

/// Puts the table below the chart, its columns in as many blocks as the width asks for.
pub(super) fn put(chart: &Chart, flow: &mut SheetFlow, room: f64) {
    if chart.changes.is_empty() {
        return;
    }
    let mut tables = FIELDS.iter().map(|&field| Table::new(chart, field));
    let table = tables.find(|table| table.blocks(room).len() == 1).unwrap_or_else(|| Table::new(chart, FIELDS[0]));
    let blocks = table.blocks(room);
    let whole: f64 = blocks.iter().map(|columns| table.height(columns)).sum();
    // Prefer the whole table on a new sheet to dividing it.
    if !flow.fits(whole) && flow.would_fit(whole) {
        flow.next();
    }
    for (n, columns) in blocks.into_iter().enumerate() {
        let title = if n == 0 { "What changes the picture" } else { "What changes the picture, continued" };
        table.put(flow, title, &columns);
    }
}

struct Table<'a> {
    chart: &'a Chart,
    /// Width of the column of names.
    first: f64,
    /// Widths of the others.
    widths: Vec<f64>,
    /// The lines of every field, by the picture that is left and the picture that follows.
    fields: Vec<Vec<Vec<String>>>,
}

impl<'a> Table<'a> {
    fn new(chart: &'a Chart, field: f64) -> Self {
        let count = chart.bands.len();
        let fields: Vec<Vec<Vec<String>>> =
            (0..count).map(|from| (0..count).map(|to| moves(chart, from, to, field)).collect()).collect();
        let named = |band: usize| widest(&chart.bands[band].pictures, true);
        let width = |to: usize| fields.iter().map(|row| widest(&row[to], false)).fold(named(to), f64::max) + GAP;
        Self {
            first: (0..count).map(named).fold(20.0, f64::max) + GAP,
            widths: (0..count).map(width).collect(),
            fields,
            chart,
        }
    }

    /// Which columns stand beside each other.
    fn blocks(&self, room: f64) -> Vec<Vec<usize>> {
        let mut blocks: Vec<Vec<usize>> = vec![Vec::new()];
        let mut x = self.first;
        // A picture that nothing leads to has no column.
        for to in (0..self.widths.len()).filter(|&to| self.fields.iter().any(|row| !row[to].is_empty())) {
            if x + self.widths[to] > room && x > self.first {
                blocks.push(Vec::new());
                x = self.first;
            }
            x += self.widths[to];
            blocks.last_mut().into_iter().for_each(|block| block.push(to));
        }
        blocks
    }

    /// Lines of a row: of its fields or its name.
    fn lines(&self, from: usize, columns: &[usize]) -> usize {
        let fields = columns.iter().map(|&to| self.fields[from][to].len()).max().unwrap_or(0);
        if fields == 0 { 0 } else { fields.max(self.chart.bands[from].pictures.len()) }
    }

    /// About how high a block is.
    fn height(&self, columns: &[usize]) -> f64 {
        let rows = (0..self.fields.len()).map(|from| self.lines(from, columns)).filter(|&lines| lines > 0);
        6.0 + self.head("", columns, &vec![0.0; columns.len()], 0.0).1 + rows.map(height).sum::<f64>()
    }

    fn put(&self, flow: &mut SheetFlow, title: &str, columns: &[usize]) {
        let width = self.first + columns.iter().map(|&to| self.widths[to]).sum::<f64>();
        let xs: Vec<f64> =
            columns.iter().scan(self.first, |x, &to| Some(std::mem::replace(x, *x + self.widths[to]))).collect();
        let head = self.head(title, columns, &xs, width);
        let names = |band: usize| self.chart.bands[band].pictures.as_slice();
        let mut started = false;
        for (from, fields) in self.fields.iter().enumerate() {
            let lines = self.lines(from, columns);
            if lines == 0 {
                continue;
            }
            let height = height(lines);
            if !started || !flow.fits(height) {
                flow.gap(6.0);
                if started || !flow.fits(head.1 + height) {
                    flow.next();
                }
                flow.put(head.0.clone(), Size::new(width, head.1));
                started = true;
            }
            let mut items = cell(0.0, names(from), true);
            for (&to, &x) in columns.iter().zip(&xs) {
                items.extend(cell(x, &fields[to], false));
            }
            items.push(rule(width, height));
            flow.put(items, Size::new(width, height));
        }
    }

    /// Title and names of the columns, and their height.
    fn head(&self, title: &str, columns: &[usize], xs: &[f64], width: f64) -> (Vec<Item>, f64) {
        const TITLE: f64 = 6.6;
        let names = |band: usize| self.chart.bands[band].pictures.as_slice();
        let below = height(columns.iter().map(|&to| names(to).len()).max().unwrap_or(1));
        let corner = TextItem::new(Point::new(2.0, 4.4), "from, to", LABEL).coloured(SOFT_INK);
        let mut items: Vec<Item> = vec![corner.into()];
        columns.iter().zip(xs).for_each(|(&to, &x)| items.extend(cell(x, names(to), true)));
        items.push(rule(width, below));
        let mut items: Vec<Item> = items.into_iter().map(|item| item.moved(0.0, TITLE)).collect();
        items.push(heading(0.0, 4.0, title).into());
        (items, TITLE + below)
    }
}

fn height(lines: usize) -> f64 {
    LINE * lines.max(1) as f64 + 2.4
}

fn widest(lines: &[String], bold: bool) -> f64 {
    lines.iter().map(|line| font::width(line, LABEL, bold)).fold(0.0, f64::max)
}

/// A heading in bold.
pub(super) fn heading(x: f64, y: f64, text: &str) -> TextItem {
    TextItem::new(Point::new(x, y), text, NAME).bold()
}

fn rule(width: f64, y: f64) -> Item {
    Path::line(Point::new(0.0, y), Point::new(width, y)).stroked(Stroke::solid(FAINT, lines::FINE)).into()
}

fn cell(x: f64, lines: &[String], bold: bool) -> Vec<Item> {
    let line = |(i, line): (usize, &String)| {
        let text = TextItem::new(Point::new(x + 2.0, 4.4 + LINE * i as f64), line.clone(), LABEL);
        Item::from(if bold { text.bold() } else { text })
    };
    lines.iter().enumerate().map(line).collect()
}

/// The moves that lead from one band to another, the rarer ones only counted.
fn moves(chart: &Chart, from: usize, to: usize, field: f64) -> Vec<String> {
    let change = chart.changes.iter().find(|change| (change.from, change.to) == (from, to));
    let moves = change.map_or(&[][..], |change| change.moves.as_slice());
    let mut lines: Vec<String> = Vec::new();
    for words in moves.iter().take(MOST_MOVES) {
        let mut wrapped = font::wrapped(words, field, LABEL, false).into_iter();
        lines.extend(wrapped.next());
        lines.extend(wrapped.map(|rest| format!("   {rest}")));
    }
    if moves.len() > MOST_MOVES {
        lines.push(format!("and {} more", moves.len() - MOST_MOVES));
    }
    lines
}
