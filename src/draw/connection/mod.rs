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
mod rows;
mod search;
mod sides;
mod sift;
mod simplex;
mod sizes;
mod tracks;
mod weave;

pub use diagram::{Diagram, Flow, Form, Part, Pin, PinAt, Wire};
pub use placed::{Placed, PlacedFrame, PlacedPart, PlacedPin, PlacedWire};

use super::scene::Scene;
use super::sheet::{Sheet, Strip};
use weave::Weave;

/// How many of the plans are worked out to the end.
const FINALISTS: usize = 2;
/// Changes tried on every plan, for each wire.
const TRIES: usize = 5;
/// Changes tried on the finalists, for each wire.
const FINAL_TRIES: usize = 50;

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
            (finish(&weave).price(diagram), weave)
        })
        .collect();
    drafts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let finals = drafts.into_iter().take(FINALISTS).map(|(_, mut weave)| {
        search::search(&mut weave, FINAL_TRIES * wires);
        let placed = finish(&weave);
        if std::env::var("TALK").is_ok() {
            println!("{} columns: {} crossings {} bends {} price {:.0} {:.0}×{:.0}", weave.columns.len(), weave.cost(), placed.crossings(), placed.bends(), placed.price(diagram), placed.size.width, placed.size.height);
        }
        (placed.price(diagram), placed)
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
    let description = format!("{} parts in {} places, {} wires.", diagram.parts.len(), placed.frames.len(), diagram.wires.len());
    sheet.scene(strip, &description, items.into_iter().map(|item| item.moved(dx, dy)).collect())
}

#[cfg(test)]
mod samples;
#[cfg(test)]
mod yardstick;
#[cfg(test)]
mod audit;
#[cfg(test)]
mod tests {
    use super::*;

    fn check(diagram: &Diagram, name: &str) -> Placed {
        let placed = place(diagram);
        let faults = audit::faults(diagram, &placed);
        if let Ok(folder) = std::env::var("LOOK") {
            let strip = Strip { job: name.into(), drawing: "Connection diagram".into(), revision: "A".into(), sheet: 1, sheets: 1, scale: "-".into() };
            let s = scene(diagram, &placed, &strip);
            std::fs::write(format!("{folder}/{name}.svg"), crate::draw::svg::write(&s)).unwrap();
            std::fs::write(format!("{folder}/{name}.png"), crate::draw::png::write(&s, 4.0).unwrap()).unwrap();
        }
        assert!(faults.is_empty(), "{name}: {} faults\n{}", faults.len(), faults[..faults.len().min(12)].join("\n"));
        placed
    }

    #[test]
    fn a_shop_drawing_has_no_faults() {
        let diagram = samples::orchard_sprayer();
        let placed = check(&diagram, "orchard sprayer");
        println!("{} crossings, {} bends, {:.0} mm, {:?}", placed.crossings(), placed.bends(), placed.length(), placed.size);
    }

    #[test]
    fn made_up_drawings_have_no_faults() {
        let only: Option<u64> = std::env::var("SEED").ok().and_then(|s| s.parse().ok());
        for seed in (0..200).filter(|s| only.is_none_or(|o| o == *s)) {
            let wires = 1 + (seed as usize * 37) % 150;
            let diagram = samples::made_up(seed, wires);
            let t = std::time::Instant::now();
            let placed = check(&diagram, &format!("seed {seed}"));
            println!("seed {seed}: {wires} wires, {} parts, {} crossings, {:.1} bends/wire, {:.0} × {:.0} mm, {:?}", diagram.parts.len(), placed.crossings(), placed.bends() as f64 / wires as f64, placed.size.width, placed.size.height, t.elapsed());
        }
    }

    #[test]
    fn fewer_crossings_than_dot() {
        let (mut ratios, mut ours, mut theirs, mut theirs_c) = (vec![], vec![], vec![], vec![]);
        for seed in (0..200).step_by(5) {
            let wires = 1 + (seed as usize * 37) % 150;
            let diagram = samples::made_up(seed, wires);
            let placed = place(&diagram);
            let Some((crossings, bends)) = yardstick::measured(&yardstick::dot(&diagram, &placed, false)) else { return };
            let Some((c2, b2)) = yardstick::measured(&yardstick::dot(&diagram, &placed, true)) else { return };
            println!("seed {seed}: {wires} wires: ours {} crossings {} bends, dot {crossings} {bends}, with clusters {c2} {b2}", placed.crossings(), placed.bends());
            ratios.push((placed.crossings() as f64 + 1.0) / (crossings as f64 + 1.0));
            ours.push(placed.crossings()); theirs.push(crossings); theirs_c.push(c2);
        }
        ratios.sort_by(f64::total_cmp); ours.sort(); theirs.sort(); theirs_c.sort();
        println!("median ratio {:.2}; medians {} {} {}", ratios[ratios.len() / 2], ours[ours.len() / 2], theirs[theirs.len() / 2], theirs_c[theirs_c.len()/2]);
    }
}
