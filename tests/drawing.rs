//! Drawings from outside: what is written reads back clean, says all that it must, and is the same bytes every time.

mod jobs;

use draw::{connector_face, current_path};
use jobs::{model_of, model_of_text, root, specs_in};
use kit::number::mm;
use kit::scene::{Item, Scene, Seg, Size, around};
use kit::sheet::Paper;
use kit::symbols::specimen;
use kit::{pdf, png, svg};
use model::Model;

use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};

fn orchard() -> Model {
    resolved("orchard.yaml")
}

fn resolved(name: &str) -> Model {
    model_of(&root().join("tests/drawings").join(name))
}

/// Values of an attribute in all the drawings, with how often each stands there.
fn attributes(sheets: &[Scene], name: &str) -> BTreeMap<String, usize> {
    let mut found = BTreeMap::new();
    for scene in sheets {
        let written = svg::write(scene);
        let read = roxmltree::Document::parse(&written).unwrap();
        for value in read.descendants().filter_map(|n| n.attribute(name)) {
            *found.entry(value.to_string()).or_insert(0) += 1;
        }
    }
    found
}

fn assert_clean(sheets: &[Scene]) {
    for scene in sheets {
        let found = audit::audit(&svg::write(scene)).unwrap();
        assert!(found.clean(), "{}:\n{found}", scene.title);
    }
}

#[test]
fn the_specimen_sheet_is_clean() {
    let found = audit::audit(&svg::write(&specimen::sheet())).unwrap();
    assert!(found.clean() && found.texts > 70, "{found}");
}

#[test]
fn writers_give_the_same_bytes_every_time() {
    let scene = specimen::sheet();
    assert_eq!(svg::write(&scene), svg::write(&scene));
    assert_eq!(png::write(&scene, 2.0).unwrap(), png::write(&scene, 2.0).unwrap());
    let pages = [scene.clone(), scene];
    assert_eq!(pdf::write("Specimen", &pages), pdf::write("Specimen", &pages));
}

#[test]
fn current_paths_are_clean_on_every_paper_and_on_none() {
    let model = orchard();
    let papers = Paper::ALL.iter().flat_map(|p| [Some(p.lying()), Some(p.upright())]);
    for size in papers.chain([None]) {
        let sheets = current_path::draw(&model, size);
        assert_clean(&sheets);
        for sheet in &sheets {
            // A box with seven pins is wider than a narrow upright sheet, which then grows.
            let wide = size.filter(|size| size.width > 250.0);
            let fits = |size: Size| sheet.size.width <= size.width + 1e-6 && sheet.size.height <= size.height + 1e-6;
            assert!(wide.is_none_or(fits), "{:?} on {size:?}", sheet.size);
        }
    }
}

#[test]
fn current_paths_show_every_wire_part_and_label_once() {
    let model = orchard();
    for size in [None, Some(Paper::A4.lying()), Some(Paper::A3.lying())] {
        let sheets = current_path::draw(&model, size);
        let (wires, parts, labels) =
            (attributes(&sheets, "data-wire"), attributes(&sheets, "data-part"), attributes(&sheets, "data-text"));
        for wire in &model.wires {
            assert!(wires.contains_key(wire.id.as_str()), "wire {}", wire.id);
            let colour = wire.colour.map_or(String::new(), |c| format!(" {c}"));
            let size = wire.gauge.to_string();
            let make = if colour.is_empty() { "coax" } else { size.trim_end_matches(" mm²") };
            assert_eq!(labels.get(&format!("{} {make}{colour}", wire.id)), Some(&1), "label of wire {}", wire.id);
        }
        for part in model.parts.iter().filter(|p| p.name.as_str() != "C2") {
            assert!(parts.contains_key(part.name.as_str()), "{}", part.name);
        }
    }
}

/// Every flag points to a path that there is, and a coil and its contact point to each other.
#[test]
fn flags_and_cross_references_lead_somewhere() {
    let sheets = current_path::draw(&orchard(), Some(Paper::A4.lying()));
    let labels = attributes(&sheets, "data-label");
    let paths: BTreeSet<String> = labels.keys().filter_map(|l| l.strip_prefix("path ")).map(Into::into).collect();
    assert_eq!(paths.len(), paths.iter().filter_map(|p| p.parse::<usize>().ok()).max().unwrap());
    for (path, _) in attributes(&sheets, "data-path") {
        assert!(paths.contains(&path), "a flag points to path {path}");
    }
    let texts = attributes(&sheets, "data-text");
    let said = |start: &str| texts.keys().find(|t| t.starts_with(start)).cloned().unwrap_or_default();
    let (contact, coil) = (said("K2 kick-left coil: "), said("K2 kick-left contact: "));
    let number = |t: &str| t.rsplit(' ').next().unwrap().to_string();
    assert!(paths.contains(&number(&contact)) && paths.contains(&number(&coil)), "{contact}; {coil}");
    assert_eq!(labels.get(&format!("path {}", number(&coil))), Some(&1));
}

/// What stands where, a line for each wire, text and outline: a placed drawing to be read in a difference.
fn placed(scene: &Scene) -> String {
    fn lines(item: &Item, of: &str, out: &mut Vec<String>) {
        match item {
            Item::Group(group) => {
                let tag = &group.tag;
                let label = tag.label.as_ref().map(ToString::to_string);
                let names = [("wire", &tag.wire), ("part", &tag.part), ("pin", &tag.pin), ("label", &label)];
                let named = names.iter().find_map(|(kind, name)| name.as_ref().map(|n| format!("{kind} {n}")));
                let here = named.or(tag.kind.clone()).unwrap_or_else(|| of.to_string());
                if let Some(at) = tag.at {
                    out.push(format!("{here} joins at {} {}", mm(at.x), mm(at.y)));
                }
                group.items.iter().for_each(|item| lines(item, &here, out));
            }
            Item::Path(path) if of.starts_with("wire") => {
                if let [Seg::Move(a), Seg::Line(b)] = path.segs[..] {
                    let colour = path.stroke.map_or(String::new(), |s| s.colour.css());
                    out.push(format!("{of} from {} {} to {} {} {colour}", mm(a.x), mm(a.y), mm(b.x), mm(b.y)));
                }
            }
            Item::Path(_) => {}
            Item::Text(text) => out.push(format!("{of}: `{}` at {} {}", text.text, mm(text.at.x), mm(text.at.y))),
        }
    }
    let mut out = vec![format!("{} ({} x {})", scene.title, mm(scene.size.width), mm(scene.size.height))];
    out.push(scene.description.clone());
    scene.items.iter().skip(1).for_each(|item| lines(item, "", &mut out));
    out.join("\n")
}

#[test]
fn one_camera_as_current_paths() {
    let sheets = current_path::draw(&resolved("one-camera.yaml"), Some(Paper::A4.lying()));
    assert_clean(&sheets);
    insta::assert_snapshot!(sheets.iter().map(placed).collect::<Vec<_>>().join("\n\n"));
}

#[test]
fn one_camera_connector_faces() {
    let model = resolved("one-camera.yaml");
    let sheets = connector_face::sheets(&model, Paper::A4.upright());
    assert_clean(&sheets);
    insta::assert_snapshot!(sheets.iter().map(placed).collect::<Vec<_>>().join("\n\n"));
}

#[test]
fn connector_faces_show_both_sides_and_mark_plugs() {
    let model = orchard();
    for size in [Paper::Letter.upright(), Paper::A4.upright(), Paper::A3.lying()] {
        assert_clean(&connector_face::sheets(&model, size));
    }
    for connector in connector_face::connectors(&model) {
        let scene = connector_face::face(&model, connector);
        assert_clean(std::slice::from_ref(&scene));
        let seen = |view: &str| -> Vec<(String, f64)> {
            let mut cavities = Vec::new();
            scene.walk(|item| {
                if let Item::Group(group) = item
                    && group.tag.kind.as_deref() == Some(view)
                {
                    for cavity in &group.items {
                        if let Item::Group(cavity) = cavity {
                            let x = around(cavity.items.iter().filter_map(Item::bounds)).unwrap().centre().x;
                            cavities.push((cavity.tag.pin.clone().unwrap(), x));
                        }
                    }
                }
            });
            cavities
        };
        let (mating, wires) = (seen("mating-side"), seen("wire-side"));
        assert_eq!(mating.len(), model.part(connector).pins.len());
        // The wire side is the mating side in a mirror: what is left of another here is right of it there.
        for (a, b) in mating.iter().zip(mating.iter().skip(1)) {
            let x = |name: &str| wires.iter().find(|(n, _)| n == name).unwrap().1;
            assert!((a.1 < b.1) == (x(&a.0) > x(&b.0)) || (a.1 - b.1).abs() < 1e-6, "{} and {}", a.0, b.0);
        }
        // Mated halves face each other: cavity 1 meets cavity 1.
        let mate =
            model.joints.iter().map(|j| j.pins.map(|p| model.pin(p).part)).find(|ends| ends.contains(&connector));
        if let Some([a, b]) = mate
            && model.part(a).kind == model.part(b).kind
        {
            let left_first = mating[0].1 < mating[1].1;
            assert_eq!(left_first, connector == a.min(b), "{}", model.part(connector).name);
        }
        let plugs = attributes(std::slice::from_ref(&scene), "data-kind").get("plug").copied().unwrap_or(0);
        let empty = model.part(connector).pins.iter().filter(|&&p| model.wires_on(p).next().is_none()).count();
        assert_eq!(plugs, 2 * empty);
    }
}

/// Every end of every drawn wire is at one of its own pins, or at a flag that leads there.
#[test]
fn wires_end_at_their_pins_or_at_flags() {
    for scene in current_path::draw(&orchard(), Some(Paper::A4.lying())) {
        let written = svg::write(&scene);
        let read = roxmltree::Document::parse(&written).unwrap();
        let numbers = |text: &str| -> Vec<f64> {
            text.split(|c: char| c.is_ascii_alphabetic() || c == ' ').filter_map(|n| n.parse().ok()).collect()
        };
        let pins: Vec<(&str, Vec<f64>)> = read
            .descendants()
            .filter_map(|n| Some((n.attribute("data-pin")?, numbers(n.attribute("data-at")?))))
            .collect();
        let outlines = read.descendants().filter(|n| n.attribute("data-kind") == Some("flag"));
        let flags: Vec<Vec<f64>> = outlines
            .flat_map(|n| n.descendants().filter_map(|d| d.attribute("d")).map(numbers).collect::<Vec<_>>())
            .flat_map(|points| points.chunks(2).map(<[f64]>::to_vec).collect::<Vec<_>>())
            .collect();
        for wire in read.descendants().filter(|n| n.has_attribute("data-wire")) {
            let own = [wire.attribute("data-from").unwrap(), wire.attribute("data-to").unwrap()];
            for path in wire.children().filter_map(|n| n.attribute("d")) {
                let [x1, y1, x2, y2] = numbers(path)[..] else { panic!("a wire is one straight line: {path}") };
                for (x, y) in [(x1, y1), (x2, y2)] {
                    let near = |p: &[f64], reach: f64| (p[0] - x).abs() < reach && (p[1] - y).abs() < reach;
                    let at_pin = pins.iter().any(|(name, at)| own.contains(name) && near(at, 1.0));
                    let at_flag = flags.iter().any(|p| near(p, 8.0));
                    assert!(at_pin || at_flag, "wire {:?} ends in nothing at {x} {y}", wire.attribute("data-wire"));
                }
            }
        }
    }
}

#[test]
fn terminal_numbers_stand_at_the_rails() {
    let sheets = current_path::draw(&orchard(), None);
    let texts = attributes(&sheets, "data-text");
    for rail in ["30 battery", "15 run", "75 accessory", "31 ground"] {
        assert_eq!(texts.get(rail), Some(&1), "{rail}");
    }
    assert!(sheets[0].size.width > Size::new(0.0, 0.0).width);
}

/// A spec with the orchard's kinds of part and wires between any of their pins.
fn tangled(wires: &[(usize, usize)]) -> Model {
    let orchard = std::fs::read_to_string(root().join("tests/drawings/orchard.yaml")).unwrap();
    let (head, rest) = orchard.split_once("wires:\n").unwrap();
    let (_, kinds) = rest.split_once("own-parts:\n").unwrap();
    let ends: Vec<String> = orchard_ends();
    let colours = ["RD", "BK/WH", "YE", "GNYE", "WH/BU"];
    let lines = wires.iter().enumerate().map(|(i, &(a, b))| {
        let (from, mut to) = (a % ends.len(), b % ends.len());
        if from == to {
            to = (to + 1) % ends.len();
        }
        let colour = colours[(a + b) % colours.len()];
        format!("  - {{id: {}, from: {}, to: {}, gauge: 0.75 mm², colour: {colour}}}\n", i + 1, ends[from], ends[to])
    });
    let text = format!("{head}wires:\n{}own-parts:\n{kinds}", lines.collect::<String>());
    model_of_text(&text)
}

fn orchard_ends() -> Vec<String> {
    let model = orchard();
    model.pin_ids().map(|pin| model.pin_name(pin)).collect()
}

#[test]
fn demonstration_jobs_are_drawn_whole_and_clean() {
    let demos = specs_in(&["harness-specs"]);
    assert!(demos.len() > 2);
    for model in demos.iter().map(|path| model_of(path)) {
        for size in [None, Some(Paper::A3.lying())] {
            let sheets = current_path::draw(&model, size);
            assert_clean(&sheets);
            let drawn = attributes(&sheets, "data-wire");
            for wire in &model.wires {
                assert!(drawn.contains_key(wire.id.as_str()), "{}: wire {}", model.job.title, wire.id);
            }
        }
        assert_clean(&connector_face::sheets(&model, Paper::A4.upright()));
    }
}

/// How many random harnesses are drawn, the same ones each time; `TANGLES=500 cargo test --test drawing` draws more.
fn tangles() -> u32 {
    std::env::var("TANGLES").ok().and_then(|n| n.parse().ok()).unwrap_or(24)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: tangles(),
        failure_persistence: None,
        rng_seed: proptest::test_runner::RngSeed::Fixed(11),
        ..ProptestConfig::default()
    })]

    /// However the wires run, each is drawn and labelled once, nothing leaves the sheet, and no text covers another.
    #[test]
    fn any_tangle_is_drawn_whole(wires in prop::collection::vec((0..1000usize, 0..1000usize), 1..50), paper in 0..3usize) {
        let model = tangled(&wires);
        let size = [None, Some(Paper::A4.lying()), Some(Paper::A3.lying())][paper];
        let sheets = current_path::draw(&model, size);
        let (drawn, labels) = (attributes(&sheets, "data-wire"), attributes(&sheets, "data-label"));
        for wire in &model.wires {
            prop_assert!(drawn.contains_key(wire.id.as_str()), "wire {} is not drawn", wire.id);
            prop_assert!(labels.contains_key(&format!("wire {}", wire.id)), "wire {} has no label", wire.id);
        }
        for scene in &sheets {
            let found = audit::audit(&svg::write(scene)).unwrap();
            prop_assert!(found.clean(), "{}\n{found}", scene.title);
        }
    }
}
