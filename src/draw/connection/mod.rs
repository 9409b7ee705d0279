//! Connection diagram, the bay tech's drawing: parts as outlines with named pins, grouped by place; wires in their
//! insulation colours, labelled at both ends, on orthogonal ways that never touch anything but their own pins.
//!
//! [`place`] turns a [`Diagram`] into a [`Placed`] one: places become *bays* of columns (`bays`), every wire is threaded
//! through the channels between the columns and the order of everything is chosen for few crossings (`weave`, `sift`),
//! the order becomes grid rows with as many wires as possible level (`rows`, `simplex`), each channel gives every wire
//! that has to change its row a track of its own (`tracks`), and `compose` makes points of it. Labels stand on a stretch
//! beside the pin as long as they are, where no track may run, so they cannot meet anything. No step uses chance.

mod bays;
mod bodies;
mod compose;
mod diagram;
mod emit;
mod moves;
mod pins;
mod placed;
mod price;
mod rows;
mod search;
mod sides;
mod sift;
mod simplex;
mod sizes;
mod subject;
mod tracks;
mod weave;

pub use diagram::{Diagram, Edge, Flow, Form, Part, Pin, PinAt, Plugged, Wire};
pub(super) use emit::{frames, line, part_bodies};
pub use placed::{Placed, PlacedFrame, PlacedPart, PlacedPin, PlacedWire};

use super::scene::Scene;
use super::sheet::{Sheet, Strip};
use crate::model::Model;
use weave::Weave;

/// What the connection diagram of a harness shows, without positions.
pub fn subject(model: &Model) -> Diagram {
    subject::diagram(model)
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

/// How many of the plans are worked out to the end.
const FINALISTS: usize = 2;
/// Changes tried on every plan, for each wire.
const TRIES: usize = 4;
/// Changes tried on the finalists, for each wire.
const FINAL_TRIES: usize = 40;

/// Places everything on a sheet as large as it needs to be.
pub fn place(diagram: &Diagram) -> Placed {
    let wires = diagram.wires.len();
    let mut drafts: Vec<(f64, Weave)> = bays::plans(diagram)
        .into_iter()
        .map(|plan| {
            let slots = sides::towards_targets(diagram, &plan.column_of);
            let mut weave = Weave::new(diagram, plan.stacks, plan.column_of, slots);
            sift::settle(&mut weave, 2);
            search::search(&mut weave, TRIES * wires);
            (weave.estimate(), weave)
        })
        .collect();
    drafts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let finals = drafts.into_iter().take(FINALISTS).map(|(_, mut weave)| {
        search::search(&mut weave, FINAL_TRIES * wires);
        let placed = finish(&weave);
        (placed.price(), placed)
    });
    let best = finals.min_by(|a, b| a.0.total_cmp(&b.0));
    best.map_or_else(|| Placed { size: Default::default(), frames: vec![], parts: vec![], wires: vec![] }, |(_, p)| p)
}

/// Rows, tracks and points of an order.
fn finish(weave: &Weave) -> Placed {
    let mut weave = weave.clone();
    sides::add_idle_pins(weave.diagram, &mut weave.slots);
    compose::compose(&weave, &rows::rows(&weave))
}

/// The finished sheet of a placed diagram.
pub fn scene(diagram: &Diagram, placed: &Placed, strip: &Strip) -> Scene {
    let (items, size) = emit::items(diagram, placed);
    let sheet = Sheet::around(size);
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
    use super::super::{audit as written, svg};
    use super::*;

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

    /// The audit itself: what is moved to where it must not be is found.
    #[test]
    fn every_fault_is_found() {
        let diagram = samples::orchard_sprayer();
        let good = place(&diagram);
        let shown = |change: &dyn Fn(&mut Placed)| {
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
