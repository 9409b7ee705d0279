//! What a drawing says must be so: each check reads the finished sheets and compares them with the model or with each
//! other.

use draw::list::Drawing;
use kit::geometry::{Point, Rect};
use kit::scene::{Item, LabelOf, Scene};
use model::{Half, Model, half};
use std::collections::BTreeMap;

/// The checks of a drawing.
pub fn assert_literal(name: &str, drawing: &Drawing, model: &Model, scenes: &[Scene]) {
    match drawing.name {
        "connection-diagram" | "connection-whole" => pins_stand_on_their_half(name, model, scenes),
        board if board.starts_with("build-board") => sheets_join_as_the_key_plan_shows(name, scenes),
        _ => {}
    }
}

/// The blades of mated contacts stand on the half that has pins by the lists.
fn pins_stand_on_their_half(name: &str, model: &Model, scenes: &[Scene]) {
    for scene in scenes {
        let (mut halves, mut blades): (Vec<(String, Rect)>, Vec<Rect>) = (Vec::new(), Vec::new());
        scene.walk(|item| {
            let Item::Group(group) = item else { return };
            match (group.tag.kind.as_deref(), &group.tag.part, item.bounds()) {
                (Some("half"), Some(part), Some(bounds)) => halves.push((part.clone(), bounds)),
                (Some("mated"), ..) => {
                    let is_filled = |item: &&Item| matches!(item, Item::Path(path) if path.fill.is_some());
                    blades.extend(group.items.iter().filter(is_filled).filter_map(Item::bounds));
                }
                _ => {}
            }
        });
        for (holder, box_of_half) in &halves {
            let part = model.part_named(holder).unwrap_or_else(|| panic!("{name}: no part {holder}"));
            let touches = |blade: &Rect| box_of_half.inflate(0.3).overlaps(blade);
            // Where both halves are known by their kind, the lists don't say which has pins.
            let Some(own) = half(model, part) else { continue };
            let held = blades.iter().filter(|blade| touches(blade)).count();
            assert_eq!(held > 0, own == Half::Pins, "{name}: {holder} is the {own:?} half, with {held} pins drawn");
        }
    }
}

/// Each edge of a sheet that lies on another one does so on the key plan: no other sheet is nearer on that side.
fn sheets_join_as_the_key_plan_shows(name: &str, scenes: &[Scene]) {
    let mut on_plan: BTreeMap<String, Point> = BTreeMap::new();
    let mut tiles: Vec<(String, String)> = Vec::new();
    for scene in scenes {
        scene.walk(|item| {
            let Item::Group(group) = item else { return };
            let Some(LabelOf::Thing(label)) = &group.tag.label else { return };
            let texts: Vec<&str> = group
                .items
                .iter()
                .filter_map(|item| if let Item::Text(text) = item { Some(text.text.as_str()) } else { None })
                .collect();
            if let (Some(sheet), Some(bounds)) = (label.strip_prefix("sheet "), item.bounds()) {
                let known = on_plan.insert(sheet.to_string(), bounds.centre());
                assert!(known.is_none(), "{name}: two sheets {sheet} on the key plan");
            }
            if let ("tile", [sheet, words]) = (label.as_str(), texts.as_slice()) {
                tiles.push((sheet.to_string(), words.to_string()));
            }
        });
    }
    for (sheet, words) in &tiles {
        for (edge, other) in words.split(", ").filter_map(|pair| pair.split_once(" edge on ")) {
            let (Some(here), Some(there)) = (on_plan.get(sheet), on_plan.get(other)) else { continue };
            let (dx, dy) = (there.x - here.x, there.y - here.y);
            // A sheet is wider than it is high, and its name stands somewhere in it.
            let is_there = match edge {
                "left" => dx < 0.0,
                "right" => dx > 0.0,
                "upper" => dy < 0.0,
                "lower" => dy > 0.0,
                _ => false,
            };
            assert!(is_there, "{name}: {sheet} says `{edge} edge on {other}`, the key plan shows {dx:.1}, {dy:.1}");
        }
    }
}
