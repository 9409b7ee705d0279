//! The harness layout (bay tech): the runs as a tree to a stated scale, with lengths, bundles, coverings, clips, and what
//! is at each place; and the same at full size, cut into sheets for a build board.

mod callout;
mod place;
mod tiles;
mod tree;

pub use tiles::tiles;

use super::colour::{INK, PAPER, SOFT_INK, TINT};
use super::font;
use super::lines::{FINE, LABEL, NAME, SYMBOL, THIN};
use super::scene::*;
use super::sheet::{Sheet, Strip};
use crate::model::{Model, RunId, bundle};
use crate::spec::Covering;
use callout::{Callout, PAD, STEP, leader_end};
use place::{Board, Stretch, lay};

/// Scales that a drawing may have, the largest first: millimetres of harness to one on paper.
const SCALES: [f64; 10] = [2.0, 2.5, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 40.0, 50.0];

/// Greatest length of the runs on a drawing for the screen or an A3 sheet.
const WIDEST: f64 = 330.0;

/// Draws the whole harness on one sheet, as large as a usual sheet takes it.
pub fn harness_layout(model: &Model) -> Scene {
    let forest = tree::grow(model);
    let scale = fitting(model, &forest);
    let mut items: Vec<Item> = Vec::new();
    let mut below = 0.0;
    for trunk in &forest.trunks {
        let board = lay(model, trunk, 1000.0 / scale);
        let drawn = draw_board(model, &board, None);
        let Some(bounds) = around(drawn.iter().filter_map(Item::bounds)) else { continue };
        items.extend(drawn.into_iter().map(|item| item.moved(-bounds.left, below - bounds.top)));
        below += bounds.height() + 12.0;
    }
    items.extend(key(model).into_iter().map(|item| item.moved(0.0, below)));
    below += 2.5 * STEP;
    let rows = table(model);
    let height = around(rows.iter().filter_map(Item::bounds)).map_or(0.0, |b| b.height());
    items.extend(rows.into_iter().map(|item| item.moved(0.0, below)));
    below += height + STEP;
    for line in notes(model, &forest.rings) {
        items.push(Text::new(Point::new(0.0, below + STEP), line, LABEL).coloured(SOFT_INK).into());
        below += STEP;
    }
    let bounds = around(items.iter().filter_map(Item::bounds)).unwrap_or(Rect::new(Point::default(), Point::default()));
    let sheet = Sheet::around(Size::new(bounds.width() + 4.0, bounds.height() + 4.0));
    let (dx, dy) = (sheet.field.left + 2.0 - bounds.left, sheet.field.top + 2.0 - bounds.top);
    let items = items.into_iter().map(|item| item.moved(dx, dy)).collect();
    let described = format!("The runs of the harness as a tree, at a scale of 1:{scale}, with what is at each place");
    sheet.scene(&strip(model, &format!("1:{scale}"), 1, 1), &described, items)
}

fn strip(model: &Model, scale: &str, sheet: usize, sheets: usize) -> Strip {
    Strip {
        job: model.job.title.clone(),
        drawing: "Harness layout".into(),
        revision: model.job.revision.clone(),
        sheet,
        sheets,
        scale: scale.into(),
    }
}

/// The largest scale at which every tree is no wider than a sheet.
fn fitting(model: &Model, forest: &tree::Forest) -> f64 {
    let longest = forest.trunks.iter().map(|t| tree::length(model, t)).fold(0.0, f64::max);
    let fits = |scale: &&f64| longest * 1000.0 / **scale <= WIDEST;
    SCALES.iter().find(fits).copied().unwrap_or(SCALES[SCALES.len() - 1])
}

/// The table of runs, its top left at the origin.
fn table(model: &Model) -> Vec<Item> {
    let rows: Vec<[String; 7]> = (0..model.runs.len()).map(|i| callout::row(model, RunId(i))).collect();
    let mut items = Vec::new();
    let mut x = 0.0;
    for (column, heading) in callout::HEADINGS.iter().enumerate() {
        let cells = rows.iter().map(|row| font::width(&row[column], LABEL, false));
        let width = cells.fold(font::width(heading, LABEL, true), f64::max);
        items.push(Text::new(Point::new(x, STEP), *heading, LABEL).bold().into());
        for (i, row) in rows.iter().enumerate() {
            let at = Point::new(x, STEP * (i as f64 + 2.2));
            items.push(Text::new(at, row[column].clone(), LABEL).into());
        }
        x += width + 6.0;
    }
    let rule = Path::line(Point::new(0.0, STEP * 1.4), Point::new(x - 6.0, STEP * 1.4));
    items.push(rule.stroked(Stroke::solid(SOFT_INK, FINE)).into());
    items
}

/// What the tree can't show.
fn notes(model: &Model, rings: &[RunId]) -> Vec<String> {
    let mut notes: Vec<String> = rings
        .iter()
        .map(|run| {
            let this = &model.runs[run.0];
            let [a, b] = this.ends.map(|p| model.places[p.0].to_string());
            let wires = bundle::wires_in(model, *run).len();
            format!(
                "Also a run between {a} and {b}, {}, {wires} wires: it closes a ring and is not drawn.",
                this.length
            )
        })
        .collect();
    notes.push("Lengths are from breakout to breakout; cut lengths with allowances are on the wire list.".into());
    notes.push("A connector 'faces' the part or the half that it mates with: point its mating side there.".into());
    notes
}

/// Runs, places and their words. `room` bounds where words may stand.
fn draw_board(model: &Model, board: &Board, room: Option<Rect>) -> Vec<Item> {
    let mut items: Vec<Item> = board.stretches.iter().map(|s| draw_run(model, s).into()).collect();
    items.extend(board.places.iter().map(|(place, at)| {
        let dot = Path::circle(*at, 1.8).filled(PAPER).stroked(Stroke::solid(INK, SYMBOL));
        Item::from(Group::of(Tag::kind("breakout").with("place", model.places[place.0].to_string()), [dot]))
    }));
    // Places first: what is there matters more than a run's figures, and takes more room.
    let mut callouts: Vec<Callout> = board.places.iter().map(|(p, at)| callout::of_place(model, *p, *at)).collect();
    // On a sheet of fixed size, at full size, there is room for all the words of a run; else its letter leads to them.
    let words = if room.is_some() { callout::of_run_whole } else { callout::of_run };
    callouts.extend(board.stretches.iter().map(|s| words(model, s.run, middle(s))));
    items.extend(callout::settle(board, callouts, room).iter().map(draw_callout));
    items
}

fn middle(s: &Stretch) -> Point {
    Point::new((s.from.x + s.to.x) / 2.0, (s.from.y + s.to.y) / 2.0)
}

/// A run as thick as its bundle within reason, patterned by its covering, with a tick at each clip.
fn draw_run(model: &Model, stretch: &Stretch) -> Group {
    let run = &model.runs[stretch.run.0];
    let width = (bundle::diameter(model, stretch.run).value() * 1000.0 / 5.0).clamp(0.9, 3.2);
    let mut paths = covered(&Path::line(stretch.from, stretch.to), width, run.covering);
    if let Some(clips) = run.clips {
        paths.extend(clip_ticks(stretch, run.length.value(), clips.value(), width));
    }
    let [a, b] = run.ends.map(|p| model.places[p.0].to_string());
    Group::of(Tag::kind("run").with("run", format!("{a} to {b}")).with("covering", run.covering.to_string()), paths)
}

/// A line patterned by what covers it.
fn covered(line: &Path, width: f64, covering: Covering) -> Vec<Path> {
    let mut paths = vec![line.clone().stroked(Stroke::solid(INK, width))];
    let inner = (width - 2.0 * FINE).max(0.3);
    let over = |dash: Dash| line.clone().stroked(Stroke::dashed(PAPER, inner, dash));
    match covering {
        Covering::Bare => paths.push(line.clone().stroked(Stroke::solid(PAPER, inner))),
        Covering::Tape => {}
        Covering::Conduit => paths.push(over(Dash::even(0.9, 0.9))),
        Covering::Sleeve => paths.push(over(Dash::even(2.4, 0.5))),
        Covering::Shrink => paths.push(over(Dash::chain(4.0, 0.6, 0.6))),
    }
    paths
}

/// What patterns and ticks mean: those in use, side by side, the top left at the origin.
fn key(model: &Model) -> Vec<Item> {
    const SAMPLE: f64 = 14.0;
    let mut coverings: Vec<Covering> = Vec::new();
    for run in &model.runs {
        if !coverings.contains(&run.covering) {
            coverings.push(run.covering);
        }
    }
    let (mut items, mut x, y): (Vec<Item>, f64, f64) = (Vec::new(), 0.0, STEP / 2.0);
    let mut sample = |paths: &dyn Fn(Point, Point) -> Vec<Path>, words: &str| {
        let (from, to) = (Point::new(x, y), Point::new(x + SAMPLE, y));
        items.push(Group::of(Tag::kind("key"), paths(from, to)).into());
        let text = Text::new(Point::new(x + SAMPLE + 2.0, y), words, LABEL).centred_on(y);
        x = text.bounds().right + 8.0;
        items.push(text.into());
    };
    for covering in coverings {
        sample(&|from, to| covered(&Path::line(from, to), 1.6, covering), &covering.to_string());
    }
    if model.runs.iter().any(|run| run.clips.is_some()) {
        let ticks = |from: Point, to: Point| {
            let tick = |x: f64| Path::line(Point::new(x, from.y - 2.0), Point::new(x, from.y + 2.0));
            let line = Path::line(from, to).stroked(Stroke::solid(INK, 1.6));
            [4.0, 10.0].iter().map(|dx| tick(from.x + dx).stroked(Stroke::solid(INK, SYMBOL))).chain([line]).collect()
        };
        sample(&ticks, "clip");
    }
    items
}

/// A tick across the run at each clip.
fn clip_ticks(stretch: &Stretch, length: f64, every: f64, width: f64) -> Vec<Path> {
    let count = if every > 0.0 { (length / every).ceil().min(200.0) as usize } else { 0 };
    let (dx, dy) = (stretch.to.x - stretch.from.x, stretch.to.y - stretch.from.y);
    let drawn = dx.hypot(dy).max(1e-9);
    let (nx, ny) = (-dy / drawn * (width / 2.0 + 1.2), dx / drawn * (width / 2.0 + 1.2));
    let tick = |i: usize| {
        let t = i as f64 * every / length;
        let at = Point::new(stretch.from.x + dx * t, stretch.from.y + dy * t);
        Path::line(at.by(nx, ny), at.by(-nx, -ny)).stroked(Stroke::solid(INK, SYMBOL))
    };
    (1..count).map(tick).collect()
}

/// A box of words and the thin line to what it speaks of.
fn draw_callout(callout: &Callout) -> Item {
    let rect = callout.rect;
    let mut group = Group::of(
        Tag::kind("callout").with("about", callout.about.clone()),
        [Path::line(callout.target, leader_end(&rect, callout.target)).stroked(Stroke::solid(SOFT_INK, THIN))],
    );
    let place = !callout.heading.is_empty();
    let ground = if place { TINT } else { PAPER };
    let outline = Path::rounded(&rect, 1.0).filled(ground);
    group.push(if place { outline.stroked(Stroke::solid(SOFT_INK, FINE)) } else { outline });
    let mut base = rect.top + PAD + 2.2;
    if place {
        base += 0.6;
        group.push(Text::new(Point::new(rect.left + PAD, base), callout.heading.clone(), NAME).bold());
        base += STEP + 0.2;
    }
    for (dx, dy, line) in callout.spread() {
        group.push(Text::new(Point::new(rect.left + PAD + dx, base + dy), line.clone(), LABEL));
    }
    group.into()
}
