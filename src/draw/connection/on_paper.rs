//! A placed diagram on its paper: the size that it has there, its finished sheet, and where on which sheet a wire goes on.

use super::diagram::Diagram;
use super::placed::PlacedDiagram;
use super::{paint, sizes};
use kit::geometry::{Point, Size};
use kit::lines::LEAST_NUMBER;
use kit::scene::{Item, Scene};
use kit::sheet::{Paper, Sheet, Strip};
use std::collections::BTreeMap;

/// The scale wanted for drawings on paper when sheets are shared out, and the smallest that keeps numbers and colours
/// legible, as parts of their own size.
pub(super) const WANTED_SCALE: f64 = 1.0;
/// See [`WANTED_SCALE`].
pub(crate) const LEAST_SCALE: f64 = LEAST_NUMBER / sizes::TEXT;

/// The size in which a drawing so large fits the paper, either way round; never more than its own.
pub(super) fn scale_on(size: Size, paper: Paper) -> f64 {
    let on = |sheet: Size| {
        let field = Sheet::of(sheet).field;
        (field.width() / size.width).min(field.height() / size.height)
    };
    on(paper.lying()).max(on(paper.upright())).min(1.0)
}

/// The size in which the finished sheet of a drawing so large is no larger than the paper; `None` if its lettering
/// could not be read then.
pub(crate) fn fitted(size: Size, paper: Paper, note: &str) -> Option<f64> {
    // A narrow sheet's caution takes more lines.
    let within = |scale: &f64| {
        let sheet = Sheet::around_noted(Size::new(size.width * scale, size.height * scale), note).size;
        [paper.lying(), paper.upright()]
            .iter()
            .any(|p| sheet.width <= p.width + 1e-6 && sheet.height <= p.height + 1e-6)
    };
    let first = scale_on(size, paper);
    let mut scales = std::iter::successors(Some(first), |scale| Some(scale * 0.99)).take_while(|s| *s >= LEAST_SCALE);
    scales.find(within)
}

/// Whether the finished sheet is no larger than the paper.
pub(super) fn fits(diagram: &Diagram, placed: &PlacedDiagram, paper: Paper, note: &str) -> bool {
    let largest = paper.lying().width.max(paper.lying().height);
    placed.size.width.max(placed.size.height) * LEAST_SCALE < largest
        && fitted(paint::extent(diagram, placed.size), paper, note).is_some()
}

/// A drawing's place on its sheet.
pub(super) struct OnSheet {
    sheet: Sheet,
    left: f64,
}

impl OnSheet {
    /// Of a drawing so large, on a sheet around it.
    pub fn new(size: Size, note: &str) -> Self {
        let sheet = Sheet::around_noted(size, note);
        let left = sheet.field.left + (sheet.field.width() - size.width) / 2.0;
        Self { sheet, left }
    }

    /// The finished sheet.
    pub fn scene(&self, diagram: &Diagram, placed: &PlacedDiagram, items: Vec<Item>, strip: &Strip) -> Scene {
        let description = format!(
            "{} parts in {} places, {} wires.",
            diagram.parts.len(),
            placed.frames.len(),
            diagram.wires.len() + diagram.exits.len()
        );
        let moved = items.into_iter().map(|item| item.moved(self.left, self.sheet.field.top)).collect();
        self.sheet.scene(strip, &description, moved)
    }
}

/// The size of a drawing on its paper, and its place on the sheet.
fn laid(diagram: &Diagram, placed: &PlacedDiagram, (paper, note): (Paper, &str)) -> (f64, OnSheet) {
    let size = paint::extent(diagram, placed.size);
    let scale = fitted(size, paper, note).unwrap_or(LEAST_SCALE);
    (scale, OnSheet::new(Size::new(size.width * scale, size.height * scale), note))
}

/// The finished sheet, at most as large as the paper as long as that keeps its lettering legible.
pub(super) fn scene(
    diagram: &Diagram,
    placed: &PlacedDiagram,
    (items, _): (Vec<Item>, Size),
    strip: &Strip,
    on: (Paper, &str),
) -> Scene {
    let (scale, sheet) = laid(diagram, placed, on);
    sheet.scene(diagram, placed, items.into_iter().map(|item| item.scaled(scale)).collect(), strip)
}

/// Writes at each exit where the wire goes on: sheet and zone, as `3/B4`.
pub(super) fn refer(drawings: &mut [(Diagram, PlacedDiagram)], paper: Paper, note: &str) {
    let mut zones: BTreeMap<(usize, String), String> = BTreeMap::new();
    for (sheet, (diagram, placed)) in drawings.iter().enumerate() {
        let (scale, on) = laid(diagram, placed, (paper, note));
        for (part, at) in diagram.parts.iter().zip(&placed.parts) {
            for pin in &at.pins {
                let Some(spot) = pin.spots.first() else { continue };
                let spot = Point::new(spot.x * scale + on.left, spot.y * scale + on.sheet.field.top);
                let name = part.pins[pin.pin].full_name.clone();
                zones.entry((sheet, name)).or_insert_with(|| on.sheet.zone(spot));
            }
        }
    }
    for exit in drawings.iter_mut().flat_map(|(diagram, _)| &mut diagram.exits) {
        let zone = zones.get(&(exit.sheet, exit.far.clone()));
        exit.zone = zone.map(|zone| format!("{}/{zone}", exit.sheet + 1)).unwrap_or_default();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::made_up;
    use kit::scene::ItemGroup;
    use model::Model;

    /// What a walk over a sheet finds: the zone marks of its frame, its pins, and the references of its marks.
    #[derive(Default)]
    struct Found {
        /// Letters down the left side and figures along the top, each with its middle.
        rows: Vec<(String, f64)>,
        columns: Vec<(String, f64)>,
        pins: Vec<(String, Point)>,
        references: Vec<(String, String)>,
    }

    fn look(group: &ItemGroup, found: &mut Found) {
        let tag = &group.tag;
        let reference = tag.data.iter().find(|(key, _)| key == "zone").map(|(_, value)| value.clone());
        match (&tag.pin, tag.at, reference) {
            (Some(pin), _, Some(zone)) => found.references.push((pin.clone(), zone)),
            (Some(pin), Some(at), None) => found.pins.push((pin.clone(), at)),
            _ => {}
        }
        for item in &group.items {
            match item {
                Item::Group(inner) => look(inner, found),
                Item::Text(text) if tag.kind.as_deref() == Some("frame") => {
                    let list = if text.text.starts_with(|c: char| c.is_ascii_digit()) {
                        &mut found.columns
                    } else {
                        &mut found.rows
                    };
                    let middle = text.bounds().centre();
                    list.push((
                        text.text.clone(),
                        if text.text.starts_with(|c: char| c.is_ascii_digit()) { middle.x } else { middle.y },
                    ));
                }
                _ => {}
            }
        }
    }

    fn nearest(marks: &[(String, f64)], at: f64) -> &str {
        let near = marks.iter().min_by(|a, b| (a.1 - at).abs().total_cmp(&(b.1 - at).abs()));
        near.map_or("", |(name, _)| name)
    }

    /// Every reference names a sheet and a zone in which the pin stands, by the letters and figures on the frame there.
    /// Returns how many there are, and what goes astray on the sheets.
    fn assert_referred(name: &str, model: &Model) -> (usize, Vec<String>) {
        let mut laid = super::super::placed_shares(&super::super::subject(model), Paper::A3, "");
        refer(&mut laid, Paper::A3, "");
        let astray = laid.iter().flat_map(|(diagram, placed)| super::super::astray(diagram, placed));
        let astray: Vec<String> = astray.map(|line| format!("{name}: {line}")).collect();
        let sheets: Vec<Found> = laid
            .iter()
            .map(|(diagram, placed)| {
                let drawn = paint::items(diagram, placed);
                let scene = scene(diagram, placed, drawn, &Strip::default(), (Paper::A3, ""));
                let mut found = Found::default();
                for item in &scene.items {
                    if let Item::Group(group) = item {
                        look(group, &mut found);
                    }
                }
                found
            })
            .collect();
        for (pin, reference) in sheets.iter().flat_map(|sheet| &sheet.references) {
            let (sheet, zone) = reference.split_once('/').unwrap_or_else(|| panic!("{name}: {pin} {reference:?}"));
            let there = &sheets[sheet.parse::<usize>().unwrap() - 1];
            // Half a millimetre either way: the marks' letters stand about in the middle of their zones.
            let about = |at: f64| [at - 0.5, at + 0.5];
            let is_there = |at: Point| {
                let rows = about(at.y).map(|y| nearest(&there.rows, y));
                let columns = about(at.x).map(|x| nearest(&there.columns, x));
                rows.iter().any(|row| columns.iter().any(|column| format!("{row}{column}") == zone))
            };
            let mut spots = there.pins.iter().filter(|(own, _)| own == pin).map(|(_, at)| *at);
            assert!(spots.any(is_there), "{name}: {pin} is not in {reference}");
        }
        (sheets.iter().map(|sheet| sheet.references.len()).sum(), astray)
    }

    /// In the demos no wire goes round a frame or along its own outside, and no bar is too long. In a made-up harness,
    /// whose wires join anything to anything, one wire in 200 may.
    #[test]
    fn references_name_sheet_and_zone_and_no_wire_goes_astray() {
        let demos = sample::DEMOS.iter().filter(|name| cfg!(not(debug_assertions)) || **name != "refuse-truck");
        let mut seen = 0;
        for name in demos {
            let (references, astray) = assert_referred(name, &sample::demo(name));
            assert_eq!(astray, Vec::<String>::new());
            seen += references;
        }
        let (mut wires, mut lines) = (0, Vec::new());
        for seed in 0..if cfg!(debug_assertions) { 3 } else { 40 } {
            let model = sample::of_text("spec.yaml", &made_up::spec(seed, 60)).unwrap_or_else(|p| panic!("{p}"));
            let (references, astray) = assert_referred(&format!("seed {seed}"), &model);
            wires += model.wires.len();
            seen += references;
            lines.extend(astray);
        }
        assert!(lines.len() * 200 <= wires, "{wires} wires: {lines:#?}");
        assert!(seen > 40, "{seen} references");
    }
}
