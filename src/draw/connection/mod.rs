//! Connection diagram, the bay tech's drawing: parts as outlines with named pins, grouped by place; wires in their
//! insulation colours, labelled at both ends, on orthogonal ways that never touch anything but their own pins.
//!
//! [`place`] turns a [`Diagram`] into a [`PlacedDiagram`] by layered layout:
//! 1. `place_columns` gives places their columns;
//! 2. `ordering` threads every wire through the channels between columns; `first_order`, `reposition`, `pin_order` and
//!    `threshold_search` choose the order of everything for little `cost`;
//! 3. `row_positions` and `simplex` give everything its row, with as many level wires as possible;
//! 4. `routing` gives every wire that changes its row in a channel a track of its own;
//! 5. `placement` makes points of it, `paint` draws them.
//!
//! Labels stand beside the pin on a stretch that no track may use, so that they meet nothing. No step uses chance.

mod cost;
mod diagram;
mod first_order;
mod from_model;
mod live;
mod ordering;
mod outlines;
mod paint;
mod partition;
mod pin_order;
mod pin_sides;
mod place_columns;
mod placed;
mod placement;
mod reposition;
mod routing;
mod row_positions;
mod simplex;
mod sizes;
mod threshold_search;

pub use diagram::{Diagram, DiagramPart, DiagramPin, DiagramWire, Flow, PartEdge, PartShape, PinAt, Plugged};
pub(super) use paint::{frames, line, part_bodies};
pub use partition::Share;
pub use placed::{PlacedDiagram, PlacedFrame, PlacedPart, PlacedPin, PlacedWire};

use kit::geometry::Size;
use kit::lines::LEAST_TEXT;
use kit::scene::{Item, Scene};
use kit::sheet::{Paper, Sheet, Strip};
use model::Model;
use ordering::ColumnOrder;
use states::Live;

/// What the connection diagram of a harness shows, without positions.
pub fn subject(model: &Model) -> Diagram {
    from_model::diagram(model)
}

/// Draws the connection diagram of a harness on one sheet as large as it needs to be.
pub fn connection_diagram(model: &Model) -> Scene {
    let diagram = subject(model);
    let strip = Strip {
        job: model.job.title.clone(),
        drawing: "Connection diagram".into(),
        revision: model.job.revision.clone(),
        sheet: 1,
        sheets: 1,
        scale: "not to scale".into(),
    };
    scene(&diagram, &place(&diagram), &strip)
}

/// Draws the connection diagram of a harness on as many sheets, none larger than the paper, as it takes to keep its
/// lettering legible; wires that go on elsewhere end in marks that name the other sheet.
pub fn sheets(model: &Model, paper: Paper) -> Vec<Scene> {
    let shares = shares(&subject(model), paper);
    let strip = |sheet: usize| Strip {
        job: model.job.title.clone(),
        drawing: "Connection diagram".into(),
        revision: model.job.revision.clone(),
        sheet: sheet + 1,
        sheets: shares.len(),
        scale: "not to scale".into(),
    };
    let drawn = shares.iter().enumerate().map(|(sheet, share)| {
        let placed = place_within(&share.diagram, paper, "");
        let drawing = paint::items(&share.diagram, &placed);
        within(&share.diagram, &placed, drawing, &strip(sheet), (paper, ""))
    });
    drawn.collect()
}

/// The same sheets of a harness in one state: what carries current lit, voltages at the pins.
pub fn live_sheets(model: &Model, live: &Live, paper: Paper) -> Vec<Scene> {
    let note = super::live::note(live);
    // Keep the usual partition and order if the longer words allow it, so that sheets can be compared.
    let lit = |share: &Share| {
        let shown = live::with_readings(&share.diagram, model, live);
        let alike = ordered(&share.diagram).map(|(order, _)| finish(&order.showing(&shown)));
        let placed = alike.filter(|placed| fits(&shown, placed, paper, &note));
        let placed = placed.unwrap_or_else(|| place_within(&shown, paper, &note));
        (shown, placed)
    };
    let drawings: Vec<(Diagram, PlacedDiagram)> = shares(&subject(model), paper).iter().map(lit).collect();
    let strip = |sheet: usize| Strip {
        job: model.job.title.clone(),
        drawing: format!("Connection diagram, live: {}", live.state),
        revision: model.job.revision.clone(),
        sheet: sheet + 1,
        sheets: drawings.len(),
        scale: "not to scale".into(),
    };
    let drawn = drawings.iter().enumerate().map(|(sheet, (shown, placed))| {
        let (items, size) = paint::items(shown, placed);
        let drawing = (super::live::shaded(items, model, live), size);
        within(shown, placed, drawing, &strip(sheet), (paper, &note))
    });
    drawn.collect()
}

/// What each sheet of a paper shows.
pub fn shares(diagram: &Diagram, paper: Paper) -> Vec<Share> {
    let mut shared = Vec::new();
    for limits in LIMITS {
        shared = shared_out(diagram, paper, limits);
        let fits_roughly = |share: &Share| {
            let mut plans = place_columns::plans(&share.diagram).into_iter();
            share.diagram.parts.len() <= 1
                || plans.any(|plan| fits(&share.diagram, &finish(&roughly(&share.diagram, plan)), paper, ""))
        };
        if shared.iter().all(fits_roughly) {
            break;
        }
    }
    shared
}

/// Shares a diagram out, by the shares of a paper's rows below which anything fits and above which nothing does.
fn shared_out(diagram: &Diagram, paper: Paper, [surely, may]: [f64; 2]) -> Vec<Share> {
    let full = rows_on(paper);
    partition::shared(diagram, &|part| {
        let rows = part.parts.iter().map(sizes::rows_wanted).sum::<i64>() as f64;
        // Only what may go either way is laid out.
        rows < full * surely || (rows < full * may && rough_scale(part, paper) >= WANTED_SCALE)
    })
}

/// Shares of the rows that a paper has in all its columns, below which a diagram nearly always fits, and above which it
/// does not: found by laying out made-up ones. A finished share may have more marks than it was tried with, one for
/// each sheet that it goes on to, so narrower limits follow for what doesn't fit in the end.
const LIMITS: [[f64; 2]; 5] = [[0.35, 0.9], [0.0, 0.9], [0.0, 0.6], [0.0, 0.45], [0.0, 0.3]];

/// The rows of all columns together on a paper filled to its edges.
fn rows_on(paper: Paper) -> f64 {
    let field = Sheet::of(paper.lying()).field;
    let [width, height] = [field.width(), field.height()].map(|mm| mm / WANTED_SCALE / sizes::ROW);
    width / place_columns::COLUMN_WIDTH_ROWS * height
}

/// The scale wanted for drawings on paper when sheets are shared out, and the smallest that keeps lettering
/// legible, as parts of their own size.
const WANTED_SCALE: f64 = 0.85;
/// See [`WANTED_SCALE`].
pub(super) const LEAST_SCALE: f64 = LEAST_TEXT / sizes::TEXT;

/// Plans that are looked at to see whether something fits; the later ones are wider than a sheet of paper.
const ROUGH_PLANS: usize = 4;

/// The size in which a drawing so large fits the paper, either way round; never more than its own.
fn scale_on(size: Size, paper: Paper) -> f64 {
    let on = |sheet: Size| {
        let field = Sheet::of(sheet).field;
        (field.width() / size.width).min(field.height() / size.height)
    };
    on(paper.lying()).max(on(paper.upright())).min(1.0)
}

/// The size in which the finished sheet of a drawing so large is no larger than the paper; `None` if its lettering
/// could not be read then.
pub(super) fn fitted(size: Size, paper: Paper, note: &str) -> Option<f64> {
    // A narrow sheet's caution takes more lines.
    let within = |scale: &f64| {
        let sheet = Sheet::around_noted(Size::new(size.width * scale, size.height * scale), note).size;
        [paper.lying(), paper.upright()]
            .iter()
            .any(|p| sheet.width <= p.width + 1e-6 && sheet.height <= p.height + 1e-6)
    };
    let first = scale_on(size, paper);
    let mut scales = std::iter::successors(Some(first), |scale| Some(scale * 0.99)).take_while(|s| *s >= LEAST_SCALE);
    scales.find(within)
}

/// The same for a diagram that is only roughly laid out.
fn rough_scale(diagram: &Diagram, paper: Paper) -> f64 {
    let mut best = 0.0_f64;
    for plan in place_columns::plans(diagram).into_iter().take(ROUGH_PLANS) {
        let placed = finish(&roughly(diagram, plan));
        best = best.max(scale_on(paint::extent(diagram, placed.size), paper));
        if best >= WANTED_SCALE {
            break;
        }
    }
    best
}

/// The finished sheet, at most as large as the paper as long as that keeps its lettering legible.
fn within(
    diagram: &Diagram,
    placed: &PlacedDiagram,
    (items, size): (Vec<Item>, Size),
    strip: &Strip,
    (paper, note): (Paper, &str),
) -> Scene {
    let scale = fitted(size, paper, note).unwrap_or(LEAST_SCALE);
    let items = items.into_iter().map(|item| item.scaled(scale)).collect();
    on_sheet(diagram, placed, strip, (items, Size::new(size.width * scale, size.height * scale)), note)
}

/// How many of the plans are worked out to the end.
const FINALISTS: usize = 2;
/// Changes tried on every plan, for each wire.
const TRIES: usize = 4;
/// Changes tried on the finalists, for each wire.
const FINAL_TRIES: usize = 40;
/// Wires that these numbers are counted for at most.
const MOST_SEARCHED: usize = 150;

/// Places everything on a sheet as large as it needs to be.
pub fn place(diagram: &Diagram) -> PlacedDiagram {
    ordered(diagram).map_or_else(PlacedDiagram::default, |(_, placed)| placed)
}

/// The best order of everything, with what it comes to; none for a diagram of nothing.
fn ordered(diagram: &Diagram) -> Option<(ColumnOrder<'_>, PlacedDiagram)> {
    finals(diagram).0.into_iter().next()
}

/// The orders that were worked out to the end, the best first, and those that were not.
fn finals(diagram: &Diagram) -> (Vec<(ColumnOrder<'_>, PlacedDiagram)>, Vec<ColumnOrder<'_>>) {
    // The search costs a change the more the larger the diagram: from some size on, each wire gets fewer of them.
    let wires = diagram.wires.len().min(MOST_SEARCHED);
    let mut drafts: Vec<(f64, ColumnOrder)> = place_columns::plans(diagram)
        .into_iter()
        .map(|plan| {
            let slots = pin_sides::towards_targets(diagram, &plan.column_of);
            let mut order = ColumnOrder::new(diagram, plan.stacks, plan.column_of, slots);
            first_order::settle(&mut order, 2);
            threshold_search::search(&mut order, TRIES * wires);
            (cost::estimate(&order), order)
        })
        .collect();
    drafts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut drafts = drafts.into_iter().map(|(_, order)| order);
    let worked_out = drafts.by_ref().take(FINALISTS).map(|mut order| {
        threshold_search::search(&mut order, FINAL_TRIES * wires);
        let placed = finish(&order);
        (order, placed)
    });
    let mut finals: Vec<(ColumnOrder, PlacedDiagram)> = worked_out.collect();
    finals.sort_by(|a, b| a.1.price().total_cmp(&b.1.price()));
    (finals, drafts.collect())
}

/// The best layout that fits the paper; the best one at all where none does.
pub(super) fn place_within(diagram: &Diagram, paper: Paper, note: &str) -> PlacedDiagram {
    let (finals, others) = finals(diagram);
    let best = finals.first().map(|(_, placed)| placed.clone()).unwrap_or_default();
    let first = finals.into_iter().map(|(_, placed)| placed);
    first
        .chain(others.iter().map(finish))
        .chain(place_columns::plans(diagram).into_iter().map(|plan| finish(&roughly(diagram, plan))))
        .find(|placed| fits(diagram, placed, paper, note))
        .unwrap_or(best)
}

/// Whether the finished sheet is no larger than the paper.
fn fits(diagram: &Diagram, placed: &PlacedDiagram, paper: Paper, note: &str) -> bool {
    fitted(paint::extent(diagram, placed.size), paper, note).is_some()
}

/// A quick order of a plan.
fn roughly(diagram: &Diagram, plan: place_columns::Plan) -> ColumnOrder<'_> {
    let slots = pin_sides::towards_targets(diagram, &plan.column_of);
    let mut order = ColumnOrder::new(diagram, plan.stacks, plan.column_of, slots);
    first_order::settle(&mut order, 1);
    order
}

/// Rows, tracks and points of an order.
fn finish(order: &ColumnOrder) -> PlacedDiagram {
    let mut order = order.clone();
    pin_sides::add_idle_pins(order.diagram, &mut order.slots);
    placement::compose(&order, &row_positions::rows(&order))
}

/// The finished sheet of a placed diagram.
pub fn scene(diagram: &Diagram, placed: &PlacedDiagram, strip: &Strip) -> Scene {
    on_sheet(diagram, placed, strip, paint::items(diagram, placed), "")
}

fn on_sheet(
    diagram: &Diagram,
    placed: &PlacedDiagram,
    strip: &Strip,
    (items, size): (Vec<Item>, Size),
    note: &str,
) -> Scene {
    let sheet = Sheet::around_noted(size, note);
    let (dx, dy) = (sheet.field.left + (sheet.field.width() - size.width) / 2.0, sheet.field.top);
    let description =
        format!("{} parts in {} places, {} wires.", diagram.parts.len(), placed.frames.len(), diagram.wires.len());
    sheet.scene(strip, &description, items.into_iter().map(|item| item.moved(dx, dy)).collect())
}

#[cfg(test)]
mod audit;
#[cfg(test)]
mod samples;

#[cfg(test)]
mod tests {
    use super::*;
    use ::audit as written;
    use kit::svg;

    fn assert_faultless(diagram: &Diagram, name: &str) {
        let placed = place(diagram);
        let faults = audit::faults(diagram, &placed);
        assert!(faults.is_empty(), "{name}: {} faults\n{}", faults.len(), faults[..faults.len().min(12)].join("\n"));
        let found = written::audit(&svg::write(&scene(diagram, &placed, &Strip::default()))).unwrap();
        assert!(found.clean(), "{name}: {found}");
    }

    #[test]
    fn a_shop_drawing_is_faultless_and_nearly_free_of_crossings() {
        let diagram = samples::orchard_sprayer();
        assert_faultless(&diagram, "orchard sprayer");
        let placed = place(&diagram);
        assert!(placed.crossings() <= 8 && placed.bends() <= 90, "{} {}", placed.crossings(), placed.bends());
    }

    #[test]
    fn made_up_drawings_are_faultless() {
        for seed in 0..24 {
            assert_faultless(&samples::made_up(seed, 1 + 2 * seed as usize), &format!("seed {seed}"));
        }
    }

    #[test]
    fn nothing_and_nearly_nothing_can_be_drawn() {
        assert_faultless(&Diagram::default(), "nothing");
        let mut alone = samples::made_up(3, 4);
        alone.wires.clear();
        assert_faultless(&alone, "no wires");
    }

    #[test]
    fn the_same_diagram_is_placed_the_same() {
        let diagram = samples::made_up(5, 30);
        assert_eq!(format!("{:?}", place(&diagram)), format!("{:?}", place(&diagram)));
    }

    /// The audit itself: it finds what is moved to a wrong place.
    #[test]
    fn every_fault_is_found() {
        let diagram = samples::orchard_sprayer();
        let good = place(&diagram);
        let shown = |change: &dyn Fn(&mut PlacedDiagram)| {
            let mut bad = good.clone();
            change(&mut bad);
            audit::faults(&diagram, &bad).join("\n")
        };
        assert_eq!(shown(&|_| {}), "");
        let at = good.wires[1].labels[0].clone();
        assert!(shown(&|bad| bad.wires[0].labels[0] = at.clone()).contains("overlaps another label"));
        let body = good.parts[1].outline;
        assert!(shown(&|bad| bad.wires[0].labels[0][0].at = body.centre()).contains("over part"));
        let path = good.wires[1].path.clone();
        assert!(shown(&|bad| bad.wires[0].path = path.clone()).contains("does not end at its pin"));
        assert!(shown(&|bad| bad.wires[0].path = path.clone()).contains("meet"));
        assert!(shown(&|bad| bad.parts[1].outline = body.by(0.0, 500.0)).contains("frame"));
        assert!(shown(&|bad| bad.parts[0].outline = body).contains("overlap"));
        assert!(shown(&|bad| bad.size.width = 100.0).contains("sheet"));
        assert!(shown(&|bad| bad.parts[1].pins.clear()).contains("0 spots"));
    }
}
