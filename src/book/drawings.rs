//! The drawings that belong to a job's documents.

use crate::draw::set::named;
use crate::draw::svg;
use crate::states::Solved;
use serde::Serialize;

/// The drawings of the book, in its order. The build board is as big as the vehicle and has its own command.
const IN_BOOK: [&str; 7] = [
    "signal-map",
    "state-chart",
    "timing-charts",
    "connection-diagram",
    "connector-faces",
    "harness-layout",
    "current-path-diagram",
];

/// A drawing with its sheets.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drawn {
    /// Its name, which is also its file's.
    pub name: &'static str,
    /// What it is for.
    pub purpose: &'static str,
    /// Its sheets.
    pub sheets: Vec<DrawnSheet>,
}

/// One sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DrawnSheet {
    /// Its title.
    pub title: String,
    /// Taller than it is wide, or nearly so.
    pub upright: bool,
    /// The file that it is in as well.
    pub file: String,
    /// As an SVG file of its own.
    #[serde(skip)]
    pub alone: String,
    /// As SVG inside a page, its identifiers unlike those of any other sheet.
    pub inside: String,
}

/// Draws them.
pub fn drawings(solved: &Solved) -> Vec<Drawn> {
    let drawn = |name: &&'static str| {
        let drawing = named(name)?;
        let scenes = (drawing.draw)(solved);
        // Without drives there are no timing charts.
        if scenes.is_empty() {
            return None;
        }
        let several = scenes.len() > 1;
        let sheet = |(i, scene): (usize, &crate::draw::scene::Scene)| DrawnSheet {
            title: scene.title.clone(),
            upright: scene.size.width < scene.size.height * 1.15,
            file: if several { format!("{name}-{}.svg", i + 1) } else { format!("{name}.svg") },
            alone: svg::write(scene),
            inside: svg::write_named(scene, &format!("{name}-{}-", i + 1)),
        };
        let sheets = scenes.iter().enumerate().map(sheet).collect();
        Some(Drawn { name: drawing.name, purpose: drawing.purpose, sheets })
    };
    IN_BOOK.iter().filter_map(drawn).collect()
}
