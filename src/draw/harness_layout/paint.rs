//! Runs, places, connectors and callouts as items of a scene.

use super::callouts::{self, Callout, PAD, STEP, leader_end};
use super::housings;
use super::runs::{Board, Stretch};
use kit::colour::{INK, PAPER, SOFT_INK, TINT};
use kit::lines::{FINE, NAME, SMALL, SYMBOL, THIN};
use kit::scene::*;
use kit::sheet::Strip;
use model::{Model, RunId, bundle};
use spec::Covering;

pub(super) fn strip(model: &Model, drawing: &str, scale: &str, sheets: [usize; 2]) -> Strip {
    Strip::of(&model.job.title, &model.job.revision, drawing, sheets).scaled(scale).units("mm")
}

/// A board on a sheet at full size, if there is room for all the words of a run.
pub(super) fn draw_board(model: &Model, board: &Board, room: Rect) -> Vec<Item> {
    drawn(model, board, Some(room), callouts::of_run_whole).0
}

/// Runs, places, connectors and their words, and whether all of them found room. `room` bounds where words may stand.
pub(super) fn drawn(
    model: &Model,
    board: &Board,
    room: Option<Rect>,
    words: fn(&Model, RunId, Point) -> Callout,
) -> (Vec<Item>, bool) {
    let housings = housings::place(model, board, room);
    let mut items: Vec<Item> = board.stretches.iter().map(|s| draw_run(model, s).into()).collect();
    items.extend(board.places.iter().map(|(place, at)| {
        let dot = Path::circle(*at, 1.8).filled(PAPER).stroked(Stroke::solid(INK, SYMBOL));
        Item::from(ItemGroup::of(Tag::kind("breakout").with("place", model.places[place.0].to_string()), [dot]))
    }));
    // Places first: what is there matters more than a run's figures, and takes more room.
    let mut callouts: Vec<Callout> = board.places.iter().map(|(p, at)| callouts::of_place(model, *p, *at)).collect();
    callouts.extend(board.stretches.iter().map(|s| words(model, s.run, middle(s))));
    let wanted = callouts.len();
    let settled = callouts::settle(board, &housings, callouts, room);
    let connectors = board.places.iter().map(|(place, _)| housings::at_place(model, *place).len()).sum::<usize>();
    let names_alone = settled.iter().any(|callout| !callout.names.is_empty() && callout.lines == callout.names);
    let whole = settled.len() == wanted && housings.len() == connectors && !names_alone;
    // Leaders pass under housings.
    items.extend(settled.iter().map(draw_callout));
    items.extend(housings.iter().flat_map(|housing| housing.draw(model)));
    (items, whole)
}

fn middle(s: &Stretch) -> Point {
    Point::new((s.from.x + s.to.x) / 2.0, (s.from.y + s.to.y) / 2.0)
}

/// A run as thick as its bundle within reason, patterned by its covering, with a tick at each clip.
fn draw_run(model: &Model, stretch: &Stretch) -> ItemGroup {
    let run = &model.runs[stretch.run.0];
    let width = (bundle::diameter(model, stretch.run).value() * 1000.0 / 5.0).clamp(0.9, 3.2);
    let mut paths = covered(&Path::line(stretch.from, stretch.to), width, run.covering);
    if let Some(clips) = run.clips {
        paths.extend(clip_ticks(stretch, run.length.value(), clips.value(), width));
    }
    let [a, b] = run.ends.map(|p| model.places[p.0].to_string());
    ItemGroup::of(Tag::kind("run").with("run", format!("{a} to {b}")).with("covering", run.covering.to_string()), paths)
}

/// A line patterned by what covers it.
pub(super) fn covered(line: &Path, width: f64, covering: Covering) -> Vec<Path> {
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

/// A box of words and the thin line to what it describes.
fn draw_callout(callout: &Callout) -> Item {
    let rect = callout.rect;
    let mut group = ItemGroup::of(
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
        group.push(TextItem::new(Point::new(rect.left + PAD, base), callout.heading.clone(), NAME).bold());
        base += STEP + 0.2;
    }
    for (dx, dy, line) in callout.spread() {
        group.push(TextItem::new(Point::new(rect.left + PAD + dx, base + dy), line.clone(), SMALL));
    }
    group.into()
}
