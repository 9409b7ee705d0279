//! The chart on paper.

use super::change_table::{self, heading};
use super::chart::Chart;
use super::picture_bands::{Band, Line};
use kit::colour::{ALERT, FAINT, INK, PAPER, SOFT_INK, TINT};
use kit::flow::SheetFlow;
use kit::font;
use kit::lines::{self, LABEL, NAME};
use kit::scene::*;

/// Height of a line, millimetres.
const ROW: f64 = 5.6;
/// Minimum width of a column, millimetres.
const COLUMN: f64 = 6.4;
/// Longest heading, millimetres.
const HEADING: f64 = 72.0;
/// Between bands, millimetres.
const BAND_GAP: f64 = 1.6;
/// Between groups of columns, millimetres.
const GROUP_GAP: f64 = 4.0;
/// Radius of a mark, millimetres.
const MARK: f64 = 1.35;
/// Minimum width of the chart, millimetres.
const LEAST_WIDTH: f64 = 150.0;
/// Widest line of the words below it, millimetres.
const KEY_WIDTH: f64 = 180.0;

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

/// The columns that stand beside each other on a sheet.
struct Part {
    /// Room for what is on the screens.
    picture_width: f64,
    columns: Vec<Column>,
    /// Where the remarks begin.
    end: f64,
    width: f64,
    /// Height of the headings.
    heads: f64,
}

/// Puts everything on sheets no larger than the room, each with its extent.
pub(super) fn sheets(chart: &Chart, room: Size) -> Vec<(Vec<Item>, Size)> {
    let mut flow = SheetFlow::new(room.height);
    for part in parts(chart, room.width) {
        flow.next();
        flow.put(part.headings(), Size::new(part.width, part.heads));
        chart.bands.iter().enumerate().for_each(|(i, band)| put_band(&mut flow, chart, &part, (i, band)));
    }
    let key: Vec<String> =
        key(chart).iter().flat_map(|line| font::wrapped(line, room.width.min(KEY_WIDTH), LABEL, false)).collect();
    let height = 5.0 * key.len() as f64;
    if !flow.fits(height + 2.0) {
        flow.next();
    }
    flow.put([], Size::new(0.0, 2.0));
    let line = |(i, line): (usize, String)| {
        let at = Point::new(0.0, 3.0 + 5.0 * i as f64);
        (TextItem::new(at, line, LABEL).coloured(SOFT_INK)).into()
    };
    flow.put(key.into_iter().enumerate().map(line), Size::new(KEY_WIDTH.min(room.width), height));
    change_table::put(chart, &mut flow, room.width);
    flow.finish()
}

/// How wide the whole chart is.
pub(super) fn width(chart: &Chart) -> f64 {
    parts(chart, f64::INFINITY).iter().map(|part| part.width).fold(0.0, f64::max)
}

/// Shares the columns out so that each part is no wider than the room.
fn parts(chart: &Chart, room: f64) -> Vec<Part> {
    let picture_width = band_width(chart);
    let left = picture_width + GROUP_GAP;
    let remarks = chart.bands.iter().flat_map(|b| &b.lines).map(|l| font::width(&remark(chart, l), LABEL, true));
    let remarks = remarks.fold(font::width("As intended?", NAME, true), f64::max) + GROUP_GAP + 8.0;
    let mut shares: Vec<Vec<Column>> = vec![Vec::new()];
    let mut shift = 0.0;
    for mut column in columns(chart, left) {
        if column.x - shift + column.width + remarks > room && shares.last().is_some_and(|share| !share.is_empty()) {
            shift = column.x - left;
            shares.push(Vec::new());
        }
        column.x -= shift;
        if let Some(share) = shares.last_mut() {
            share.push(column);
        }
    }
    let part = |columns: Vec<Column>| {
        let end = columns.last().map_or(picture_width, |c| c.x + c.width) + GROUP_GAP;
        let heads = columns.iter().map(|c| font::width(&c.heading, LABEL, false)).fold(10.0, f64::max) + 4.0;
        Part { picture_width, end, width: (end + remarks - GROUP_GAP).max(LEAST_WIDTH), heads, columns }
    };
    shares.into_iter().map(part).collect()
}

impl Part {
    fn headings(&self) -> Vec<Item> {
        let mut items: Vec<Item> = vec![heading(0.0, self.heads - 2.0, "On the screen").into()];
        for column in &self.columns {
            let at = Point::new(column.x + column.width / 2.0, self.heads - 2.5);
            let text = TextItem::new(at, column.heading.clone(), LABEL).up();
            items.push(ItemGroup::of(Tag::label("column"), [text.centred_on(at.x)]).into());
        }
        items.push(heading(self.end, self.heads - 2.0, "As intended?").into());
        items
    }
}

/// A band, or as much of it as the sheet holds and the rest on the next ones, each time with what is on the screens.
fn put_band(flow: &mut SheetFlow, chart: &Chart, part: &Part, (i, band): (usize, &Band)) {
    let all = band.lines.len().max(band.pictures.len());
    let mut first = 0;
    while first < all {
        let least = (all - first).min(band.pictures.len().max(2));
        if flow.lines(ROW) < least {
            flow.next();
            flow.put(part.headings(), Size::new(part.width, part.heads));
        }
        // A picture's names stand whole even where fewer of its lines are left.
        let count = flow.lines(ROW).min(all - first).max(least).max(band.pictures.len());
        let height = ROW * count as f64;
        let ground = Rect::sized(Point::default(), Size::new(part.width, height));
        let mut items: Vec<Item> = vec![Path::rect(&ground).filled(if i % 2 == 0 { TINT } else { PAPER }).into()];
        items.push(band_label(band, 0.0, height, part.picture_width).into());
        for (n, line) in band.lines.iter().skip(first).take(count).enumerate() {
            items.push(line_group(chart, line, &part.columns, ROW * (n as f64 + 0.5), part.end).into());
        }
        flow.put(items, Size::new(part.width, height));
        first += count;
    }
    flow.gap(BAND_GAP);
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
        add(heading, Content::Memory(i), if i == 0 { GROUP_GAP } else { 0.0 });
    }
    for (i, heading) in chart.relays.iter().enumerate() {
        add(&format!("{heading} in"), Content::Relay(i), if i == 0 { GROUP_GAP } else { 0.0 });
    }
    columns
}

fn band_label(band: &Band, top: f64, height: f64, width: f64) -> ItemGroup {
    let mut group = ItemGroup { tag: Tag::label("band").with("pictures", band.pictures.join("; ")), items: Vec::new() };
    for (i, words) in band.pictures.iter().enumerate() {
        let at = Point::new(2.0, top + ROW * (i as f64 + 0.5));
        group.push(TextItem::new(at, words.clone(), NAME).bold().centred_on(at.y));
    }
    let line = Path::line(Point::new(width, top), Point::new(width, top + height));
    group.push(line.stroked(Stroke::solid(FAINT, lines::FINE)));
    group
}

fn line_group(chart: &Chart, line: &Line, columns: &[Column], y: f64, end: f64) -> ItemGroup {
    let mut group = ItemGroup { tag: Tag::kind("state").with("states", line.states.to_string()), items: Vec::new() };
    for column in columns {
        let at = Point::new(column.x + column.width / 2.0, y);
        match &column.content {
            Content::Input(i, words) => match line.inputs[*i] {
                None => group.push(dash(at)),
                Some(position) if words.len() > 2 => {
                    let text = TextItem::new(at, words[position].clone(), LABEL).anchored(Anchor::Middle);
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
    let text = TextItem::new(Point::new(end, y), remark, LABEL);
    let text = match (line.wanted.is_empty(), line.for_a_time) {
        (true, _) => text.coloured(SOFT_INK),
        (false, true) => text,
        (false, false) => text.coloured(ALERT).bold(),
    };
    group.push(text.centred_on(y));
    group
}

/// What is said at the end of a line.
fn remark(chart: &Chart, line: &Line) -> String {
    let mut words = match (line.wanted.is_empty(), line.for_a_time) {
        (true, _) => "yes".to_string(),
        (false, true) => format!("for a time not, should be {}", line.wanted.join(", ")),
        (false, false) => format!("no, should be {}", line.wanted.join(", ")),
    };
    match line.passing {
        0 => {}
        _ if line.for_a_time => {}
        all if all == line.states => words.push_str(", ends by itself"),
        _ => words.push_str(", some end by themselves"),
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
    let mut lines = vec!["Filled: input not at rest, relay in. Small and open: input at rest, relay out.".to_string()];
    if chart.folded {
        lines[0].push_str(" Half square: relay in for some of the states. Dash: the position doesn't matter.");
        lines.push(format!(
            "{} states, merged: a line covers every state that matches it, and every state matches a line.",
            chart.states
        ));
    }
    if chart.cut_short {
        lines.push(format!("There are more states than these {}.", chart.states));
    }
    lines
}
