//! The connection diagram from outside, on made-up specs of every size and on the demos: read back from its SVG without a
//! fault, and everything of the model in it exactly as often as it should be.

mod jobs;
mod judges;
mod made_up;
mod yardstick;

use draw::connection::{self, Diagram, PlacedDiagram};
use jobs::{model_of, model_of_text, specs_in};
use judges::{DOT, available};
use kit::scene::{Item, Scene};
use kit::sheet::Strip;
use kit::svg;
use model::{Model, PartKind};
use std::collections::BTreeMap;
use std::path::PathBuf;

fn made_up_model(seed: u64, wires: usize) -> Model {
    model_of_text(&made_up::spec(seed, wires))
}

fn demos() -> Vec<PathBuf> {
    specs_in(&["harness-specs", "tests/drawings"])
}

/// How often each value of an attribute stands in a written drawing.
fn counted(written: &str, name: &str) -> BTreeMap<String, usize> {
    let mut found = BTreeMap::new();
    for value in roxmltree::Document::parse(written).unwrap().descendants().filter_map(|n| n.attribute(name)) {
        *found.entry(value.to_string()).or_insert(0) += 1;
    }
    found
}

fn texts(scene: &Scene) -> usize {
    let mut count = 0;
    scene.walk(|item| count += usize::from(matches!(item, Item::Text(_))));
    count
}

/// A harness and its connection diagram on one sheet.
struct Drawn {
    name: String,
    model: Model,
    diagram: Diagram,
    placed: PlacedDiagram,
}

/// Draws a harness and holds the drawing to it.
fn drawn(name: String, model: Model) -> Drawn {
    let diagram = connection::subject(&model);
    let placed = connection::place(&diagram);
    assert_right(&model, &name, &connection::scene(&diagram, &placed, &Strip::default()));
    Drawn { name, model, diagram, placed }
}

/// No fault in the drawing as it is written, and every wire, label, part and pin as often as it should be there.
fn assert_right(model: &Model, name: &str, scene: &Scene) {
    let written = svg::write(scene);
    let found = audit::audit(&written).unwrap();
    assert!(found.clean(), "{name}: {found}");
    assert_eq!((found.wires, found.texts), (model.wires.len(), texts(scene)), "{name}");
    let root = roxmltree::Document::parse(&written).unwrap();
    for wire in &model.wires {
        let id = wire.id.as_str();
        let of_wire = || root.descendants().filter(move |n| n.attribute("data-wire") == Some(id));
        // Bows are painted once more over the wires that they cross.
        let line = |n: &roxmltree::Node| n.attribute("data-label").is_none() && n.attribute("data-kind") != Some("bow");
        assert_eq!(of_wire().filter(line).count(), 1, "{name}: wire {id}");
        let labels: Vec<&str> = of_wire().filter_map(|n| n.attribute("data-text")).collect();
        assert_eq!(labels.len(), 2, "{name}: labels of wire {id}");
        let colour = wire.colour.map(|c| c.to_string()).unwrap_or_default();
        assert!(labels.iter().all(|l| l.starts_with(id) && l.ends_with(&colour)), "{name}: {labels:?}");
    }
    let (parts, pins) = (counted(&written, "data-part"), counted(&written, "data-pin"));
    let pin_names = counted(&written, "data-of");
    for part in &model.parts {
        let shown = parts.get(part.name.as_str()).copied().unwrap_or(0);
        let may_repeat = matches!(part.kind, PartKind::Ground | PartKind::Supply | PartKind::Feed);
        assert!(shown == 1 || (may_repeat && shown > 1), "{name}: part {} {shown} times", part.name);
        for &pin in &part.pins {
            let wires = model.wires_on(pin).map(|w| model.wire(w).ends.iter().filter(|e| **e == pin).count());
            let wires: usize = wires.sum();
            let pin_name = model.pin_name(pin);
            let terminals = pins.get(&pin_name).copied().unwrap_or(0);
            let covered = model.joints.iter().any(|joint| joint.pins.contains(&pin)) && wires == 0;
            let wanted = if covered && part.kind != PartKind::Connector { 0 } else { wires.max(1) };
            assert!(terminals == wanted || shown > 1, "{name}: pin {pin_name} {terminals} times, {wires} wires");
            let named = pin_names.contains_key(&pin_name) || terminals > 0;
            assert!(named, "{name}: pin {pin_name} is not to be found");
        }
    }
}

#[test]
fn small_made_up_harnesses_are_drawn_right() {
    for seed in 0..10 {
        drawn(format!("seed {seed}"), made_up_model(seed, 3 + 3 * seed as usize));
    }
}

#[test]
fn the_same_harness_is_drawn_the_same() {
    let draw = || svg::write(&connection::connection_diagram(&made_up_model(7, 25)));
    assert_eq!(draw(), draw());
}

/// Against `dot` with orthogonal splines on the same graph grouped by the same places, and on the graph without its
/// places. `dot` has an advantage in both: its wires may end anywhere on a part, ours end at their pins.
fn compared(drawn: &[&Drawn]) -> Vec<[usize; 3]> {
    println!("{:<28} wires  crossings  with places, dot  without, dot  bends a wire, dot", "");
    let rows = threads::each(drawn, |drawn| {
        let Drawn { name, diagram, placed, model } = drawn;
        let of_dot = [true, false].map(|places| yardstick::measured(&yardstick::dot(diagram, placed, places)));
        let [Some((grouped, _)), Some((free, bends))] = of_dot else {
            println!("{name:<28} not compared: dot crashes");
            return None;
        };
        let wires = model.wires.len();
        let each = |bends: usize| bends as f64 / wires.max(1) as f64;
        let (ours, own_bends) = (placed.crossings(), each(placed.bends()));
        println!("{name:<28}{wires:>6}{ours:>11}{grouped:>18}{free:>14}{own_bends:>14.1}{:>5.1}", each(bends));
        Some([ours, grouped, free])
    });
    rows.into_iter().flatten().collect()
}

fn median(rows: &[[usize; 3]], column: usize) -> usize {
    let mut values: Vec<usize> = rows.iter().map(|row| row[column]).collect();
    values.sort_unstable();
    values.get(values.len() / 2).copied().unwrap_or(0)
}

fn assert_fewer_crossings(drawn: &[&Drawn]) {
    if !available(&[DOT]) {
        return;
    }
    let rows = compared(drawn);
    let [ours, grouped, free] = [0, 1, 2].map(|column| median(&rows, column));
    println!("median of {}: {ours} crossings; dot with places {grouped}, without {free}", rows.len());
    assert!(rows.len() * 10 >= drawn.len() * 9, "dot lays out only {} of {} harnesses", rows.len(), drawn.len());
    assert!(ours < grouped, "{ours} {grouped}");
}

#[test]
fn demos_are_drawn_right_and_cross_less_than_with_dot() {
    let demos = demos().into_iter().map(|path| {
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        drawn(name, model_of(&path))
    });
    let made_up = (0..6).map(|seed| drawn(format!("made up {seed}"), made_up_model(seed, 20 + 3 * seed as usize)));
    assert_fewer_crossings(&demos.chain(made_up).collect::<Vec<Drawn>>().iter().collect::<Vec<_>>());
}

/// All are drawn; every fourth, which takes in all sizes, is drawn by `dot` as well, which takes longer than we do.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn two_hundred_made_up_harnesses_are_drawn_right_and_cross_less_than_with_dot() {
    let seeds: Vec<u64> = (0..200).collect();
    let drawn = threads::each(&seeds, |seed| {
        drawn(format!("made up {seed}"), made_up_model(1000 + seed, 1 + (*seed as usize * 37) % 150))
    });
    assert_fewer_crossings(&drawn.iter().step_by(4).collect::<Vec<_>>());
}
