//! The chart on paper.

use super::{Band, Chart, Line};
use crate::draw::colour::{ALERT, FAINT, INK, PAPER, SOFT_INK, TINT};
use crate::draw::font;
use crate::draw::lines::{self, LABEL, NAME};
use crate::draw::scene::*;

/// Height of a line, millimetres.
const ROW: f64 = 5.6;
/// Least width of a column, millimetres.
const COLUMN: f64 = 6.4;
/// Longest heading, millimetres.
const HEADING: f64 = 48.0;
/// Between bands, millimetres.
const BAND_GAP: f64 = 1.6;
/// Between groups of columns, millimetres.
const GROUP_GAP: f64 = 4.0;
/// Radius of a mark, millimetres.
const MARK: f64 = 1.35;
/// Least width of the chart, millimetres.
const LEAST_WIDTH: f64 = 150.0;
/// Moves told in a field of the table of changes.
const MOST_MOVES: usize = 4;

/// What is in a column.
enum Content {
    /// An input, with the words of its positions.
    Input(usize, Vec<String>),
    Memory(usize),
    Relay(usize),
}

struct Column {
    heading: String,
    content: Content,
    x: f64,
    width: f64,
}

/// Everything on the chart, its top left corner at the origin, and its extent.
pub(super) fn items(chart: &Chart) -> (Vec<Item>, Size) {
    let picture_width = band_width(chart);
    let columns = columns(chart, picture_width + GROUP_GAP);
    let end = columns.last().map_or(picture_width, |c| c.x + c.width) + GROUP_GAP;
    let mut items: Vec<Item> = Vec::new();
    let heads = columns.iter().map(|c| font::width(&c.heading, LABEL, false)).fold(10.0, f64::max) + 4.0;
    items.push(heading(0.0, heads - 2.0, "On the screen").into());
    for column in &columns {
        let at = Point::new(column.x + column.width / 2.0, heads - 2.5);
        let text = Text::new(at, column.heading.clone(), LABEL).up();
        items.push(Group::of(Tag::label("column"), [text.centred_on(at.x)]).into());
    }
    items.push(heading(end, heads - 2.0, "As meant?").into());
    let remark = chart.bands.iter().flat_map(|b| &b.lines).map(|l| font::width(&remark(chart, l), LABEL, true));
    let width = (end + remark.fold(font::width("As meant?", NAME, true), f64::max) + 8.0).max(LEAST_WIDTH);
    let mut y = heads;
    for (i, band) in chart.bands.iter().enumerate() {
        let height = band_height(band);
        let ground = Rect::sized(Point::new(0.0, y), Size::new(width, height));
        items.push(Path::rect(&ground).filled(if i % 2 == 0 { TINT } else { PAPER }).into());
        items.push(band_label(band, y, height, picture_width).into());
        for (n, line) in band.lines.iter().enumerate() {
            items.push(line_group(chart, line, &columns, y + ROW * (n as f64 + 0.5), end).into());
        }
        y += height + BAND_GAP;
    }
    for line in key(chart).iter().flat_map(|line| font::wrapped(line, width, LABEL, false)) {
        y += 5.0;
        items.push(Text::new(Point::new(0.0, y), line, LABEL).coloured(SOFT_INK).into());
    }
    y += 6.0;
    let (below, size) = changes(chart, y);
    items.extend(below);
    (items, Size::new(width.max(size.width), y + size.height))
}

fn heading(x: f64, y: f64, text: &str) -> Text {
    Text::new(Point::new(x, y), text, NAME).bold()
}

fn band_width(chart: &Chart) -> f64 {
    let words = chart.bands.iter().flat_map(|band| &band.pictures);
    words.map(|words| font::width(words, NAME, true)).fold(font::width("On the screen", NAME, true), f64::max) + 4.0
}

fn columns(chart: &Chart, left: f64) -> Vec<Column> {
    let mut columns: Vec<Column> = Vec::new();
    let mut x = left;
    let mut add = |heading: &str, content: Content, gap: f64| {
        let words = match &content {
            Content::Input(_, words) if words.len() > 2 => {
                words.iter().map(|w| font::width(w, LABEL, false)).fold(0.0, f64::max) + 2.0
            }
            _ => 0.0,
        };
        let width = words.max(COLUMN);
        x += gap;
        columns.push(Column { heading: font::fitted(heading, HEADING, LABEL, false), content, x, width });
        x += width;
    };
    for (i, (heading, words)) in chart.inputs.iter().enumerate() {
        add(heading, Content::Input(i, words.clone()), 0.0);
    }
    for (i, heading) in chart.memory.iter().enumerate() {
        add(&format!("{heading} remembers"), Content::Memory(i), if i == 0 { GROUP_GAP } else { 0.0 });
    }
    for (i, heading) in chart.relays.iter().enumerate() {
        add(&format!("{heading} in"), Content::Relay(i), if i == 0 { GROUP_GAP } else { 0.0 });
    }
    columns
}

fn band_height(band: &Band) -> f64 {
    ROW * band.lines.len().max(band.pictures.len()) as f64
}

fn band_label(band: &Band, top: f64, height: f64, width: f64) -> Group {
    let mut group = Group { tag: Tag::label("band").with("pictures", band.pictures.join("; ")), items: Vec::new() };
    for (i, words) in band.pictures.iter().enumerate() {
        let at = Point::new(2.0, top + ROW * (i as f64 + 0.5));
        group.push(Text::new(at, words.clone(), NAME).bold().centred_on(at.y));
    }
    let line = Path::line(Point::new(width, top), Point::new(width, top + height));
    group.push(line.stroked(Stroke::solid(FAINT, lines::FINE)));
    group
}

fn line_group(chart: &Chart, line: &Line, columns: &[Column], y: f64, end: f64) -> Group {
    let mut group = Group { tag: Tag::kind("state").with("states", line.states.to_string()), items: Vec::new() };
    for column in columns {
        let at = Point::new(column.x + column.width / 2.0, y);
        match &column.content {
            Content::Input(i, words) => match line.inputs[*i] {
                None => group.push(dash(at)),
                Some(position) if words.len() > 2 => {
                    let text = Text::new(at, words[position].clone(), LABEL).anchored(Anchor::Middle);
                    group.push(if position == 0 { text.coloured(SOFT_INK) } else { text.bold() }.centred_on(y));
                }
                Some(position) => group.push(dot(at, position > 0)),
            },
            Content::Memory(i) => match line.memory[*i] {
                None => group.push(dash(at)),
                Some(on) => group.push(square(at, Some(on))),
            },
            Content::Relay(i) => group.push(square(at, line.relays[*i])),
        }
    }
    let remark = remark(chart, line);
    let text = Text::new(Point::new(end, y), remark, LABEL);
    let text = if line.wanted.is_empty() { text.coloured(SOFT_INK) } else { text.coloured(ALERT).bold() };
    group.push(text.centred_on(y));
    group
}

/// What is said at the end of a line.
fn remark(chart: &Chart, line: &Line) -> String {
    let mut words =
        if line.wanted.is_empty() { "yes".to_string() } else { format!("no, should be {}", line.wanted.join(", ")) };
    if line.passing {
        words.push_str(", passes by itself");
    }
    if chart.folded && line.states > 1 {
        words.push_str(&format!(" ({} states)", line.states));
    }
    words
}

/// An input away from rest, or at rest.
fn dot(at: Point, on: bool) -> Path {
    match on {
        true => Path::circle(at, MARK).filled(INK),
        false => Path::circle(at, MARK * 0.55).stroked(Stroke::solid(SOFT_INK, lines::THIN)),
    }
}

/// Any position.
fn dash(at: Point) -> Path {
    Path::line(at.by(-1.3, 0.0), at.by(1.3, 0.0)).stroked(Stroke::solid(SOFT_INK, lines::SYMBOL))
}

/// A relay that is in, out, or (none) in in some of the states.
fn square(at: Point, on: Option<bool>) -> Path {
    let whole = Rect::centred(at, Size::new(2.4, 2.4));
    match on {
        Some(true) => Path::rect(&whole).filled(INK),
        Some(false) => Path::rect(&whole.inflate(-0.6)).stroked(Stroke::solid(SOFT_INK, lines::THIN)),
        None => {
            let corner = |x, y| Point::new(x, y);
            let half =
                [corner(whole.left, whole.bottom), corner(whole.right, whole.bottom), corner(whole.left, whole.top)];
            Path::polygon(&half).filled(INK)
        }
    }
}

fn key(chart: &Chart) -> Vec<String> {
    let mut lines = vec![
        "Filled: input away from rest, relay in. Small and open: at rest, out. Half a square: in some of the states. Dash: any."
            .to_string(),
    ];
    if chart.folded {
        lines.push(format!("{} states, folded: a line stands for all states that it fits.", chart.states));
    }
    if chart.cut_short {
        lines.push(format!("There are more states than these {}.", chart.states));
    }
    lines
}

/// Height of a line in the table of changes, millimetres.
const TABLE_LINE: f64 = 4.2;

/// From what to what, and by which move: a table with a line for each picture that is left and a column for each that is
/// come to.
fn changes(chart: &Chart, top: f64) -> (Vec<Item>, Size) {
    if chart.changes.is_empty() {
        return (Vec::new(), Size::new(0.0, 0.0));
    }
    let count = chart.bands.len();
    let names = |band: usize| chart.bands[band].pictures.as_slice();
    let name_width = |band: usize| names(band).iter().map(|name| font::width(name, LABEL, true)).fold(0.0, f64::max);
    let widths: Vec<f64> = (0..count)
        .map(|to| {
            let words = (0..count).flat_map(|from| moves(chart, from, to)).map(|line| font::width(&line, LABEL, false));
            words.fold(name_width(to), f64::max) + 5.0
        })
        .collect();
    let first = (0..count).map(name_width).fold(20.0, f64::max) + 5.0;
    let xs: Vec<f64> = widths.iter().scan(first, |x, width| Some(std::mem::replace(x, *x + width))).collect();
    let width = first + widths.iter().sum::<f64>();
    let mut items: Vec<Item> = vec![heading(0.0, top + 4.0, "What changes the picture").into()];
    let mut y = top + 6.6;
    let rule = |y: f64| Path::line(Point::new(0.0, y), Point::new(width, y)).stroked(Stroke::solid(FAINT, lines::FINE));
    let cell = |items: &mut Vec<Item>, x: f64, y: f64, lines: &[String], bold: bool| {
        for (i, line) in lines.iter().enumerate() {
            let text = Text::new(Point::new(x + 2.0, y + 4.4 + TABLE_LINE * i as f64), line.clone(), LABEL);
            items.push(if bold { text.bold() } else { text }.into());
        }
    };
    let height = |lines: usize| TABLE_LINE * lines.max(1) as f64 + 2.4;
    items.push(Text::new(Point::new(2.0, y + 4.4), "from, to", LABEL).coloured(SOFT_INK).into());
    (0..count).for_each(|to| cell(&mut items, xs[to], y, names(to), true));
    y += height((0..count).map(|band| names(band).len()).max().unwrap_or(1));
    items.push(rule(y).into());
    for from in 0..count {
        let cells: Vec<Vec<String>> = (0..count).map(|to| moves(chart, from, to)).collect();
        cell(&mut items, 0.0, y, names(from), true);
        cells.iter().zip(&xs).for_each(|(lines, &x)| cell(&mut items, x, y, lines, false));
        y += height(cells.iter().map(Vec::len).max().unwrap_or(1).max(names(from).len()));
        items.push(rule(y).into());
    }
    (items, Size::new(width, y - top + 2.0))
}

/// The moves that lead from one band to another, the rarer ones only counted.
fn moves(chart: &Chart, from: usize, to: usize) -> Vec<String> {
    let change = chart.changes.iter().find(|change| (change.from, change.to) == (from, to));
    let moves = change.map_or(&[][..], |change| change.moves.as_slice());
    let mut lines: Vec<String> = moves.iter().take(MOST_MOVES).cloned().collect();
    if moves.len() > MOST_MOVES {
        lines.push(format!("and {} more", moves.len() - MOST_MOVES));
    }
    lines
}
