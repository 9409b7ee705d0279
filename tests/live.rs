//! `--state` from outside: live drawings, in the book too, and what is said about a state that can't be shown.

use assert_cmd::cargo::cargo_bin_cmd;
use std::path::Path;

#[path = "jobs/mod.rs"]
mod jobs;

fn spec(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("harness-specs").join(name).with_extension("yaml").display().to_string()
}

/// What the program says, and whether it is content.
fn run(arguments: &[&str]) -> (bool, String) {
    let output = cargo_bin_cmd!("loomwright").args(arguments).output().unwrap();
    let text = [output.stdout, output.stderr].concat();
    (output.status.success(), String::from_utf8(text).unwrap())
}

#[test]
fn build_writes_the_live_drawings_and_the_book_says_which_state() {
    let out = tempfile::tempdir().unwrap();
    let folder = out.path().display().to_string();
    let (well, said) = run(&["build", &spec("first-harness"), "--state", "reverse", "--out", &folder]);
    assert!(well, "{said}");
    let read = |name: &str| std::fs::read_to_string(out.path().join(name)).unwrap();
    for name in ["connection-diagram-live.svg", "current-path-diagram-live.svg"] {
        // What reverse needs is put there too, and said.
        assert!(said.contains(name) && read(name).contains("Live: key run, reverse."), "{said}");
    }
    assert!(read("build-book.html").contains("the state ‘key run, reverse’"));
    let plain = tempfile::tempdir().unwrap();
    assert!(run(&["build", &spec("first-harness"), "--out", &plain.path().display().to_string()]).0);
    for name in ["connection-diagram.svg", "current-path-diagram.svg", "job.json"] {
        assert_eq!(read(name), std::fs::read_to_string(plain.path().join(name)).unwrap(), "{name}");
    }
    assert!(!plain.path().join("connection-diagram-live.svg").exists());
}

#[test]
fn a_state_that_cant_be_shown_is_reported_what_why_and_what_to_do() {
    let out = tempfile::tempdir().unwrap();
    let file = out.path().join("drawing.svg").display().to_string();
    let sprayer = spec("orchard-sprayer-pickup");
    for (drawing, state, what) in [
        ("connection-diagram", "revers", ["is neither an input nor a memory of this spec", "did you mean `reverse`?"]),
        ("connection-diagram", "key stop", ["a position that it doesn't have", "positions: off, accessory, run"]),
        ("connection-diagram", "reverse, key off", ["is ruled out: `reverse` needs `key`", "leave `reverse` out"]),
        ("current-path-diagram", "key run, key off", ["to two positions", "name `key` once"]),
        ("connection-diagram", "reverse; HOLD-L up", ["at `up`", "`HOLD-L on`"]),
        (
            "connection-diagram",
            "at rest; HOLD-L.held on",
            ["there is no state `at rest; HOLD-L.held on`", "`states` lists"],
        ),
        ("harness-layout", "reverse", ["can't be drawn in one state", "current-path-diagram"]),
    ] {
        let (well, said) = run(&["draw", &sprayer, drawing, "--state", state, "--out", &file]);
        let whole = ["error: ", "\n  why: ", "\n  do: "].iter().chain(&what).all(|part| said.contains(part));
        assert!(!well && whole, "{state}: {said}");
        assert!(!Path::new(&file).exists());
    }
}

/// Both turn signals at once are the hazards; the order in which inputs are named does not matter.
#[test]
fn the_same_state_is_drawn_the_same_however_it_is_asked_for() {
    let out = tempfile::tempdir().unwrap();
    let drawn = |state: &str| {
        let file = out.path().join("drawing.svg");
        let path = file.display().to_string();
        let (well, said) =
            run(&["draw", &spec("first-harness"), "connection-diagram", "--state", state, "--out", &path]);
        assert!(well, "{said}");
        std::fs::read(&file).unwrap()
    };
    assert_eq!(drawn("reverse"), drawn("reverse = on, key run"));
    assert_eq!(drawn(""), drawn("at rest"));
    assert_ne!(drawn("reverse"), drawn("key run"));
}

/// Every name that the state table has, memory and passing states included, asks for just that state; so does the name
/// with its terms the other way round.
#[test]
fn every_name_of_the_state_table_is_taken() {
    let (mut remembered, mut held, mut passing) = (0, 0, 0);
    for name in ["wheelchair-van", "boat-tow-pickup", "orchard-sprayer-pickup"] {
        let job = jobs::demo(name);
        let solved = job.solved().unwrap();
        let table = solved.table();
        for row in table.rows.iter().take(48) {
            let name = if row.passing { format!("{} (for a time)", row.name) } else { row.name.clone() };
            let found = job.state(&name).unwrap_or_else(|why| panic!("{name}: {why}"));
            assert_eq!((&found.name, &found.solution.state), (&row.name, &row.solution.state), "{name}");
            let turned: Vec<&str> = row.name.split([',', ';']).map(str::trim).rev().collect();
            let turned = format!("{}{}", turned.join(", "), if row.passing { " (for a time)" } else { "" });
            let found = job.state(&turned).unwrap();
            assert_eq!(found.solution.state, row.solution.state, "{turned}");
            (remembered, held) = (remembered + row.memory.len(), held + row.held.len());
            passing += usize::from(row.passing);
        }
    }
    assert!(remembered > 20 && held >= 10 && passing > 5, "{remembered} remembered, {held} held, {passing} passing");
}

/// Less than the whole name will do: what the inputs need is added, and of what is remembered only what matters.
#[test]
fn less_than_a_whole_name_will_do() {
    let boat = jobs::demo("boat-tow-pickup");
    let called = |text: &str| boat.state(text).map(|found| found.name);
    assert_eq!(called("reverse; K5 in").as_deref(), Ok("key run, reverse; K5 in"));
    assert_eq!(called("K5 out, reverse on").as_deref(), Ok("key run, reverse; K5 out"));
    let van = jobs::demo("wheelchair-van");
    let called = |text: &str| van.state(text).map(|found| found.name);
    assert_eq!(called("K2").as_deref(), Ok("at rest; K2 set"));
    assert_eq!(called("key run; K2 off").as_deref(), Ok("key run"));
}

/// In the sprayer with its booms out and the left turn signal on, the boom switch, K1 and K2 have moved, K3 has not.
#[test]
fn contacts_and_switches_are_drawn_as_the_state_has_them() {
    let blades = |drawing: &str| -> Vec<(String, String)> {
        let read = roxmltree::Document::parse(drawing).unwrap();
        let blade = |n: roxmltree::Node| Some((n.attribute("data-part")?.into(), n.attribute("data-blade")?.into()));
        read.descendants().filter_map(blade).collect()
    };
    let drawn = |state: &str| -> Vec<(String, String)> {
        let out = tempfile::tempdir().unwrap();
        let file = out.path().join("drawing.svg").display().to_string();
        let sprayer = spec("orchard-sprayer-pickup");
        let (well, said) = run(&["draw", &sprayer, "current-path-diagram", "--state", state, "--out", &file]);
        assert!(well, "{said}");
        let mut sheets: Vec<_> = std::fs::read_dir(out.path()).unwrap().map(|entry| entry.unwrap().path()).collect();
        sheets.sort();
        sheets.iter().flat_map(|sheet| blades(&std::fs::read_to_string(sheet).unwrap())).collect()
    };
    let stands = |all: &[(String, String)], part: &str, blade: &str| {
        let own: Vec<&String> = all.iter().filter(|(name, _)| name == part).map(|(_, blade)| blade).collect();
        assert!(!own.is_empty() && own.iter().all(|b| *b == blade), "{part}: {own:?}");
    };
    let rest = drawn("at rest");
    assert!(rest.len() >= 4 && rest.iter().all(|(_, blade)| blade == "rest"), "{rest:?}");
    let armed = drawn("key run, boom-arm, left-turn");
    for (part, blade) in [("SW1", "moved"), ("K1", "moved"), ("K2", "moved"), ("K3", "rest")] {
        stands(&armed, part, blade);
    }
}

/// What a wire carries decides its style, found by a search of their own from its current and the voltages at its ends; the four styles differ
/// without their colours; a coil is black just where its relay is in; the title strip names the state.
#[test]
fn wires_and_relays_look_like_what_they_do() {
    use std::collections::{BTreeMap, BTreeSet};
    let mut looks: BTreeMap<String, BTreeSet<(String, bool)>> = BTreeMap::new();
    let (mut coils, mut seen) = ([0, 0], BTreeMap::<String, usize>::new());
    for name in ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van"] {
        let job = jobs::demo(name);
        let model = job.model().unwrap();
        let states = model.inputs.iter().map(|input| input.name.to_string()).chain(["at rest".to_string()]);
        for state in states {
            let live = job.live(&state).unwrap();
            for (drawing, draw) in draw::list::DRAWINGS.iter().filter_map(|d| Some((d.name, d.live?))) {
                for scene in draw(model, &live, kit::sheet::Papers::Iso) {
                    let svg = kit::svg::write(&scene);
                    let read = roxmltree::Document::parse(&svg).unwrap();
                    let whole = format!("{name} in {state}, {drawing}");
                    assert!(scene.title.contains(&format!("live: {}", live.state)), "{whole}: {}", scene.title);
                    for node in read.descendants().filter(|node| node.has_attribute("data-live")) {
                        if node.has_attribute("data-label") {
                            continue;
                        }
                        let id = node.attribute("data-wire").unwrap();
                        let wire = model.wire_ids().find(|wire| model.wire(*wire).id.as_str() == id).unwrap();
                        let amps = live.amps(wire).value();
                        let volts = model.wire(wire).ends.iter().filter_map(|pin| live.volts(*pin));
                        let volts = volts.map(|volts| volts.value().abs()).fold(0.0, f64::max);
                        let wanted = match () {
                            () if amps >= 0.01 => "load",
                            () if amps >= 50e-6 || live.carries_picture(wire) => "trickle",
                            () if volts >= 1.0 => "voltage",
                            () => "dead",
                        };
                        let style = node.attribute("data-live").unwrap();
                        assert_eq!(style, wanted, "{whole}: wire {id}, {amps} A, {volts} V");
                        *seen.entry(style.to_string()).or_default() += 1;
                        let widest = node.descendants().filter_map(|n| {
                            Some((n.attribute("stroke-width")?.to_string(), n.has_attribute("stroke-dasharray")))
                        });
                        let look = widest.max_by(|a, b| a.0.parse::<f64>().unwrap().total_cmp(&b.0.parse().unwrap()));
                        looks.entry(format!("{drawing} {style}")).or_default().extend(look);
                    }
                    for coil in read.descendants().filter(|n| n.attribute("data-kind") == Some("coil")) {
                        let part = model.part_named(coil.attribute("data-part").unwrap()).unwrap();
                        let is_in = live.relay_is_in(part).unwrap();
                        let ink = coil.descendants().any(|n| n.attribute("stroke") == Some(&*kit::colour::INK.css()));
                        assert_eq!(ink, is_in, "{whole}: {}", model.part(part).name);
                        coils[usize::from(is_in)] += 1;
                    }
                }
            }
        }
    }
    assert!(coils[0] > 20 && coils[1] > 4, "{coils:?}");
    assert!(seen.len() == 4 && seen.values().all(|count| *count > 20), "{seen:?}");
    for drawing in ["connection-diagram", "current-path-diagram"] {
        let of = |style: &str| looks[&format!("{drawing} {style}")].clone();
        let all = ["load", "trickle", "voltage", "dead"].map(of);
        for (i, one) in all.iter().enumerate() {
            assert!(all[i + 1..].iter().all(|other| one.is_disjoint(other)), "{drawing}: {all:?}");
        }
    }
}
