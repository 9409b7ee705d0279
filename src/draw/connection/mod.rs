//! Connection diagram, the bay tech's drawing: parts as outlines with named pins, grouped by place; wires in their
//! insulation colours, labelled at both ends, on orthogonal ways that never touch anything but their own pins.
//!
//! [`place`] turns a [`Diagram`] into a [`PlacedDiagram`] by layered layout:
//! 1. `place_columns` gives places their columns;
//! 2. `ordering` threads every wire through the channels between columns; `first_order`, `reposition`, `pin_order` and
//!    `threshold_search` choose the order of everything for little `cost`;
//! 3. `row_positions` and `simplex` give everything its row, with as many level wires as possible;
//! 4. `routing` gives every wire that changes its row in a channel a track of its own;
//! 5. `placement` makes points of it, `pull_in` draws loops in, `hold_in` widens frames;
//! 6. `polish` tries last changes on the finished drawing, judged by crossings, corners, length and what goes `astray`;
//!    `paint` draws it.
//!
//! On paper, `sheet_choice` decides which parts stand on which sheet; a wire that goes on to another one leaves its pin by
//! an arrow with the name of the far pin.
//!
//! Labels stand beside the pin on a stretch that no track may use, so that they meet nothing. No step uses chance.

mod astray;
mod cost;
mod diagram;
mod first_order;
mod from_model;
mod hold_in;
mod live;
mod on_paper;
mod ordering;
mod outlines;
mod paint;
mod partition;
mod pin_order;
mod pin_sides;
mod place_columns;
mod placed;
mod placement;
mod polish;
mod pull_in;
mod reposition;
mod routing;
mod row_positions;
mod sheet_choice;
mod simplex;
mod sizes;
mod threshold_search;

pub use astray::astray;
pub use diagram::{
    Diagram, DiagramPart, DiagramPin, DiagramWire, Flow, PartEdge, PartShape, PinAt, Plugged, SecondHalf, SheetExit,
};
pub(super) use on_paper::{LEAST_SCALE, fitted};
pub(super) use paint::{frames, line, part_bodies};
pub use partition::Share;
pub use placed::{PlacedDiagram, PlacedExit, PlacedFrame, PlacedPart, PlacedPin, PlacedWire};
pub use sheet_choice::{LaidSheet, sheets as sheets_of};

use kit::scene::Scene;
use kit::sheet::{Paper, Strip};
use model::Model;
use on_paper::fits;
use ordering::ColumnOrder;
use row_positions::Care;
use states::Live;

/// What the connection diagram of a harness shows, without positions.
pub fn subject(model: &Model) -> Diagram {
    from_model::diagram(model)
}

/// Draws the connection diagram of a harness on one sheet as large as it needs to be.
pub fn connection_diagram(model: &Model) -> Scene {
    let diagram = subject(model);
    let strip = Strip::of(&model.job.title, &model.job.revision, "Connection diagram", [1, 1]).variant("W");
    scene(&diagram, &place(&diagram), &strip)
}

/// Draws the connection diagram of a harness on as many sheets, none larger than the paper, as it takes to keep its
/// lettering legible; wires that go on elsewhere end in marks that name the other sheet.
pub fn sheets(model: &Model, paper: Paper) -> Vec<Scene> {
    let mut laid = placed_shares(&subject(model), paper, "");
    on_paper::refer(&mut laid, paper, "");
    let strip =
        |sheet: usize| Strip::of(&model.job.title, &model.job.revision, "Connection diagram", [sheet + 1, laid.len()]);
    let drawn = laid.iter().enumerate().map(|(sheet, (diagram, placed))| {
        on_paper::scene(diagram, placed, paint::items(diagram, placed), &strip(sheet), (paper, ""))
    });
    drawn.collect()
}

/// The same sheets of a harness in one state: what carries current lit, voltages at the pins.
pub fn live_sheets(model: &Model, live: &Live, paper: Paper) -> Vec<Scene> {
    let note = super::live::note(live);
    let whole = subject(model);
    // Keep the usual partition and order if the longer words allow it, so that sheets can be compared.
    let lit = |sheet: &LaidSheet| {
        let shown = live::with_readings(&sheet.share.diagram, model, live);
        let alike = sheet.order.clone().map(|order| finish(&order.showing(&shown)));
        let placed = alike.filter(|placed| fits(&shown, placed, paper, &note));
        let placed = placed.unwrap_or_else(|| place_within(&shown, paper, &note));
        (shown, placed)
    };
    let mut drawings: Vec<(Diagram, PlacedDiagram)> = threads::each(&sheets_of(&whole, paper, ""), lit);
    let is_too_large =
        |(shown, placed): &(Diagram, PlacedDiagram)| shown.parts.len() > 1 && !fits(shown, placed, paper, &note);
    if drawings.iter().any(is_too_large) {
        drawings = placed_shares(&live::with_readings(&whole, model, live), paper, &note);
    }
    on_paper::refer(&mut drawings, paper, &note);
    let strip = |sheet: usize| {
        let drawing = format!("Connection diagram, live: {}", live.state);
        Strip::of(&model.job.title, &model.job.revision, drawing, [sheet + 1, drawings.len()]).variant("L")
    };
    let drawn = drawings.iter().enumerate().map(|(sheet, (shown, placed))| {
        let (items, size) = paint::items(shown, placed);
        let drawing = (super::live::shaded(items, model, live), size);
        on_paper::scene(shown, placed, drawing, &strip(sheet), (paper, &note))
    });
    drawn.collect()
}

/// What each sheet of a paper with a note shows, placed.
fn placed_shares(diagram: &Diagram, paper: Paper, note: &str) -> Vec<(Diagram, PlacedDiagram)> {
    sheets_of(diagram, paper, note).into_iter().map(|sheet| (sheet.share.diagram, sheet.placed)).collect()
}

/// More columns than this are wider than any paper.
const MOST_COLUMNS: usize = 7;
/// How many of the plans are worked out to the end.
const FINALISTS: usize = 3;
/// The same for a diagram on one sheet as large as it takes: this divided by its wires, from two to four.
const WHOLE_FINALISTS_WIRES: usize = 240;
/// Changes tried on every plan, for each wire.
const TRIES: usize = 4;
/// Changes tried on the finalists, for each wire.
const FINAL_TRIES: usize = 50;
/// Wires that these numbers are counted for at most.
const MOST_SEARCHED: usize = 150;
/// The same at least.
const LEAST_SEARCHED: usize = 30;

/// Series of changes that each finalist is worked out in: this divided by the wires, from one to [`MOST_SERIES`].
const SERIES_WIRES: usize = 120;
/// See [`SERIES_WIRES`].
const MOST_SERIES: usize = 4;
/// Finished drawings that the best one is compared with: this divided by the square of the wires.
const POLISHED: usize = 20_000;
/// The same at most.
const MOST_POLISHED: usize = 120;
/// Price of a line that [`astray()`] finds, beside [`PlacedDiagram::price`].
const ASTRAY: f64 = 30.0;
/// What a crossing costs more in the last choice than in the choice of sheets: on a sheet of paper, and on one as large
/// as it takes, where there is room to avoid it.
const CROSSING: f64 = 2.0;
/// See [`CROSSING`].
const WHOLE_CROSSING: f64 = 8.0;

/// Places everything on a sheet as large as it needs to be.
pub fn place(diagram: &Diagram) -> PlacedDiagram {
    ordered(diagram).map_or_else(PlacedDiagram::default, |(_, placed)| placed)
}

/// The best order of everything, with what it comes to; none for a diagram of nothing.
fn ordered(diagram: &Diagram) -> Option<(ColumnOrder<'_>, PlacedDiagram)> {
    let finalists = (WHOLE_FINALISTS_WIRES / diagram.wires.len().max(1)).clamp(2, 4);
    let contest = Contest { finalists, crossing: WHOLE_CROSSING };
    best(drafts(diagram, usize::MAX).into_iter().take(finalists), diagram, &contest, |_| true)
}

/// An order of every plan with at most the given number of columns, the cheapest first.
fn drafts(diagram: &Diagram, columns: usize) -> Vec<ColumnOrder<'_>> {
    let mut drafts: Vec<(f64, ColumnOrder)> = place_columns::plans(diagram)
        .into_iter()
        .filter(|plan| plan.stacks.len() <= columns)
        .map(|plan| {
            let slots = pin_sides::towards_targets(diagram, &plan.column_of);
            let mut order = ColumnOrder::new(diagram, plan.stacks, plan.column_of, slots);
            first_order::settle(&mut order, 2);
            threshold_search::search(&mut order, TRIES * searched(diagram), 0);
            (cost::estimate(&order), order)
        })
        .collect();
    drafts.sort_by(|a, b| a.0.total_cmp(&b.0));
    drafts.into_iter().map(|(_, order)| order).collect()
}

/// The search costs a change the more the larger the diagram: from some size on, each wire gets fewer of them.
fn searched(diagram: &Diagram) -> usize {
    diagram.wires.len().clamp(LEAST_SEARCHED, MOST_SEARCHED)
}

/// How the best order is chosen: how many drafts are worked out, and what a crossing costs more than usual.
struct Contest {
    finalists: usize,
    crossing: f64,
}

/// The contest on a sheet of paper.
const ON_PAPER: Contest = Contest { finalists: FINALISTS, crossing: CROSSING };

/// The best of the first orders that fit, worked out to the end.
fn best<'a>(
    drafts: impl IntoIterator<Item = ColumnOrder<'a>>,
    diagram: &Diagram,
    contest: &Contest,
    fits: impl Fn(&PlacedDiagram) -> bool + Sync,
) -> Option<(ColumnOrder<'a>, PlacedDiagram)> {
    let drafts = drafts.into_iter().map(|draft| (finish(&draft), draft)).filter(|(placed, _)| fits(placed));
    let series = (SERIES_WIRES / diagram.wires.len().max(1)).clamp(1, MOST_SERIES);
    let begun: Vec<(PlacedDiagram, ColumnOrder)> = drafts.take(contest.finalists).collect();
    let entries: Vec<_> = begun.iter().flat_map(|draft| (0..series).map(move |series| (draft, series))).collect();
    let price = |placed: &PlacedDiagram| {
        placed.price() + contest.crossing * placed.crossings() as f64 + ASTRAY * astray(diagram, placed).len() as f64
    };
    let finals = threads::each(&entries, |((rough, draft), series)| {
        let worked_out = |tries: usize| {
            let mut order = draft.clone();
            threshold_search::search(&mut order, tries * searched(diagram), *series as u64);
            let placed = finish(&order);
            fits(&placed).then_some((order, placed))
        };
        // What grows beyond the paper when it is worked out to the end is worked out less.
        let found = [FINAL_TRIES, FINAL_TRIES / 4, TRIES, 1].into_iter().find_map(worked_out);
        let (order, placed) = found.unwrap_or((draft.clone(), rough.clone()));
        (price(&placed), order, placed)
    });
    let cheapest = finals.into_iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let most = (POLISHED / diagram.wires.len().pow(2).max(1)).min(MOST_POLISHED);
    Some(polish::polish(cheapest, most, |order| {
        let placed = finish(order);
        fits(&placed).then(|| (price(&placed), placed))
    }))
}

/// The best layout that fits the paper; the best one at all where none does.
pub(super) fn place_within(diagram: &Diagram, paper: Paper, note: &str) -> PlacedDiagram {
    within_paper(diagram, paper, note).map_or_else(PlacedDiagram::default, |(_, placed)| placed)
}

/// The same with its order.
fn within_paper<'a>(diagram: &'a Diagram, paper: Paper, note: &str) -> Option<(ColumnOrder<'a>, PlacedDiagram)> {
    let on_paper = |placed: &PlacedDiagram| fits(diagram, placed, paper, note);
    best(drafts(diagram, MOST_COLUMNS), diagram, &ON_PAPER, on_paper)
        .or_else(|| {
            let rough = place_columns::plans(diagram).into_iter().map(|plan| roughly(diagram, plan));
            best(rough, diagram, &ON_PAPER, on_paper)
        })
        .or_else(|| best(drafts(diagram, usize::MAX), diagram, &ON_PAPER, |_| true))
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
    composed(order, Care::Final)
}

fn composed(order: &ColumnOrder, care: Care) -> PlacedDiagram {
    let mut order = order.clone();
    pin_sides::add_exits(&mut order);
    pin_sides::add_idle_pins(order.diagram, &mut order.slots);
    placement::compose(&order, &row_positions::rows(&order, care), care)
}

/// The finished sheet of a placed diagram.
pub fn scene(diagram: &Diagram, placed: &PlacedDiagram, strip: &Strip) -> Scene {
    let (items, size) = paint::items(diagram, placed);
    on_paper::OnSheet::new(size, "").scene(diagram, placed, items, strip)
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
