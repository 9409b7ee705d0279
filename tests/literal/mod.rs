//! What a drawing says must be so: each check reads the finished sheets and compares them with the model or with each
//! other.

use draw::list::Drawing;
use kit::geometry::{Point, Rect, Seg};
use kit::scene::{Item, LabelOf, Scene};
use model::tails::tail;
use model::{ElementKind, Half, Model, PartKind, PinId, ShieldEnd, half, has_shield};
use states::{Live, Liveness};
use std::collections::BTreeMap;

/// The checks of a drawing.
pub fn assert_literal(name: &str, drawing: &Drawing, model: &Model, scenes: &[Scene]) {
    match drawing.name {
        "connection-diagram" | "connection-whole" => {
            pins_stand_on_their_half(name, model, scenes);
            shields_are_named(name, model, scenes, true);
        }
        "connector-faces" => shields_are_named(name, model, scenes, false),
        "signal-map" => outputs_have_their_pins_names(name, model, scenes),
        "symbols" => marks_are_explained(name, model, scenes),
        // Made-up harnesses may have more runs than a sheet has room for words.
        "harness-layout" if is_demo(name) => leaders_and_figures_are_clear(name, model, scenes),
        board if board.starts_with("build-board") => {
            sheets_join_as_the_key_plan_shows(name, scenes);
            holders_are_at_their_distance(name, model, scenes);
        }
        _ => {}
    }
}

fn is_demo(name: &str) -> bool {
    std::path::Path::new("harness-specs").join(name).with_extension("yaml").exists()
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

/// All texts of some sheets.
fn texts(scenes: &[Scene]) -> Vec<String> {
    let mut found = Vec::new();
    for scene in scenes {
        scene.walk(|item| {
            if let Item::Text(text) = item {
                found.push(text.text.clone());
            }
        });
    }
    found
}

/// A cavity that carries the shields of cables says so: in the connection diagram how many there are, where it stands by
/// itself or mates with another connector; on every face which ones.
fn shields_are_named(name: &str, model: &Model, scenes: &[Scene], in_diagram: bool) {
    let mut carried: BTreeMap<PinId, Vec<&str>> = BTreeMap::new();
    for id in model.wire_ids().filter(|id| has_shield(model, *id)) {
        for end in model.wire(id).ends {
            match model.shield_end(end) {
                ShieldEnd::Pin(cavity) if model.part(model.pin(cavity).part).kind == PartKind::Connector => {
                    carried.entry(cavity).or_default().push(model.wire(id).id.as_str());
                }
                _ => {}
            }
        }
    }
    let said = texts(scenes);
    for (cavity, wires) in &carried {
        let part = model.pin(*cavity).part;
        let plugs_in = model.joints.iter().any(|joint| {
            let [a, b] = joint.pins.map(|pin| model.pin(pin).part);
            [(a, b), (b, a)].iter().any(|(own, mate)| *own == part && model.part(*mate).kind != PartKind::Connector)
        });
        let is_said = if in_diagram {
            let words = if wires.len() == 1 { "1 shield".to_string() } else { format!("{} shields", wires.len()) };
            plugs_in || said.iter().any(|text| text.contains(&words))
        } else {
            // A remark of several lines is broken anywhere.
            let said = said.join(" ");
            let words = format!("cavity {} also carries the shield", model.pin(*cavity).name);
            let remarks: Vec<&str> = said.split(&words).skip(1).collect();
            wires.iter().all(|wire| remarks.iter().any(|text| text.contains(wire)))
        };
        assert!(is_said, "{name}: {} carries the shields of {wires:?}", model.pin_name(*cavity));
    }
}

/// The map calls an output as its pin is called on the other drawings.
fn outputs_have_their_pins_names(name: &str, model: &Model, scenes: &[Scene]) {
    let has_pin = |words: &str| model.pins.iter().any(|pin| pin.name.as_str() == words);
    let says = |words: &str| texts(scenes).iter().any(|text| text == words);
    assert!(!says("output") || has_pin("output"), "{name}: an output without its pin's name");
    if name == "refuse-truck" {
        assert!(says("active"), "{name}: the selector's output is called as its pin");
    }
}

/// The sheet of symbols explains the flag and the circle of a tap where the job's diagram has them.
fn marks_are_explained(name: &str, model: &Model, scenes: &[Scene]) {
    let said = texts(scenes).join(" ");
    let size = kit::sheet::Papers::Iso.large().lying();
    let diagram = draw::current_path::draw(model, Some(size));
    let mut flags = false;
    diagram.iter().for_each(|scene| {
        scene.walk(|item| flags |= matches!(item, Item::Group(group) if group.tag.kind.as_deref() == Some("flag")));
    });
    assert_eq!(said.contains("flag: goes on"), flags, "{name}: flags");
    let is_tapped = |part: &model::Part| {
        part.kind == PartKind::Feed && part.pins.iter().any(|&pin| model.wires_on(pin).next().is_some())
    };
    assert_eq!(said.contains("tap on a wire"), model.parts.iter().any(is_tapped), "{name}: taps");
}

/// The camera that takes its current sends its picture: the cable at its output carries one. The key of a live sheet
/// says what stands beside its wires.
pub fn assert_live(name: &str, drawing: &Drawing, model: &Model, live: &Live, scenes: &[Scene]) {
    if drawing.name.starts_with("connection") {
        let keys = texts(scenes).into_iter().filter(|text| text.contains("its gauge,")).count();
        assert_eq!(keys, 0, "{name}: the key names gauges where amperes stand");
    }
    for part in &model.parts {
        let sends = part.elements.iter().find_map(|id| match &model.element(*id).kind {
            ElementKind::Source { pin, .. } => Some(*pin),
            _ => None,
        });
        let Some(out) = sends else { continue };
        // By its feed: its ground may carry what another part returns through the shield of its cable.
        let mut feeds = part.elements.iter().filter_map(|id| match &model.element(*id).kind {
            ElementKind::Load(load) => Some(load.feed),
            _ => None,
        });
        let runs = feeds.any(|pin| live.at_pin(pin) == Liveness::Load);
        // The cable is on its own pin, or on the cavity that its plug has there.
        let met = model.joints.iter().filter(|j| j.pins.contains(&out)).flat_map(|j| j.pins);
        for wire in std::iter::once(out).chain(met).flat_map(|pin| model.wires_on(pin)) {
            let dead = live.liveness(wire) == Liveness::Dead;
            assert!(!(runs && dead), "{name}: {} runs, its cable {} is dead", part.name, model.wire(wire).id);
        }
    }
}

/// On a board at full size each connector's distance from its breakout stands beside it, on a broken lead; the board has the
/// tables of pegs and holders.
fn holders_are_at_their_distance(name: &str, model: &Model, scenes: &[Scene]) {
    let said = texts(scenes);
    let has = |words: &str| said.iter().any(|text| text.starts_with(words));
    if !scenes.is_empty() {
        assert!(has("Pegs, from"), "{name}: no table of pegs");
    }
    for scene in scenes {
        scene.walk(|item| {
            let Item::Group(group) = item else { return };
            let Some((_, connector)) = group.tag.data.iter().find(|(key, _)| key == "connector") else { return };
            let part = model.part_named(connector).unwrap_or_else(|| panic!("{name}: no {connector}"));
            let words = texts_of(item);
            if let Some(far) = tail(model, part) {
                let wanted = format!("{connector} {:.0} mm", far.value() * 1000.0);
                assert_eq!(words, [wanted], "{name}");
            }
            assert!(has("Holders, from"), "{name}: no table of holders");
        });
    }
}

/// Leaders of a demo's layout keep off each other and off breakouts that they don't describe; each run with wires has its
/// bundle's diameter beside it.
fn leaders_and_figures_are_clear(name: &str, model: &Model, scenes: &[Scene]) {
    for scene in scenes {
        let (mut leaders, mut places): (Vec<(String, [Point; 2])>, Vec<Point>) = (Vec::new(), Vec::new());
        scene.walk(|item| {
            let Item::Group(group) = item else { return };
            match (group.tag.kind.as_deref(), item.bounds()) {
                (Some("breakout"), Some(bounds)) => places.push(bounds.centre()),
                (Some("callout"), _) => {
                    let about = group.tag.data.iter().find(|(key, _)| key == "about").map(|(_, about)| about.clone());
                    let about = about.unwrap_or_default();
                    let Some(Item::Path(line)) = group.items.first() else { return };
                    let ends: Vec<Point> = line
                        .segs
                        .iter()
                        .filter_map(|seg| match seg {
                            Seg::Move(p) | Seg::Line(p) => Some(*p),
                            _ => None,
                        })
                        .collect();
                    if let [a, b] = ends[..] {
                        leaders.push((about.clone(), [a, b]));
                    }
                    let run = model.runs.iter().position(|run| {
                        let [a, b] = run.ends.map(|place| model.places[place.0].to_string());
                        about == format!("{a} to {b}")
                    });
                    let has_wires =
                        run.is_some_and(|run| !model::bundle::wires_in(model, model::RunId(run)).is_empty());
                    let words = texts_of(item);
                    assert!(!has_wires || words.iter().any(|text| text.contains('Ø')), "{name}: {about}: {words:?}");
                }
                _ => {}
            }
        });
        for (i, (about, [a, b])) in leaders.iter().enumerate() {
            for (other, [c, d]) in &leaders[..i] {
                let side = |p: &Point, q: &Point, r: &Point| (q.x - p.x) * (r.y - p.y) - (q.y - p.y) * (r.x - p.x);
                let cross = side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0;
                assert!(!cross, "{name}: the leaders of {about} and {other} cross");
            }
            for place in places.iter().filter(|place| place.distance(*a) > 0.01) {
                let (dx, dy) = (b.x - a.x, b.y - a.y);
                let t = (((place.x - a.x) * dx + (place.y - a.y) * dy) / (dx * dx + dy * dy).max(1e-9)).clamp(0.0, 1.0);
                let off = place.distance(Point::new(a.x + dx * t, a.y + dy * t));
                assert!(off > 1.8, "{name}: the leader of {about} runs over a breakout");
            }
        }
    }
}

fn texts_of(item: &Item) -> Vec<String> {
    let mut found = Vec::new();
    item.walk(&mut |inner| {
        if let Item::Text(text) = inner {
            found.push(text.text.clone());
        }
    });
    found
}
