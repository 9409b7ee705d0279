//! Runs, places, connectors and callouts as items of a scene.

use super::callouts::{self, Callout, Detail, PAD, STEP, leader_end};
use super::fittings;
use super::housings::{self, Housing};
use super::runs::{Board, Stretch, run_width};
use kit::colour::{INK, PAPER, SOFT_INK, TINT};
use kit::geometry::from_line;
use kit::lines::{FINE, NAME, SMALL, SYMBOL, THIN};
use kit::scene::*;
use kit::sheet::Strip;
use model::Model;
use spec::Covering;
use std::collections::BTreeMap;

pub(super) fn strip(model: &Model, drawing: &str, scale: &str, sheets: [usize; 2]) -> Strip {
    Strip::of(&model.job.title, &model.job.revision, drawing, sheets).scaled(scale).units("mm")
}

/// What found room on a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum RoomFor {
    /// Everything with all its words.
    AllWords,
    /// Everything; at some places only the names of parts.
    Names,
    /// Not everything.
    Part,
}

/// How leaders are kept from crossing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Leaders {
    /// As far as the order of the boxes does it: enough to see whether everything has room.
    AsTheyCome,
    /// Boxes are placed again where leaders cross. That takes long.
    Untangled,
}

/// Runs, places, connectors and their words, and what found room. `room` bounds where words may stand.
pub(super) fn drawn(
    model: &Model,
    board: &Board,
    room: Option<Rect>,
    detail: Detail,
    leaders: Leaders,
) -> (Vec<Item>, RoomFor) {
    let fittings = if detail == Detail::Board { fittings::on(model, board, room) } else { Vec::new() };
    let taken: Vec<Rect> = fittings.iter().filter_map(Item::bounds).collect();
    let housings = housings::place(model, board, &taken, room, detail == Detail::Board);
    let mut items: Vec<Item> = board.stretches.iter().map(|s| draw_run(model, s).into()).collect();
    items.extend(board.places.iter().map(|(place, at)| {
        let dot = Path::circle(*at, 1.8).filled(PAPER).stroked(Stroke::solid(INK, SYMBOL));
        Item::from(ItemGroup::of(Tag::kind("breakout").with("place", model.places[place.0].to_string()), [dot]))
    }));
    // Places first: their words matter more than the figures of runs, and take more room.
    let mut callouts: Vec<Callout> =
        board.places.iter().map(|(p, at)| callouts::of_place(model, *p, *at, detail)).collect();
    callouts.extend(board.stretches.iter().map(|s| callouts::of_run(model, s, middle(s), detail)));
    let wanted = callouts.len();
    let settled = settled(board, (&housings, &taken), callouts, room, detail, leaders);
    let connectors = board.places.iter().map(|(place, _)| housings::at_place(model, *place).len()).sum::<usize>();
    let there = settled.len() == wanted && housings.len() == connectors;
    let room_for = match (there, shortened(&settled).is_empty()) {
        (true, true) => RoomFor::AllWords,
        (true, false) => RoomFor::Names,
        (false, _) => RoomFor::Part,
    };
    // Leaders pass under housings.
    items.extend(settled.iter().map(draw_callout));
    items.extend(fittings);
    items.extend(housings.iter().flat_map(|housing| housing.draw(model)));
    (items, room_for)
}

/// Orders of the boxes that are tried.
const ORDERS: usize = 5;

/// The boxes where they have room. A place or a run that had none for all its words comes first in the next try; on a
/// board, which has many sheets, only a place.
fn settled(
    board: &Board,
    around: (&[Housing], &[Rect]),
    mut callouts: Vec<Callout>,
    room: Option<Rect>,
    detail: Detail,
    leaders: Leaders,
) -> Vec<Callout> {
    let wanted = callouts.len();
    let lines: BTreeMap<String, usize> = callouts.iter().map(|c| (c.about.clone(), c.lines.len())).collect();
    let reduced = |settled: &[Callout]| -> Vec<String> {
        let is_run = |c: &&Callout| detail == Detail::Sheet && c.heading.is_empty();
        let reduced =
            settled.iter().filter(is_run).filter(|c| lines.get(&c.about).is_some_and(|all| c.lines.len() < *all));
        reduced.map(|c| c.about.clone()).collect()
    };
    let lost = |settled: &[Callout]| {
        let crossing = callouts::crossing(settled).len();
        (wanted - settled.len(), crossing, shortened(settled).len(), reduced(settled).len())
    };
    let all = callouts.clone();
    let mut best = callouts::settle(board, around, Vec::new(), callouts.clone(), room);
    let mut last = best.clone();
    for _ in 1..ORDERS {
        let short: Vec<String> = shortened(&last).into_iter().chain(reduced(&last)).collect();
        if short.is_empty() {
            break;
        }
        callouts.sort_by_key(|callout| !short.contains(&callout.about));
        last = callouts::settle(board, around, Vec::new(), callouts.clone(), room);
        if lost(&last) < lost(&best) {
            best = last.clone();
        }
    }
    if leaders == Leaders::AsTheyCome {
        return best;
    }
    let settle = |others: Vec<Callout>, pair: Vec<Callout>| callouts::settle(board, around, others, pair, room);
    untangled(best, &all, settle, lost)
}

/// The boxes with fewer crossing leaders: a box whose leader crosses another is placed again, together with each other box
/// in turn, among those that stay. The best result counts.
fn untangled<L: Ord>(
    mut best: Vec<Callout>,
    all: &[Callout],
    settle: impl Fn(Vec<Callout>, Vec<Callout>) -> Vec<Callout>,
    lost: impl Fn(&[Callout]) -> L,
) -> Vec<Callout> {
    for _ in 0..ORDERS {
        let again = |[one, other]: [usize; 2]| {
            let is_either = |callout: &Callout| [one, other].iter().any(|at| best[*at].about == callout.about);
            let others = best.iter().filter(|callout| !is_either(callout)).cloned().collect();
            let mut pair: Vec<Callout> = all.iter().filter(|callout| is_either(callout)).cloned().collect();
            pair.sort_by_key(|callout| callout.about != best[one].about);
            settle(others, pair)
        };
        let crossing = callouts::crossing(&best).into_iter();
        let pairs = crossing.flat_map(|one| (0..best.len()).map(move |other| [one, other]));
        let better = pairs.map(again).min_by_key(|settled| lost(settled));
        match better.filter(|settled| lost(settled) < lost(&best)) {
            Some(settled) => best = settled,
            None => break,
        }
    }
    best
}

/// The places whose boxes have names alone.
fn shortened(settled: &[Callout]) -> Vec<String> {
    let short = settled.iter().filter(|callout| !callout.names.is_empty() && callout.lines == callout.names);
    short.map(|callout| callout.about.clone()).collect()
}

fn middle(s: &Stretch) -> Point {
    Point::new((s.from.x + s.to.x) / 2.0, (s.from.y + s.to.y) / 2.0)
}

/// A run as thick as its bundle within reason, patterned by its covering, with a tick at each clip.
fn draw_run(model: &Model, stretch: &Stretch) -> ItemGroup {
    let run = &model.runs[stretch.run.0];
    let width = run_width(model, stretch.run);
    let mut paths = covered(&Path::line(stretch.from, stretch.to), width, run.covering);
    paths.extend(break_in(stretch, width));
    if let Some(clips) = run.clips {
        paths.extend(clip_ticks(stretch, run.length.value(), clips.value(), width));
    }
    let [a, b] = run.ends.map(|p| model.places[p.0].to_string());
    ItemGroup::of(Tag::kind("run").with("run", format!("{a} to {b}")).with("covering", run.covering.to_string()), paths)
}

/// A line with the pattern of its covering.
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

/// Two slanting lines where a run is drawn shorter than it is, white between them.
fn break_in(stretch: &Stretch, width: f64) -> Vec<Path> {
    const HALF_GAP: f64 = 1.2;
    let on_sheet = |at: &Point| from_line(*at, stretch.from, stretch.to) < 1e-3;
    let Some(middle) = stretch.whole.broken_at().filter(on_sheet) else { return Vec::new() };
    let (ux, uy) = stretch.whole.direction();
    let side = |along: f64| middle.by(ux * along, uy * along);
    let half = width / 2.0 + 0.2;
    let corner = |along: f64, beside: f64| side(along).by(-uy * beside, ux * beside);
    let corners = [(-HALF_GAP, -half), (HALF_GAP, -half), (HALF_GAP, half), (-HALF_GAP, half)];
    let white = Path::polygon(&corners.map(|(along, beside)| corner(along, beside))).filled(PAPER);
    let lines = [-HALF_GAP, HALF_GAP].map(|along| across(stretch, side(along), width / 2.0 + 2.4, 1.2));
    std::iter::once(white).chain(lines).collect()
}

/// A tick across the run at each clip.
fn clip_ticks(stretch: &Stretch, length: f64, every: f64, width: f64) -> Vec<Path> {
    let count = if every > 0.0 { (length / every).ceil().min(200.0) as usize } else { 0 };
    let half = width / 2.0 + 1.2;
    let at = |i: usize| stretch.whole.at(i as f64 * every / length * stretch.whole.length);
    let on_sheet = |at: &Point| from_line(*at, stretch.from, stretch.to) < 1e-3;
    (1..count).filter_map(at).filter(on_sheet).map(|at| across(stretch, at, half, 0.0)).collect()
}

/// A short line across a run, as far to both sides, leaning by so much.
fn across(stretch: &Stretch, at: Point, half: f64, lean: f64) -> Path {
    let (dx, dy) = (stretch.to.x - stretch.from.x, stretch.to.y - stretch.from.y);
    let drawn = dx.hypot(dy).max(1e-9);
    let (ux, uy) = (dx / drawn, dy / drawn);
    let [a, b] = [1.0, -1.0].map(|side| at.by((lean * ux - half * uy) * side, (lean * uy + half * ux) * side));
    Path::line(a, b).stroked(Stroke::solid(INK, SYMBOL))
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
