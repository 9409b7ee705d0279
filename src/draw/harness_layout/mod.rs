//! The harness layout (bay tech): the runs as a tree to a stated scale, with lengths, bundles, coverings, clips, and what
//! is at each place; and the same at full size, cut into sheets for a build board.

mod build_board;
mod callouts;
mod housings;
mod legend;
mod runs;
mod tree;

pub use build_board::tiles;

use callouts::{Callout, PAD, STEP, leader_end};
use kit::colour::{INK, PAPER, SOFT_INK, TINT};
use kit::lines::{FINE, LABEL, NAME, SYMBOL, THIN};
use kit::scene::*;
use kit::sheet::{Paper, Sheet, Strip};
use model::{Model, RunId, bundle};
use runs::{Board, Stretch, lay};
use spec::Covering;

/// Scales that a drawing may have, the largest first: millimetres of harness to one on paper.
const SCALES: [f64; 12] = [2.0, 2.5, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 40.0, 50.0, 75.0, 100.0];

/// Greatest length of the runs on an A3 sheet.
const WIDEST: f64 = 330.0;

/// Draws the whole harness on as many sheets as it takes, none larger than the paper on its long side.
pub fn sheets(model: &Model, paper: Paper) -> Vec<Scene> {
    let forest = tree::grow(model);
    let whole = Sheet::of(paper.lying());
    let least = fitting(model, &forest);
    let mut pages = legend::Pages::new(whole.field.size());
    let trees = |scale: f64| forest.trunks.iter().map(move |trunk| on_sheet(model, trunk, scale, whole.field.size()));
    // The largest scale at which every tree has room with all its words.
    let scale =
        SCALES.into_iter().filter(|scale| *scale >= least).find(|&scale| trees(scale).all(|tree| tree.is_some()));
    let scale = scale.unwrap_or(least);
    for (trunk, tree) in forest.trunks.iter().zip(trees(scale)) {
        match tree {
            Some((items, size)) => pages.below(items, size),
            // Too large even so: sheets that are laid edge to edge, as on a build board.
            None => {
                for tile in build_board::cut_up(model, trunk, paper, scale) {
                    let (dx, dy) = (-whole.field.left, -whole.field.top);
                    pages.alone(tile.items.into_iter().map(|item| item.moved(dx, dy)).collect());
                }
            }
        }
    }
    for (items, size) in legend::blocks(model, &forest.rings, pages.room()) {
        pages.beside(items, size);
    }
    let pages = pages.finish();
    let count = pages.len();
    let scene = |(i, (items, size)): (usize, (Vec<Item>, Size))| {
        let sheet = whole.trimmed(size);
        let (dx, dy) = (sheet.field.left, sheet.field.top);
        let items = items.into_iter().map(|item| item.moved(dx, dy)).collect();
        let described =
            format!("The runs of the harness as a tree, at a scale of 1:{scale}, with what is at each place");
        sheet.scene(&strip(model, "Harness layout", &format!("1:{scale}"), [i + 1, count]), &described, items)
    };
    pages.into_iter().enumerate().map(scene).collect()
}

fn strip(model: &Model, drawing: &str, scale: &str, [sheet, sheets]: [usize; 2]) -> Strip {
    Strip {
        job: model.job.title.clone(),
        drawing: drawing.into(),
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

/// A tree with all its words if it has room on a sheet, its top left at the origin: as it comes, or else with its words
/// kept within the sheet.
fn on_sheet(model: &Model, trunk: &tree::Limb, scale: f64, room: Size) -> Option<(Vec<Item>, Size)> {
    let board = lay(model, trunk, 1000.0 / scale);
    let points = board.places.iter().map(|(_, at)| Rect::new(*at, *at));
    let middle = around(points)?.centre();
    let sheet = Rect::centred(middle, room);
    let fits = |drawn: &(Vec<Item>, bool)| {
        let bounds = around(drawn.0.iter().filter_map(Item::bounds));
        drawn.1 && bounds.is_some_and(|b| b.width() <= room.width && b.height() <= room.height)
    };
    let drawn = [None, Some(sheet)].into_iter().map(|room| drawn(model, &board, room, callouts::of_run)).find(fits)?.0;
    let bounds = around(drawn.iter().filter_map(Item::bounds))?;
    Some((drawn.into_iter().map(|item| item.moved(-bounds.left, -bounds.top)).collect(), bounds.size()))
}

/// A board on a sheet at full size, where there is room for all the words of a run.
fn draw_board(model: &Model, board: &Board, room: Rect) -> Vec<Item> {
    drawn(model, board, Some(room), callouts::of_run_whole).0
}

/// Runs, places, connectors and their words, and whether all of them found room. `room` bounds where words may stand.
fn drawn(
    model: &Model,
    board: &Board,
    room: Option<Rect>,
    words: fn(&Model, RunId, Point) -> Callout,
) -> (Vec<Item>, bool) {
    let housings = housings::place(model, board, room);
    let mut items: Vec<Item> = board.stretches.iter().map(|s| draw_run(model, s).into()).collect();
    items.extend(board.places.iter().map(|(place, at)| {
        let dot = Path::circle(*at, 1.8).filled(PAPER).stroked(Stroke::solid(INK, SYMBOL));
        Item::from(Group::of(Tag::kind("breakout").with("place", model.places[place.0].to_string()), [dot]))
    }));
    // Places first: what is there matters more than a run's figures, and takes more room.
    let mut callouts: Vec<Callout> = board.places.iter().map(|(p, at)| callouts::of_place(model, *p, *at)).collect();
    callouts.extend(board.stretches.iter().map(|s| words(model, s.run, middle(s))));
    let wanted = callouts.len();
    let settled = callouts::settle(board, &housings, callouts, room);
    let connectors = board.places.iter().map(|(place, _)| housings::at_place(model, *place).len()).sum::<usize>();
    let whole = settled.len() == wanted && housings.len() == connectors;
    // Leaders pass under housings.
    items.extend(settled.iter().map(draw_callout));
    items.extend(housings.iter().flat_map(|housing| housing.draw(model)));
    (items, whole)
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
