//! Every drawing of every demonstration job and of made-up harnesses, read back from its SVG: no fault, nothing that is
//! too small or outside its sheet, and everything of the model in it as often as it should be.

#[path = "part_circuits/bench.rs"]
mod bench;
mod jobs;
mod literal;
mod made_up;

use audit::Routes;
use catalogue::Catalogue;
use draw::list::{DRAWINGS, Drawing, DrawnFrom, named};
use jobs::{job_of, job_of_text, model_of_text, specs_in};
use kit::lines::LEAST_NUMBER;
use kit::scene::{Item, LabelOf, Scene};
use kit::sheet::{Paper, Papers};
use kit::{pdf, svg};
use model::tails::{SpliceSpot, splice_spots, tail};
use model::{Family, Model, PartKind, PinId};
use spec::WireMake;
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

fn made_up_model(seed: u64, wires: usize) -> Model {
    model_of_text(&made_up::spec(seed, wires))
}

fn demos() -> Vec<PathBuf> {
    specs_in(&["harness-specs"])
}

/// One group or text of a drawing with what it is tagged with.
type Tags = BTreeMap<String, String>;

/// All elements with `data-…` attributes of all sheets, each with the sheet that it is on.
struct Read {
    tags: Vec<(usize, Tags)>,
}

impl Read {
    fn of(written: &[String]) -> Self {
        let mut tags = Vec::new();
        for (sheet, text) in written.iter().enumerate() {
            let read = roxmltree::Document::parse(text).unwrap();
            for node in read.descendants() {
                let own: Tags = node
                    .attributes()
                    .filter_map(|a| Some((a.name().strip_prefix("data-")?.to_string(), a.value().to_string())))
                    .collect();
                if !own.is_empty() {
                    tags.push((sheet, own));
                }
            }
        }
        Self { tags }
    }

    /// The sheets on which a key has a value, once for each time.
    fn sheets(&self, key: &str, value: &str) -> Vec<usize> {
        self.tags.iter().filter(|(_, t)| t.get(key).is_some_and(|v| v == value)).map(|(sheet, _)| *sheet).collect()
    }

    fn count(&self, key: &str, value: &str) -> usize {
        self.sheets(key, value).len()
    }
}

/// Audits some sheets and returns them as written, and how their wires run.
fn assert_clean(name: &str, scenes: &[Scene]) -> (Vec<String>, Routes) {
    let written: Vec<String> = scenes.iter().map(svg::write).collect();
    let mut routes = Routes::default();
    for (scene, text) in scenes.iter().zip(&written) {
        let found = audit::audit(text).unwrap_or_else(|e| panic!("{name}, {}: {e}", scene.title));
        assert!(found.clean(), "{name}, {}:\n{found}", scene.title);
        routes = routes.and(found.routes);
    }
    (written, routes)
}

/// What the connection diagram of each demonstration came to when it was last improved: sheets, crossings, corners, and
/// drawn over straight length in hundredths. None may get worse.
const ROUTES: [(&str, [usize; 4]); 5] = [
    ("boat-tow-pickup", [3, 1, 62, 127]),
    ("first-harness", [1, 0, 4, 104]),
    ("orchard-sprayer-pickup", [2, 2, 50, 141]),
    ("refuse-truck", [4, 18, 132, 131]),
    ("wheelchair-van", [3, 0, 64, 144]),
];

fn runs_no_worse(name: &str, sheets: usize, routes: &Routes) {
    println!("{name}: {sheets} sheets, {routes}");
    let Some((_, most)) = ROUTES.iter().find(|(demo, _)| *demo == name) else { return };
    let now = [sheets, routes.crossings, routes.bends, (routes.detour() * 100.0).round() as usize];
    assert!(now.iter().zip(most).all(|(now, most)| now <= most), "{name}: {now:?}, was {most:?}");
}

/// What each drawing must hold, by its name.
fn assert_whole(name: &str, drawing: &str, model: &Model, written: &[String]) {
    let read = Read::of(written);
    match drawing {
        "connection-diagram" | "connection-whole" => connection_is_whole(name, model, &read),
        "current-path-diagram" => current_paths_are_whole(name, model, &read),
        "connector-faces" => faces_are_whole(name, model, &read),
        "harness-layout" => {
            wires_reach(name, model);
            layout_is_whole(name, model, &read);
            lengths_are_beside_runs(name, model, written);
        }
        "state-chart" => chart_is_whole(name, model, &read),
        "symbols" => symbols_are_whole(name, model, &read),
        board if board.starts_with("build-board") => board_is_whole(name, model, &read),
        // Held by `tests/charts.rs` and the unit tests of timing charts.
        "signal-map" | "timing-charts" => {}
        other => panic!("say here what {other} must hold"),
    }
}

/// A wire is on one sheet, or on two that name each other where it goes on; a pin is where its wires end, once for each.
fn connection_is_whole(name: &str, model: &Model, read: &Read) {
    for wire in &model.wires {
        let id = wire.id.as_str();
        let lines: Vec<usize> = read
            .tags
            .iter()
            .filter(|(_, t)| t.get("wire").is_some_and(|w| w == id) && !t.contains_key("label"))
            .filter(|(_, t)| t.get("kind").is_none_or(|kind| kind != "bow"))
            .map(|(sheet, _)| *sheet)
            .collect();
        let labels = read.count("label", &format!("wire {id}"));
        assert!(matches!(lines.len(), 1 | 2), "{name}: wire {id} on sheets {lines:?}");
        // A wire that goes on has one label on each sheet, at its pin there.
        assert_eq!(labels, 2, "{name}: labels of wire {id}");
        if let [a, b] = lines[..] {
            assert_ne!(a, b, "{name}: wire {id}");
            for (here, there) in [(a, b), (b, a)] {
                let names_it = |t: &Tags| t.get("sheet").is_some_and(|s| *s == (there + 1).to_string());
                assert!(
                    read.tags.iter().any(|(sheet, t)| *sheet == here && names_it(t)),
                    "{name}: sheet {} does not say that wire {id} goes on on sheet {}",
                    here + 1,
                    there + 1
                );
            }
        }
    }
    for part in &model.parts {
        let shown = read.count("part", part.name.as_str());
        let may_repeat = matches!(part.kind, PartKind::Ground | PartKind::Supply | PartKind::Feed);
        assert!(shown == 1 || (may_repeat && shown > 1), "{name}: part {} {shown} times", part.name);
        for &pin in &part.pins {
            let wires = model.wires_on(pin).map(|w| model.wire(w).ends.iter().filter(|e| **e == pin).count());
            let (wires, pin_name) = (wires.sum::<usize>(), model.pin_name(pin));
            let is_here =
                |t: &Tags| t.get("pin") == Some(&pin_name) && t.get("kind").is_none_or(|kind| kind != "elsewhere");
            let terminals = read.tags.iter().filter(|(_, t)| is_here(t)).count();
            let covered = model.joints.iter().any(|joint| joint.pins.contains(&pin)) && wires == 0;
            let wanted = if covered && part.kind != PartKind::Connector { 0 } else { wires.max(1) };
            assert!(terminals == wanted || shown > 1, "{name}: pin {pin_name} {terminals} times, {wires} wires");
            assert!(terminals > 0 || read.count("of", &pin_name) > 0, "{name}: pin {pin_name} is not to be found");
        }
    }
}

/// Every wire is drawn and has its whole label once; where it goes on in another path it is drawn there as well. Every
/// pin with a wire is there.
fn current_paths_are_whole(name: &str, model: &Model, read: &Read) {
    for wire in &model.wires {
        let id = wire.id.as_str();
        assert!(matches!(read.count("wire", id), 1 | 2), "{name}: wire {id} {} times", read.count("wire", id));
        let whole = |t: &&(usize, Tags)| {
            t.1.get("label").is_some_and(|l| *l == format!("wire {id}")) && t.1.get("text").is_some_and(|t| t != id)
        };
        let labels: Vec<&String> = read.tags.iter().filter(whole).map(|(_, t)| &t["text"]).collect();
        assert_eq!(labels.len(), 1, "{name}: labels of wire {id}");
        let code = wire.colour.map(|code| code.to_string()).unwrap_or_default();
        assert!(labels[0].contains(&code), "{name}: wire {id} has no colour code: {}", labels[0]);
        // A splice whose paths are all cut off at it stands there as what their flags name.
        for pin in wire.ends.map(|pin| model.pin_name(pin)) {
            let flagged = |t: &Tags| t.get("label").is_some_and(|l| l == "flag") && t["text"].starts_with(&pin);
            assert!(read.count("pin", &pin) > 0 || read.tags.iter().any(|(_, t)| flagged(t)), "{name}: pin {pin}");
        }
    }
    // Path numbers run from 1 without a gap, each stands once, and every flag leads to one of them.
    let labels = read.tags.iter().filter_map(|(_, t)| t.get("label")?.strip_prefix("path ")?.parse::<usize>().ok());
    let mut numbers: Vec<usize> = labels.collect();
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=numbers.len()).collect::<Vec<_>>(), "{name}");
    for target in read.tags.iter().filter_map(|(_, t)| t.get("path")) {
        assert!(target.parse().is_ok_and(|n: usize| numbers.contains(&n)), "{name}: a flag leads to path {target}");
    }
}

/// Every cavity of every connector twice, from the mating side and from the wire side, with the number and the colour
/// letters of its wires; and a line in the table for each wire and each empty cavity.
fn faces_are_whole(name: &str, model: &Model, read: &Read) {
    let texts = |label: &str| -> Vec<&str> {
        let own = |t: &&Tags| t.get("label").is_some_and(|own| own == label);
        read.tags.iter().map(|(_, t)| t).filter(own).map(|t| t["text"].as_str()).collect()
    };
    let lines = texts("cavities");
    assert_tables_count_up(name, model, &lines);
    for part in model.parts.iter().filter(|part| part.kind == PartKind::Connector) {
        for &pin in &part.pins {
            assert_eq!(read.count("pin", &model.pin_name(pin)), 2, "{name}: {}", model.pin_name(pin));
            let cavity = &model.pin(pin).name;
            let mut wires = model.wires_on(pin).map(|id| model.wire(id)).peekable();
            if wires.peek().is_none() {
                let plug = part.form.terminal.as_ref().and_then(|terminal| terminal.plug.as_ref());
                let line = format!("{cavity} – {}", plug.map_or("stays empty", |plug| &plug.0));
                assert!(lines.iter().any(|l| l.starts_with(line.trim_end_matches('…'))), "{name}: {line}");
            }
            for wire in wires {
                let code = wire.colour.map_or(String::new(), |code| format!(" {code}"));
                let gauge = wire.gauge.to_string();
                let size = if wire.make == WireMake::Coax { "coax" } else { gauge.trim_end_matches(" mm²") };
                let line = format!("{cavity} {} {size}{code} ", wire.id);
                assert!(lines.iter().any(|l| l.starts_with(&line)), "{name}: {line}");
                let inside = format!("{}{code}", wire.id);
                let is_inside = |text: &&&str| *text.replace(' ', "") == inside.replace(' ', "") || text.contains('…');
                assert!(
                    texts(wire.id.as_str()).iter().filter(is_inside).count() >= 2,
                    "{name}: {inside} in its cavity"
                );
            }
        }
    }
}

/// The table of each connector counts the cavities as the housing numbers them, whichever way round its face is drawn.
fn assert_tables_count_up(name: &str, model: &Model, lines: &[&str]) {
    let mut tables = lines.split(|line| line.starts_with("cavity ")).skip(1);
    for part in model.parts.iter().filter(|part| part.kind == PartKind::Connector) {
        let rows = tables.next().unwrap_or_else(|| panic!("{name}: no table for {}", part.name));
        let mut shown: Vec<&str> =
            rows.iter().filter_map(|row| row.split_once(' ')).map(|(cavity, _)| cavity).collect();
        shown.dedup();
        let wanted: Vec<&str> = part.pins.iter().map(|&pin| model.pin(pin).name.as_str()).collect();
        assert_eq!(shown, wanted, "{name}: {}", part.name);
    }
}

/// Every place and every run once, the run's length in the table; every connector with wires once, pointing somewhere.
fn layout_is_whole(name: &str, model: &Model, read: &Read) {
    let all: Vec<&String> = read.tags.iter().filter_map(|(_, t)| t.get("about")).collect();
    let drawn = |key: &str, value: &str, kind: &str| {
        let is = |t: &Tags| t.get(key).is_some_and(|v| v == value) && t.get("kind").is_some_and(|k| k == kind);
        read.tags.iter().filter(|(_, t)| is(t)).count()
    };
    let mut between = BTreeMap::new();
    for run in &model.runs {
        let [a, b] = run.ends.map(|place| model.places[place.0].to_string());
        *between.entry(format!("{a} to {b}")).or_insert(0) += 1;
        for place in [a, b] {
            assert_eq!(drawn("place", &place, "breakout"), 1, "{name}: place {place}");
            assert_eq!(all.iter().filter(|about| ***about == place).count(), 1, "{name}: words of {place}");
        }
    }
    // A run that closes a loop is described in words.
    for (run, count) in &between {
        assert!((0..=*count).contains(&drawn("run", run, "run")), "{name}: run {run}");
    }
    connectors_are_drawn(name, model, read, false);
}

/// Each run of a demo has its length beside it; a made-up harness may have more runs than its sheet has room for words.
fn lengths_are_beside_runs(name: &str, model: &Model, written: &[String]) {
    if !demos().iter().any(|path| path.file_stem().is_some_and(|stem| stem == name)) {
        return;
    }
    for run in &model.runs {
        let about = run.ends.map(|place| model.places[place.0].to_string()).join(" to ");
        let words = written.iter().find_map(|sheet| sheet.split_once(&format!("data-about=\"{about}\"")));
        let words = words.map(|(_, after)| after.split("data-about").next().unwrap_or(after));
        let length = format!(" · {} ±", run.length);
        assert!(words.is_none_or(|words| words.contains(&length)), "{name}: run {about} without its length");
    }
}

/// Every connector with wires, at a place that a run leads to, is drawn once with the way it points; on a small sheet of a
/// build board a crowded place may have room for its words alone.
fn connectors_are_drawn(name: &str, model: &Model, read: &Read, small: bool) {
    for part in model.parts.iter().filter(|part| part.kind == PartKind::Connector) {
        let wired = part.pins.iter().any(|&pin| model.wires_on(pin).next().is_some());
        let led_to = part.at.is_some_and(|at| model.runs.iter().any(|run| run.ends.contains(&at)));
        let (wanted, drawn) = (usize::from(wired && led_to), read.count("connector", part.name.as_str()));
        assert!(drawn == wanted || (small && drawn < wanted), "{name}: connector {} {drawn} times", part.name);
    }
}

/// Every kind of symbol once, and one for what every job has.
fn symbols_are_whole(name: &str, model: &Model, read: &Read) {
    let mut means: Vec<&String> = read.tags.iter().filter_map(|(_, t)| t.get("means")).collect();
    means.sort();
    assert!(means.windows(2).all(|pair| pair[0] != pair[1]), "{name}: {means:?}");
    let fuses = model.parts.iter().any(|part| part.kind == PartKind::Device && part.form.family == Family::Fuse);
    assert!(!fuses || means.iter().any(|words| *words == "fuse"), "{name}: {means:?}");
}

/// On a build board a place on a seam is on both sheets; nothing is left out.
fn board_is_whole(name: &str, model: &Model, read: &Read) {
    for place in model.runs.iter().flat_map(|run| run.ends) {
        let place = model.places[place.0].as_str();
        assert!(read.count("place", place) > 0, "{name}: place {place}");
    }
    connectors_are_drawn(name, model, read, true);
    let on_tree = |run: model::RunId| {
        // A run that closes a loop is not drawn.
        let about = model.runs[run.0].ends.map(|place| model.places[place.0].to_string()).join(" to ");
        read.count("run", &about) > 0
    };
    for spot in splice_spots(model).iter().filter(|spot| on_tree(spot.run)) {
        let splice = model.part(spot.splice).name.as_str();
        assert!(read.count("splice", splice) > 0, "{name}: splice {splice} is not on the board");
    }
}

/// Every wire is cut long enough for its runs, the tails and the splices' places that drawings print.
fn wires_reach(name: &str, model: &Model) {
    let spots = splice_spots(model);
    for wire in model.wires.iter().filter(|wire| !wire.existing) {
        let Some(length) = wire.length else { continue };
        let cut = length.value() * (1.0 + model.limits.cut_allowance.value());
        let runs: f64 = wire.path.iter().map(|run| model.runs[run.0].length.value()).sum();
        // A wire whose length the spec gives too short for its runs is found by a rule.
        if cut < runs {
            continue;
        }
        let end = |pin: PinId| {
            let part = model.pin(pin).part;
            match spots.iter().find(|spot| spot.splice == part) {
                Some(spot) if wire.path.contains(&spot.run) => -spot.along.value(),
                Some(spot) => spot.along.value(),
                None if model.part(part).kind == PartKind::Splice => 0.0,
                None => tail(model, part).map_or(0.0, |tail| tail.value()),
            }
        };
        let needed = runs + wire.ends.map(end).iter().sum::<f64>();
        assert!(needed <= cut + 1e-6, "{name}: wire {} is cut {cut} m, its way takes {needed} m", wire.id);
    }
    // No two splices lie side by side, whichever end of a run they are counted from.
    for (i, a) in spots.iter().enumerate() {
        let at = |spot: &SpliceSpot| {
            let run = &model.runs[spot.run.0];
            if run.ends[0] == spot.from { spot.along.value() } else { run.length.value() - spot.along.value() }
        };
        for b in spots[i + 1..].iter().filter(|b| b.run == a.run) {
            assert!((at(a) - at(b)).abs() > 0.0399, "{name}: splices {a:?} and {b:?}");
        }
    }
}

/// Every text of a state's line is on some sheet: all states, each once or folded.
fn chart_is_whole(name: &str, model: &Model, read: &Read) {
    let lines = read.tags.iter().filter(|(_, t)| t.contains_key("states")).count();
    assert!(lines > 0, "{name}: no states");
    let columns = read.tags.iter().filter(|(_, t)| t.get("label").is_some_and(|l| l == "column"));
    let headings: Vec<&String> = columns.map(|(_, t)| &t["text"]).collect();
    for input in &model.inputs {
        let whole = format!("{}: {}", input.name, input.title);
        let begins = |heading: &&&String| {
            ***heading == input.name.to_string() || whole.starts_with(heading.trim_end_matches('…'))
        };
        assert!(headings.iter().any(|heading| begins(&heading)), "{name}: input {}", input.title);
    }
}

fn assert_right(name: &str, model: &Model, drawing: &Drawing, scenes: &[Scene], papers: Papers) {
    let (written, routes) = assert_clean(&format!("{name}, {}", drawing.name), scenes);
    if drawing.name == "connection-diagram" && papers == Papers::Iso {
        runs_no_worse(name, scenes.len(), &routes);
    }
    assert_whole(name, drawing.name, model, &written);
    literal::assert_literal(name, drawing, model, scenes);
    numbers_are_large(&format!("{name}, {}", drawing.name), scenes);
    if let Some(paper) = drawing.paper {
        fits_paper(&format!("{name}, {}", drawing.name), scenes, paper.of(papers));
    }
}

/// Numbers and colours of wires are read at the bench: they are at least 3 mm high on the printed page.
fn numbers_are_large(name: &str, scenes: &[Scene]) {
    fn look(name: &str, item: &Item, in_label: bool) {
        match item {
            Item::Group(group) => {
                let in_label = in_label || matches!(group.tag.label, Some(LabelOf::Wire(_)));
                group.items.iter().for_each(|item| look(name, item, in_label));
            }
            Item::Text(text) if in_label => {
                assert!(text.height >= LEAST_NUMBER - 1e-6, "{name}: `{}` is {:.2} mm", text.text, text.height);
            }
            _ => {}
        }
    }
    scenes.iter().flat_map(|scene| &scene.items).for_each(|item| look(name, item, false));
}

/// What a cell of the title strip says.
fn strip_cell(scene: &Scene, name: &str) -> String {
    let strip = scene.items.iter().find_map(|item| match item {
        Item::Group(group) if group.tag.kind.as_deref() == Some("title-strip") => Some(group),
        _ => None,
    });
    let texts: Vec<&str> = strip
        .iter()
        .flat_map(|group| &group.items)
        .filter_map(|item| if let Item::Text(text) = item { Some(text.text.as_str()) } else { None })
        .collect();
    let at = texts.iter().position(|text| *text == name).unwrap_or_else(|| panic!("no cell {name}"));
    texts[at + 1].to_string()
}

/// No sheet is larger than the paper that the list of drawings names, unless a single part takes a larger one.
fn fits_paper(name: &str, scenes: &[Scene], paper: Paper) {
    let fits = |scene: &Scene| {
        [paper.lying(), paper.upright()]
            .iter()
            .any(|p| scene.size.width <= p.width + 1e-6 && scene.size.height <= p.height + 1e-6)
    };
    for scene in scenes.iter().filter(|scene| !fits(scene)) {
        let parts = svg::write(scene).matches("data-kind=\"outline\"").count();
        assert!(parts <= 1, "{name}, {}: {:?} with {parts} parts", scene.title, scene.size);
    }
}

/// The largest demo takes long unless built with --release.
#[test]
fn every_drawing_of_the_demos_is_right() {
    for path in demos().iter().filter(|path| cfg!(not(debug_assertions)) || !path.ends_with("refuse-truck.yaml")) {
        let job = job_of(path);
        let (name, model) = (path.file_stem().unwrap().to_string_lossy(), job.model().unwrap());
        let mut numbers = BTreeSet::new();
        for drawing in DRAWINGS {
            let scenes = job.drawing(drawing).unwrap();
            assert_right(&name, model, drawing, &scenes, Papers::Iso);
            for scene in scenes {
                let number = strip_cell(&scene, "Number");
                assert!(numbers.insert(number.clone()), "{name}, {}: number {number} twice", scene.title);
                // A chart over time is in seconds.
                assert_eq!(
                    strip_cell(&scene, "Units") == "s",
                    drawing.name == "timing-charts",
                    "{name}: {}",
                    scene.title
                );
            }
        }
    }
}

/// Every drawing on Letter and Tabloid as well.
#[test]
fn drawings_of_the_demos_are_right_on_inch_papers() {
    for path in demos().iter().filter(|path| cfg!(not(debug_assertions)) || path.ends_with("first-harness.yaml")) {
        let job = job_of(path).on(Papers::Inch);
        let (name, model) = (path.file_stem().unwrap().to_string_lossy(), job.model().unwrap());
        for drawing in DRAWINGS.iter().filter(|drawing| drawing.in_book) {
            assert_right(&name, model, drawing, &job.drawing(drawing).unwrap(), Papers::Inch);
        }
    }
}

/// Of made-up harnesses, whose inputs and so states are many, only what is drawn of the wiring.
fn made_up_drawing_is_right(seed: u64, wires: usize, drawings: &[&Drawing]) {
    let model = made_up_model(seed, wires);
    for drawing in drawings {
        if let DrawnFrom::Wiring(draw) = drawing.draw {
            assert_right(&format!("seed {seed}"), &model, drawing, &draw(&model, Papers::Iso), Papers::Iso);
        }
    }
}

/// Each kind of part on a bench of its own: its words, its pins and its face find room.
#[test]
fn drawings_of_every_kind_of_part_are_right() {
    let catalogue = Catalogue::builtin().unwrap_or_else(|(_, problems)| panic!("{problems:?}"));
    for (name, part) in catalogue.iter() {
        let model = model_of_text(&bench::spec(name, part));
        for drawing in DRAWINGS {
            if let DrawnFrom::Wiring(draw) = drawing.draw {
                assert_right(name, &model, drawing, &draw(&model, Papers::Iso), Papers::Iso);
            }
        }
    }
}

#[test]
fn drawings_of_small_made_up_harnesses_are_right() {
    let drawings: Vec<&Drawing> = DRAWINGS.iter().collect();
    (0..4).for_each(|seed| made_up_drawing_is_right(seed, 4 + 6 * seed as usize, &drawings));
}

/// All but the connection diagram on one sheet, which `tests/connection.rs` draws of as many. Every third is large: what
/// goes wrong in a drawing goes wrong in small ones too, which take a tenth of the time.
#[test]
#[cfg_attr(debug_assertions, ignore = "takes long unless built with --release")]
fn drawings_of_two_hundred_made_up_harnesses_are_right() {
    let drawings: Vec<&Drawing> = DRAWINGS.iter().filter(|drawing| drawing.name != "connection-whole").collect();
    let seeds: Vec<u64> = (0..200).collect();
    threads::each(&seeds, |&seed| {
        let most = if seed % 3 == 0 { 150 } else { 50 };
        made_up_drawing_is_right(1000 + seed, 1 + (seed as usize * 37) % most, &drawings);
    });
}

/// Of small ones what is drawn of their states as well.
#[test]
fn charts_of_small_made_up_harnesses_are_right() {
    for seed in 0..5 {
        let job = job_of_text(&made_up::spec(seed, 12 + seed as usize));
        let model = job.model().unwrap();
        for drawing in DRAWINGS.iter().filter(|drawing| matches!(drawing.draw, DrawnFrom::States(_))) {
            assert_right(&format!("seed {seed}"), model, drawing, &job.drawing(drawing).unwrap(), Papers::Iso);
        }
    }
}

/// Letters are outlines in SVG and a font inside the file in PDF: nothing is left to the reader's machine.
#[test]
fn drawings_look_the_same_everywhere() {
    let scenes = job_of(&demos()[0]).drawing(named("current-path-diagram").unwrap()).unwrap();
    let written = svg::write(&scenes[0]);
    assert!(!written.contains("<text") && !written.contains("font-family") && written.contains("aria-label"));
    let pdf = pdf::write("Drawing", &scenes);
    let has = |name: &[u8]| pdf.windows(name.len()).any(|bytes| bytes == name);
    let embedded = [b"/FontFile2".as_slice(), b"/FontFile3"].into_iter().any(has);
    assert!(embedded && !has(b"/Type1"), "the font is in the file");
}

/// The states that live drawings are looked at in: each input of a demo away from rest, with what it needs.
#[test]
fn live_drawings_of_the_demos_are_right() {
    for path in demos().iter().filter(|path| cfg!(not(debug_assertions)) || path.ends_with("first-harness.yaml")) {
        let (name, job) = (path.file_stem().unwrap().to_string_lossy(), job_of(path));
        let model = job.model().unwrap();
        for input in &model.inputs {
            let live = job.live(&input.name).unwrap();
            for drawing in DRAWINGS {
                let Some(draw) = drawing.live else { continue };
                let scenes = draw(model, &live, Papers::Iso);
                let whole = format!("{name} in state {}, {}", live.state, drawing.name);
                assert_right(&whole, model, drawing, &scenes, Papers::Iso);
                literal::assert_live(&whole, drawing, model, &live, &scenes);
                let says = |scene: &Scene| svg::write(scene).contains(&format!("Live: {}", live.state));
                assert!(scenes.iter().all(says), "{whole}: a sheet does not say which state");
            }
        }
    }
}
