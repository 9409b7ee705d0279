//! The harness layout (bay tech): the runs as a tree to a stated scale, with lengths, bundles, coverings, clips, and
//! what is at each place; and the same at full size, cut into sheets for a build board.

mod build_board;
mod callouts;
mod cells;
mod fittings;
mod housings;
mod key_plan;
mod legend;
mod paint;
mod runs;
mod sides;
mod tree;

pub use build_board::{rolls, tiles};

use kit::scene::*;
use kit::sheet::{Paper, Sheet};
use model::Model;
use paint::{Leaders, RoomFor, drawn, strip};
use runs::{Measure, lay};

/// Scales that a drawing may have, the largest first: millimetres of harness to one on paper.
const SCALES: [f64; 12] = [2.0, 2.5, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 40.0, 50.0, 75.0, 100.0];

/// Maximum length of the runs on an A3 sheet.
const WIDEST: f64 = 330.0;

/// Draws the whole harness on as many sheets as it takes, none larger than the paper on its long side.
pub fn sheets(model: &Model, paper: Paper) -> Vec<Scene> {
    let forest = tree::grow(model);
    let whole = Sheet::of(paper.lying());
    let least = fitting(model, &forest);
    let mut pages = legend::Pages::new(whole.field.size());
    let trees = |(scale, least): (f64, RoomFor)| {
        forest.trunks.iter().map(move |trunk| on_sheet(model, trunk, scale, whole.field.size(), least))
    };
    // The largest scale at which every tree has room with all its words, or else with the names of parts alone.
    let scales = |least_room: RoomFor| SCALES.into_iter().filter(|s| *s >= least).map(move |scale| (scale, least_room));
    let mut chosen = [RoomFor::AllWords, RoomFor::Names].into_iter().flat_map(scales);
    let whole_trees = |chosen: (f64, RoomFor)| {
        let all: Option<Vec<_>> = trees(chosen).collect();
        all.map(|all| (chosen.0, all.into_iter().map(Some).collect()))
    };
    let (scale, trees): (f64, Vec<_>) =
        chosen.find_map(whole_trees).unwrap_or_else(|| (least, trees((least, RoomFor::Names)).collect()));
    for (trunk, tree) in forest.trunks.iter().zip(trees) {
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
    for (items, size) in legend::blocks(model, &forest, pages.room()) {
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

/// The largest scale at which every tree is no wider than a sheet.
fn fitting(model: &Model, forest: &tree::Forest) -> f64 {
    let longest = forest.trunks.iter().map(|t| tree::length(model, t)).fold(0.0, f64::max);
    let fits = |scale: &&f64| longest * 1000.0 / **scale <= WIDEST;
    SCALES.iter().find(fits).copied().unwrap_or(SCALES[SCALES.len() - 1])
}

/// A tree with all its words if it has room on a sheet, its top left at the origin: as it comes, or else with its words
/// kept within the sheet.
fn on_sheet(model: &Model, trunk: &tree::Limb, scale: f64, room: Size, least: RoomFor) -> Option<(Vec<Item>, Size)> {
    let board = lay(model, trunk, Measure::whole(1000.0 / scale));
    let points = board.places.iter().map(|(_, at)| Rect::new(*at, *at));
    let middle = around(points)?.centre();
    let sheet = Rect::centred(middle, room);
    let fits = |drawn: &(Vec<Item>, RoomFor)| {
        let bounds = around(drawn.0.iter().filter_map(Item::bounds));
        drawn.1 <= least && bounds.is_some_and(|b| b.width() <= room.width && b.height() <= room.height)
    };
    let drawn = |room, leaders| Some(drawn(model, &board, room, callouts::Detail::Sheet, leaders)).filter(fits);
    // Leaders are untangled only where everything has room.
    let mut tangled = None;
    let untangled = [None, Some(sheet)].into_iter().find_map(|room| {
        let drawn_so = drawn(room, Leaders::AsTheyCome)?;
        tangled.get_or_insert(drawn_so);
        drawn(room, Leaders::Untangled)
    });
    let drawn = untangled.or(tangled)?.0;
    let bounds = around(drawn.iter().filter_map(Item::bounds))?;
    Some((drawn.into_iter().map(|item| item.moved(-bounds.left, -bounds.top)).collect(), bounds.size()))
}
