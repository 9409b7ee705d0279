//! The signal map and the state chart from outside: read back from their SVG without a fault, and nothing left out.

mod jobs;

use draw::{signal_map, state_chart};
use jobs::{demo, demo_model};
use kit::sheet::Paper;
use kit::svg;

const DEMOS: [&str; 5] =
    ["first-harness", "orchard-sprayer-pickup", "boat-tow-pickup", "wheelchair-van", "refuse-truck"];

fn texts(written: &str) -> Vec<String> {
    let read = roxmltree::Document::parse(written).unwrap();
    read.descendants().filter_map(|n| n.attribute("aria-label")).map(Into::into).collect()
}

#[test]
fn signal_maps_are_clean_and_name_every_input_and_screen() {
    for name in DEMOS {
        let model = demo_model(name);
        let written: Vec<String> = signal_map::sheets(&model, Paper::A3).iter().map(svg::write).collect();
        for sheet in &written {
            let found = audit::audit(sheet).unwrap();
            assert!(found.clean(), "{name}: {found}");
        }
        let texts: Vec<String> = written.iter().flat_map(|sheet| texts(sheet)).collect();
        for words in
            model.inputs.iter().map(|i| i.title.clone()).chain(model.screens.iter().map(|s| s.name.to_string()))
        {
            assert!(texts.contains(&words), "{name}: {words}");
        }
    }
}

/// In the sprayer each side's trigger goes over the other side's rest contact: the map says 'not' there, and that the
/// booms' cameras have their power from K1.
#[test]
fn the_map_tells_what_switches_what() {
    let written = svg::write(&signal_map::sheets(&demo_model("orchard-sprayer-pickup"), Paper::A3)[0]);
    let read = roxmltree::Document::parse(&written).unwrap();
    let arrows: Vec<(&str, &str)> = read
        .descendants()
        .filter(|n| n.attribute("data-kind") == Some("arrow"))
        .filter_map(|n| Some((n.attribute("data-from")?, n.attribute("data-to")?)))
        .collect();
    for arrow in [
        ("K1", "BOOM-LEFT"),
        ("K1", "BOOM-RIGHT"),
        ("Left turn", "HOLD-L"),
        ("HOLD-L", "K2"),
        ("K2", "dash"),
        ("Booms out", "K1"),
        ("REAR", "dash"),
        ("key", "REAR"),
    ] {
        assert!(arrows.contains(&arrow), "{arrow:?} in {arrows:?}");
    }
    assert!(!arrows.contains(&("Reverse gear", "K1")), "{arrows:?}");
    assert_eq!(texts(&written).iter().filter(|t| *t == "not").count(), 2);
}

#[test]
fn state_charts_are_clean_and_tell_every_state() {
    for name in ["first-harness", "orchard-sprayer-pickup", "wheelchair-van"] {
        let job = demo(name);
        let solved = job.solved().unwrap();
        let mut lines: Vec<usize> = Vec::new();
        for scene in state_chart::sheets(job.facts().unwrap(), Paper::A3) {
            let written = svg::write(&scene);
            let found = audit::audit(&written).unwrap();
            assert!(found.clean(), "{name}: {found}");
            let read = roxmltree::Document::parse(&written).unwrap();
            lines.extend(read.descendants().filter_map(|n| n.attribute("data-states")?.parse::<usize>().ok()));
        }
        let states = solved.table().rows.len();
        if states <= state_chart::MOST_LINES {
            assert_eq!((lines.len(), lines.iter().sum::<usize>()), (states, states), "{name}");
        } else {
            assert!(lines.len() < states && lines.iter().sum::<usize>() >= states, "{name}: {lines:?} of {states}");
        }
    }
}

/// What leads from one picture to another, over a hold as well as at once.
#[test]
fn a_state_chart_tells_what_changes_the_picture_by_way_of_a_timer() {
    let job = demo("refuse-truck");
    let sheets = state_chart::sheets(job.facts().unwrap(), Paper::A3);
    let texts: Vec<String> = sheets.iter().flat_map(|scene| texts(&svg::write(scene))).collect();
    let title = texts.iter().position(|text| text == "What changes the picture").unwrap();
    let table = &texts[title..];
    for words in ["left-turn on", "left-turn off,", "HOLD-L has run"] {
        assert!(table.iter().any(|text| text.contains(words)), "{words}: {table:?}");
    }
}
