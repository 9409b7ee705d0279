//! Drawings from outside: what is written reads back clean, says all that it must, and is the same bytes every time.

use loomwright::catalogue::Catalogue;
use loomwright::draw::scene::{Scene, Size};
use loomwright::draw::sheet::Paper;
use loomwright::draw::symbols::specimen;
use loomwright::draw::{audit, current_path, pdf, png, svg};
use loomwright::model::{self, Model};
use loomwright::{diagnostic, spec};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

fn orchard() -> Model {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/drawings/orchard.yaml");
    model::resolve(spec::read(&path), &Catalogue::default())
        .map_err(|u| diagnostic::problems(&u.sources, &u.problems, diagnostic::Style::Plain))
        .unwrap()
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
            let wide = size.is_some_and(|size| size.width > 250.0);
            assert!(!wide || Some(sheet.size) == size, "{:?} on {size:?}", sheet.size);
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
            let make = if colour.is_empty() { "coax".to_string() } else { wire.gauge.to_string() };
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

#[test]
fn terminal_numbers_stand_at_the_rails() {
    let sheets = current_path::draw(&orchard(), None);
    let texts = attributes(&sheets, "data-text");
    for rail in ["30 battery", "15 run", "75 accessory", "31 ground"] {
        assert_eq!(texts.get(rail), Some(&1), "{rail}");
    }
    assert!(sheets[0].size.width > Size::new(0.0, 0.0).width);
}
