//! The current-path diagram: supply rails across the top, ground along the foot, every path of current running down
//! between them under a heading that says what it is for. A relay's coil stands near its contacts, and the end of a
//! path near where it goes on. For whoever traces a fault.
//!
//! In comes a model, out come sheets. The stages: [`pieces`] cuts the parts into symbols, [`potentials`] finds which way is
//! down, [`follow`] makes a [`forest`] of paths of the wiring, [`place`] gives everything a column and a height,
//! [`joins`] draws lines in place of references to what is near, [`column_widths`] and [`sheets`] give columns their
//! room, cut a wide job into sheets and fill these, [`paint`] draws.
//!
//! What must hold: every wire is drawn once; a path that comes to something drawn elsewhere ends in a flag with the
//! number of that path; a relay's coil names the paths of its contacts, and each contact that of its coil.

mod box_sizes;
mod column_widths;
mod follow;
mod forest;
mod functions;
mod joins;
mod labels;
mod levels;
mod paint;
mod path_order;
mod piece_symbol;
mod pieces;
mod place;
mod placed;
mod potentials;
mod returns;
mod sheets;
mod spacing;
mod symbol_key;
#[cfg(test)]
mod tests;

use kit::scene::{Scene, Size};
use kit::sheet::{Sheet, Strip};
use model::Model;
use states::Live;
pub use symbol_key::symbols;

/// Depth of the paths, in millimetres, on a sheet as big as it needs.
const DEEP: f64 = 400.0;
/// The least depth that is worth drawing on.
const SHALLOW: f64 = 90.0;

/// What stands beside the wires.
const BESIDE_WIRES: &str = "Beside each wire: its number, its size (mm² where no unit is given) and its colour.";

/// Tries to make the paths fit the depth before the sheet has to grow.
const TRIES: usize = 8;

/// The paths, placed, in a given depth and on sheets with a width for columns: what flags and boxes add beyond the depth is
/// taken off where paths are cut.
fn fitted(model: &Model, pieces: &pieces::Pieces, depth: f64, width: f64) -> placed::Placed {
    let place = |roots: &[forest::Root], least: &levels::Least| place::place(model, pieces, roots, least);
    let mut limit = depth;
    let mut roots = follow::paths(model, pieces, limit);
    for _ in 0..TRIES {
        let excess = place(&roots, &levels::Least::new()).depth - depth;
        if excess <= 0.0 || limit <= SHALLOW / 2.0 {
            break;
        }
        limit -= excess.max(spacing::SHORT);
        roots = follow::paths(model, pieces, limit);
    }
    let fits = |placed: &placed::Placed| {
        width.is_infinite() || sheets::widest(&column_widths::columns(model, None, pieces, placed), placed) <= width
    };
    joins::joined(|least| place(&roots, least), depth, fits)
}

/// The depth that paths have on a sheet.
fn depth_on(sheet: &Sheet, bands: &paint::Bands) -> f64 {
    (sheet.field.height() - bands.total()).max(SHALLOW)
}

/// Whether a path goes on in another one, on sheets of a size.
fn refers(model: &Model, size: Size) -> bool {
    let (sheet, bands) = (Sheet::noted(size, BESIDE_WIRES), paint::Bands::of(model));
    let (depth, width) = (depth_on(&sheet, &bands), sheet.field.width() - bands.sides());
    !fitted(model, &pieces::pieces(model), depth, width).flags.is_empty()
}

/// Draws the diagram on sheets of a size (`Paper::A3.lying()`), or with `None` on one sheet as big as it needs.
///
/// A path too deep for the sheet is cut off and goes on in a path of its own.
pub fn draw(model: &Model, size: Option<Size>) -> Vec<Scene> {
    drawn(model, None, size)
}

/// The same of a harness in one state: what carries current lit, voltages at the ends of wires.
pub fn live(model: &Model, live: &Live, size: Option<Size>) -> Vec<Scene> {
    let scenes = drawn(model, Some(live), size).into_iter();
    let lit = scenes.map(|scene| Scene { items: super::live::shaded(scene.items, model, live), ..scene });
    lit.collect()
}

fn drawn(model: &Model, live: Option<&Live>, size: Option<Size>) -> Vec<Scene> {
    let note = |live| format!("{} {}", super::live::note(live), super::live::CONTACTS);
    let note = live.map_or(BESIDE_WIRES.into(), note);
    let paper = size.map(|size| Sheet::noted(size, &note));
    let bands = paint::Bands::of(model);
    let limit = paper.as_ref().map_or(DEEP, |sheet| depth_on(sheet, &bands));
    let pieces = pieces::pieces(model);
    let room = paper.as_ref().map_or(f64::INFINITY, |sheet| sheet.field.width() - bands.sides());
    let placed = fitted(model, &pieces, limit, room);
    let mut columns = column_widths::columns(model, live, &pieces, &placed);
    let cuts = sheets::cut(&columns, &placed, room);
    if paper.is_some() {
        sheets::fill(&mut columns, &cuts, room);
    }
    let drawing = paint::Drawing::new((model, live), &pieces, &placed, &columns, &cuts, bands);
    let strip = |sheet: usize| {
        let (drawing, variant) = match live {
            Some(live) => (format!("Current-path diagram, live: {}", live.state), "L"),
            None => ("Current-path diagram".to_string(), ""),
        };
        Strip::of(&model.job.title, &model.job.revision, drawing, [sheet + 1, cuts.len()]).variant(variant)
    };
    // All sheets of a job are of one width, and no higher than their paths need; where one needs more than the paper
    // has, its sheet grows with it.
    let room = paper.as_ref().map_or(f64::INFINITY, |p| p.field.width() + 1e-6);
    let needed: Vec<Size> = (0..cuts.len()).map(|i| drawing.size(i)).collect();
    let usual = needed.iter().map(|size| size.width).filter(|width| *width <= room).fold(0.0, f64::max);
    (0..cuts.len())
        .map(|i| {
            let own = Sheet::around_noted(Size::new(needed[i].width.max(usual), needed[i].height), &note);
            // On a narrow sheet the caution takes more lines: the whole paper may have room where that one has not.
            let whole = paper.as_ref().filter(|paper| {
                let (field, size) = (paper.field.size(), needed[i]);
                own.size.height > paper.size.height && size.width <= field.width && size.height <= field.height + 1e-6
            });
            let sheet = whole.cloned().unwrap_or(own);
            let items = paint::items(&drawing, i, &sheet.field);
            sheet.scene(&strip(i), &drawing.description(i), items)
        })
        .collect()
}
