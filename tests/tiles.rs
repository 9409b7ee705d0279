//! The build board on paper: its sheets printed as PDF, rendered and measured. Registration marks are as far apart as the
//! harness between them is long, runs go on where they left off, and 100 mm of the bar are 100 mm.

mod jobs;
mod judges;
mod paper;

use draw::harness_layout::tiles;
use jobs::demo_model;
use judges::{POPPLER, available};
use kit::scene::{Item, ItemGroup, Rect, Scene};
use kit::sheet::Paper;
use kit::{pdf, svg};
use model::Model;
use paper::{DOTS, Rendered};
use std::collections::BTreeMap;

/// How far a measure may be off, millimetres: a little more than the dot of a rendered page.
const NEAR: f64 = 0.35;

/// A sheet as it comes out of the printer.
struct Printed {
    page: Rendered,
    /// The marks' centres as measured: top left, top right, bottom left, bottom right.
    marks: [[f64; 2]; 4],
}

/// Boxes of all groups of a kind, in the order of the drawing.
fn boxes(scene: &Scene, kind: &str) -> Vec<Rect> {
    let mut found = Vec::new();
    scene.walk(|item| {
        if let Item::Group(ItemGroup { tag, .. }) = item
            && tag.kind.as_deref() == Some(kind)
        {
            found.extend(item.bounds());
        }
    });
    found
}

/// Longest stretch of ink along a line of dots, by its ends; millimetres. `at` gives the place of a dot.
fn stretch(page: &Rendered, from: f64, to: f64, at: impl Fn(f64) -> [f64; 2]) -> [f64; 2] {
    let steps = ((to - from) * DOTS).round() as usize;
    let (mut best, mut start) = ([from, from], None);
    for i in 0..=steps {
        let along = from + i as f64 / DOTS;
        let [x, y] = at(along);
        match (page.inked(x, y), start) {
            (true, None) => start = Some(along),
            (false, Some(begun)) => {
                if along - begun > best[1] - best[0] {
                    best = [begun, along];
                }
                start = None;
            }
            _ => {}
        }
    }
    best
}

/// The centre of a cross near to a place, from the ink alone: the column and the row with the longest stretch.
fn measured_mark(page: &Rendered, near: [f64; 2]) -> [f64; 2] {
    let reach = 4.0;
    let longest = |axis: usize| {
        let mut best: Vec<(f64, f64)> = Vec::new();
        for i in 0..=(2.0 * reach * DOTS) as usize {
            let across = near[axis] - reach + i as f64 / DOTS;
            let other = near[1 - axis];
            let place = |along: f64| if axis == 0 { [across, along] } else { [along, across] };
            let ends = stretch(page, other - 7.0, other + 7.0, place);
            best.push((ends[1] - ends[0], across));
        }
        let most = best.iter().map(|b| b.0).fold(0.0, f64::max);
        assert!(most > 9.0, "no cross near {near:?}");
        let lines: Vec<f64> = best.iter().filter(|b| b.0 > most - 0.5).map(|b| b.1).collect();
        // The middle of the dots that the line covers.
        lines.iter().sum::<f64>() / lines.len() as f64 + 0.5 / DOTS
    };
    [longest(0), longest(1)]
}

fn printed(scene: &Scene, pdf: &std::path::Path, number: usize) -> Printed {
    let page = Rendered::page(pdf, number);
    let marks = boxes(scene, "registration");
    let marks: Vec<[f64; 2]> =
        marks.iter().map(|mark| measured_mark(&page, [mark.centre().x, mark.centre().y])).collect();
    Printed { page, marks: marks.try_into().expect("a sheet has four marks") }
}

/// Where runs meet the edge between two marks, measured from the first of them, just inside the sheet.
fn seam(sheet: &Printed, [first, second]: [usize; 2], inward: [f64; 2]) -> Vec<f64> {
    let (a, b) = (sheet.marks[first], sheet.marks[second]);
    let upright = (b[0] - a[0]).abs() < (b[1] - a[1]).abs();
    let (from, to) = if upright { (a[1], b[1]) } else { (a[0], b[0]) };
    let at = |along: f64| if upright { [a[0] + inward[0], along] } else { [along, a[1] + inward[1]] };
    // Ink beside the marks' own, in groups: a covering has a pattern, a clip stands out, but runs are farther apart.
    const APART: f64 = 5.0;
    let mut groups: Vec<[f64; 2]> = Vec::new();
    for i in 0..=((to - from - 14.0) * DOTS) as usize {
        let along = from + 7.0 + i as f64 / DOTS;
        let [x, y] = at(along);
        if sheet.page.inked(x, y) {
            match groups.last_mut().filter(|group| along - group[1] < APART) {
                Some(group) => group[1] = along,
                None => groups.push([along, along]),
            }
        }
    }
    groups.into_iter().map(|[first, last]| (first + last) / 2.0 - from).collect()
}

fn same(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() < NEAR)
}

/// The sheets' names, and for each the names of those beside it.
fn neighbours(scenes: &[Scene]) -> Vec<(String, BTreeMap<String, String>)> {
    let of = |scene: &Scene| {
        let written = svg::write(scene);
        let read = roxmltree::Document::parse(&written).unwrap();
        let tile = read.descendants().find(|n| n.attribute("data-label") == Some("tile")).unwrap();
        let words = tile.attribute("data-text").unwrap();
        let (name, rest) = words.split_once(' ').unwrap();
        let beside = rest.split(", ").filter_map(|pair| pair.split_once(" edge on "));
        (name.to_string(), beside.map(|(side, name)| (side.to_string(), name.to_string())).collect())
    };
    scenes.iter().map(of).collect()
}

/// The sheets without the key plan before them.
fn sheets_of_the_board(model: &Model, paper: Paper) -> Vec<Scene> {
    let all = tiles(model, paper);
    let is_plan = |scene: &&Scene| scene.title.contains("key plan");
    assert!(is_plan(&&all[0]), "{}", all[0].title);
    all.iter().skip_while(is_plan).cloned().collect()
}

#[test]
fn sheets_of_the_build_board_join_mark_on_mark_and_are_at_full_size() {
    if !available(&[POPPLER]) {
        return;
    }
    // All of its runs meet at right angles: one that slants would be measured on both sides of the seam.
    let model = demo_model("orchard-sprayer-pickup");
    for paper in Paper::ALL {
        let scenes = sheets_of_the_board(&model, paper);
        let folder = tempfile::tempdir().unwrap();
        let pdf = folder.path().join("board.pdf");
        std::fs::write(&pdf, pdf::write("Build board", &scenes)).unwrap();
        for (page, scene) in paper::pages(&pdf).iter().zip(&scenes) {
            assert!((page[0] - scene.size.width).abs() < 0.2 && (page[1] - scene.size.height).abs() < 0.2, "{page:?}");
        }
        let names = neighbours(&scenes);
        let place = |name: &str| names.iter().position(|(own, _)| own == name).unwrap();
        // A few sheets of each paper: that each is drawn by the same code makes the rest alike.
        let mut sheets: BTreeMap<usize, Printed> = BTreeMap::new();
        let mut joined = 0;
        for (i, (name, beside)) in names.iter().enumerate() {
            for (side, own, other, inward) in
                [("right", [1, 3], [0, 2], [-0.8, 0.0]), ("lower", [2, 3], [0, 1], [0.0, -0.8])]
            {
                let Some(there) = beside.get(side).map(|there| place(there)).filter(|_| joined < 6) else { continue };
                for sheet in [i, there] {
                    sheets.entry(sheet).or_insert_with(|| printed(&scenes[sheet], &pdf, sheet + 1));
                }
                let (here, there) = (&sheets[&i], &sheets[&there]);
                // Marks along the seam are equally far apart on both: laid on each other they fall together.
                let apart = |sheet: &Printed, [a, b]: [usize; 2]| {
                    (sheet.marks[b][0] - sheet.marks[a][0]).hypot(sheet.marks[b][1] - sheet.marks[a][1])
                };
                assert!((apart(here, own) - apart(there, other)).abs() < NEAR, "{paper:?} {name} {side}");
                let (leaves, comes) = (seam(here, own, inward), seam(there, other, inward.map(|v: f64| -v)));
                // Sheets with branches of their own may lie beside each other without a run from one to the other.
                if leaves.is_empty() && comes.is_empty() {
                    continue;
                }
                assert!(same(&leaves, &comes), "{paper:?} {name} {side}: {leaves:?} goes on at {comes:?}");
                joined += 1;
            }
        }
        assert!(joined > 2, "{paper:?}: {joined} seams");
        let mut bars = 0;
        for (&i, sheet) in &sheets {
            let Some(bar) = boxes(&scenes[i], "scale-bar").first().copied() else { continue };
            // Its ticks reach 2 mm above it and below; at its ends stand half of their strokes.
            let ends = stretch(&sheet.page, bar.left - 4.0, bar.left + 102.5, |x| [x, bar.top + 2.175]);
            assert!((ends[1] - ends[0] - 100.35).abs() < NEAR, "{paper:?} {}: the bar is {ends:?}", names[i].0);
            bars += 1;
        }
        assert!(bars > 1, "{paper:?}: {bars} bars");
        // What a run measures between marks is what it is long: the marks are as far apart as the drawing says.
        for (&i, sheet) in &sheets {
            let marks = boxes(&scenes[i], "registration");
            let drawn = marks[1].centre().x - marks[0].centre().x;
            assert!((sheet.marks[1][0] - sheet.marks[0][0] - drawn).abs() < NEAR, "{paper:?} {}", names[i].0);
        }
    }
}

/// The measuring itself: a sheet that is a millimetre off is found.
#[test]
fn a_sheet_that_does_not_join_is_found() {
    if !available(&[POPPLER]) {
        return;
    }
    let scenes = sheets_of_the_board(&demo_model("orchard-sprayer-pickup"), Paper::A4);
    let names = neighbours(&scenes);
    let here = names.iter().position(|(name, beside)| name.starts_with('M') && beside.contains_key("right")).unwrap();
    let there = names.iter().position(|(name, _)| *name == names[here].1["right"]).unwrap();
    let mut off = scenes[there].clone();
    for item in &mut off.items {
        if let Item::Group(group) = item
            && group.tag.kind.as_deref() == Some("run")
        {
            item.shift(0.0, 1.0);
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let pdf = folder.path().join("board.pdf");
    std::fs::write(&pdf, pdf::write("Build board", &[scenes[here].clone(), off.clone()])).unwrap();
    let (left, right) = (printed(&scenes[here], &pdf, 1), printed(&off, &pdf, 2));
    let (leaves, comes) = (seam(&left, [1, 3], [-0.8, 0.0]), seam(&right, [0, 2], [0.8, 0.0]));
    assert!(!leaves.is_empty() && !same(&leaves, &comes), "{leaves:?} {comes:?}");
}
