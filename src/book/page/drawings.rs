//! The drawings that belong to a job's documents.

use crate::page::papers::Leaf;
use draw::list::{DRAWINGS, Drawing};
use facts::Facts;
use kit::page_styles::PageStyles;
use kit::scene::Scene;
use kit::sheet::Papers;
use kit::svg;
use serde::Serialize;
use states::Live;
use std::collections::{BTreeMap, BTreeSet};

/// A drawing with its sheets.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drawn {
    /// Its name, which is also its file's.
    pub name: String,
    /// The same in words.
    pub title: String,
    /// What it is for.
    pub purpose: String,
    /// The papers that it takes, each once.
    pub papers: BTreeSet<String>,
    /// Its sheets.
    pub sheets: Vec<DrawnSheet>,
}

/// One sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawnSheet {
    /// Its title.
    pub title: String,
    /// The page that it is printed on.
    pub leaf: Leaf,
    /// The file that it is in as well.
    pub file: String,
    /// As it was drawn.
    #[serde(skip)]
    pub scene: Scene,
    /// As an SVG file of its own.
    #[serde(skip)]
    pub alone: String,
}

/// Every sheet by its file as SVG inside one page that embeds the font, their identifiers unlike; and the rules that the
/// page's style sheet needs for them.
pub fn in_page(drawings: &[Drawn]) -> (BTreeMap<&str, String>, String) {
    let mut styles = PageStyles::default();
    let mut sheets = Vec::new();
    for drawn in drawings {
        for (i, sheet) in drawn.sheets.iter().enumerate() {
            let svg = svg::write_in_page(&sheet.scene, &format!("{}-{}-", drawn.name, i + 1), &mut styles);
            sheets.push((sheet.file.as_str(), svg));
        }
    }
    let (files, svgs): (Vec<&str>, Vec<String>) = sheets.into_iter().unzip();
    let svgs = styles.without_usual(svgs.into_iter());
    (files.into_iter().zip(svgs).collect(), styles.css())
}

/// Draws them in parallel; with a state, also the live drawings.
pub fn drawings(facts: &Facts, live: Option<&Live>, papers: Papers) -> Vec<Drawn> {
    let kinds: Vec<&Drawing> = DRAWINGS.iter().filter(|drawing| drawing.in_book).collect();
    threads::each(&kinds, |kind| of_kind(kind, (facts, live), papers)).into_iter().flatten().collect()
}

fn of_kind(drawing: &Drawing, (facts, live): (&Facts, Option<&Live>), papers: Papers) -> Vec<Drawn> {
    let scenes = drawing.scenes(facts, papers);
    // Without drives there are no timing charts.
    if scenes.is_empty() {
        return Vec::new();
    }
    let mut all =
        vec![drawn(drawing.name.to_string(), drawing.title.to_string(), drawing.purpose.to_string(), scenes, papers)];
    if let (Some(draw), Some(live)) = (drawing.live, live) {
        let purpose = format!("the state \u{2018}{}\u{2019}: what carries current, and the voltages", live.state);
        let [name, title] = [format!("{}-live", drawing.name), format!("{} live", drawing.title)];
        all.push(drawn(name, title, purpose, draw(facts.model, live, papers), papers));
    }
    all
}

fn drawn(name: String, title: String, purpose: String, scenes: Vec<Scene>, papers: Papers) -> Drawn {
    let several = scenes.len() > 1;
    let sheet = |(i, scene): (usize, Scene)| DrawnSheet {
        title: scene.title.clone(),
        leaf: Leaf::of(scene.size, papers),
        file: if several { format!("{name}-{}.svg", i + 1) } else { format!("{name}.svg") },
        alone: svg::write(&scene),
        scene,
    };
    let sheets: Vec<DrawnSheet> = scenes.into_iter().enumerate().map(sheet).collect();
    let papers = sheets.iter().map(|sheet| sheet.leaf.paper.clone()).collect();
    Drawn { name, title, purpose, papers, sheets }
}
