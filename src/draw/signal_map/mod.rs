//! The signal map: inputs, logic, pictures and screens, without wire numbers. For the talk with the customer: it shows
//! what switches what.
//!
//! In comes a model, out come sheets. [`causes`] finds what may switch each thing, [`map`] makes boxes and arrows of
//! it, the layout of [`super::connection`] places them.

mod by_name;
mod causes;
mod idle;
mod map;

use super::connection::{self, PlacedDiagram, PlacedWire, Share};
use kit::colour::{INK, Rgb, SOFT_INK};
use kit::font;
use kit::lines::{LABEL, NAME};
use kit::scene::*;
use kit::sheet::{Paper, Sheet, Strip};
use map::{Arrow, Map};
use model::{Model, Screen, Shown};

/// Arrows of pictures.
const PICTURE: Rgb = Rgb::hex(0x1c6a86);
/// Width of an arrow that switches, millimetres.
const THIN: f64 = 0.5;
/// Width of an arrow that carries a picture, millimetres.
const THICK: f64 = 1.1;
/// Length of an arrow's head, millimetres.
const HEAD: f64 = 2.4;
/// From a line of the words below the map to the next, millimetres.
const LINE: f64 = 4.6;

/// Draws the signal map of a harness on as many sheets, none larger than the paper, as it takes to keep its lettering
/// legible; arrows that go on elsewhere end in marks that name the other sheet.
pub fn sheets(model: &Model, paper: Paper) -> Vec<Scene> {
    let Map { diagram, arrows } = map::map(model);
    let laid = connection::sheets_of(&diagram, paper, "");
    let mut drawn: Vec<Drawn> = laid.iter().map(|sheet| drawn(&sheet.share, &sheet.placed, &arrows)).collect();
    // What is meant stands below the map, or on a sheet of its own where the last one has no room for it.
    let fits = |drawn: &Drawn| connection::fitted(drawn.size, paper, "").is_some();
    match drawn.last().map(|last| last.with_words(model)).filter(fits) {
        Some(with_words) => {
            drawn.pop();
            drawn.push(with_words);
        }
        None => drawn.push(Drawn::default().with_words(model)),
    }
    let count = drawn.len();
    let described = format!("What switches what: {} boxes and {} arrows.", diagram.parts.len(), arrows.len());
    let sheet = |(i, drawn): (usize, Drawn)| {
        let strip = Strip::of(&model.job.title, &model.job.revision, "Signal map", [i + 1, count]).units("–");
        let scale = connection::fitted(drawn.size, paper, "").unwrap_or(connection::LEAST_SCALE);
        let size = Size::new(drawn.size.width * scale, drawn.size.height * scale);
        let sheet = Sheet::around(size);
        let (dx, dy) = (sheet.field.left + (sheet.field.width() - size.width) / 2.0, sheet.field.top);
        let items = drawn.items.into_iter().map(|item| item.scaled(scale).moved(dx, dy)).collect();
        sheet.scene(&strip, &described, items)
    };
    drawn.into_iter().enumerate().map(sheet).collect()
}

/// What is on a sheet, its top left corner at the origin.
#[derive(Clone, Default)]
struct Drawn {
    items: Vec<Item>,
    size: Size,
}

/// Boxes and arrows of one sheet, with the key of arrows below.
fn drawn(share: &Share, placed: &PlacedDiagram, arrows: &[Arrow]) -> Drawn {
    let diagram = &share.diagram;
    let mut items = connection::frames(diagram, placed);
    for ((wire, index), drawn) in placed.wires.iter().zip(&share.wires).zip(&diagram.wires) {
        let [from, to] = drawn.ends.map(|end| diagram.parts[end.part].name.clone());
        items.push(arrow_group(wire, arrows[*index], &from, &to).into());
    }
    items.extend(connection::part_bodies(diagram, placed));
    let shown: Vec<Arrow> = share.wires.iter().map(|index| arrows[*index]).collect();
    items.extend(key(Point::new(0.0, placed.size.height + LINE), &shown));
    Drawn { items, size: Size::new(placed.size.width.max(LEAST_WIDTH), placed.size.height + 2.0 * LINE) }
}

impl Drawn {
    /// The same with what the screens should show below.
    fn with_words(&self, model: &Model) -> Self {
        let width = self.size.width.max(LEAST_WIDTH);
        let (words, height) = words(model, width);
        let mut drawn = self.clone();
        drawn.items.extend(words.into_iter().map(|item| item.moved(0.0, self.size.height)));
        drawn.size = Size::new(width, self.size.height + height);
        drawn
    }
}

/// Minimum width for the words below the map, millimetres.
const LEAST_WIDTH: f64 = 160.0;

fn stroke(arrow: Arrow) -> Stroke {
    match arrow {
        Arrow::Switches => Stroke::solid(INK, THIN),
        Arrow::SwitchesByGoingOff => Stroke::dashed(INK, THIN, Dash::even(1.6, 1.1)),
        Arrow::Picture => Stroke::solid(PICTURE, THICK),
    }
}

fn arrow_group(wire: &PlacedWire, arrow: Arrow, from: &str, to: &str) -> ItemGroup {
    let stroke = stroke(arrow);
    let tag = Tag::kind("arrow").with("from", from).with("to", to).hovered(match arrow {
        Arrow::Switches => format!("{from} switches {to}"),
        Arrow::SwitchesByGoingOff => format!("{from} switches {to} by going off"),
        Arrow::Picture => format!("{to} gets the picture of {from}"),
    });
    let mut group = ItemGroup::of(tag, [connection::line(wire).stroked(stroke)]);
    if let [.., before, tip] = wire.path[..] {
        let back = if before.x < tip.x { -HEAD } else { HEAD };
        let half = HEAD / 3.4;
        let head = Path::polygon(&[tip, tip.by(back, -half), tip.by(back, half)]);
        group.push(head.filled(stroke.colour));
    }
    if arrow == Arrow::SwitchesByGoingOff {
        let [_, label] = &wire.labels[1];
        group.push(label.clone());
    }
    group
}

/// What each screen should show, and the height that takes.
fn words(model: &Model, width: f64) -> (Vec<Item>, f64) {
    let mut items: Vec<Item> = Vec::new();
    let mut y = 0.0;
    for screen in model.screens.iter().filter(|screen| !screen.views.is_empty()) {
        let title = format!("What {} should show; the first that applies decides", screen.name);
        y += LINE * 1.5;
        items.push(TextItem::new(Point::new(0.0, y), title, NAME).bold().into());
        for (order, view) in meant(model, screen).into_iter().enumerate() {
            for line in font::wrapped(&format!("{}. {view}", order + 1), width - 3.0, LABEL, false) {
                y += LINE;
                items.push(TextItem::new(Point::new(3.0, y), line, LABEL).coloured(SOFT_INK).into());
            }
        }
    }
    (items, y + LINE / 2.0)
}

/// The intent of a screen, a sentence a line.
fn meant(model: &Model, screen: &Screen) -> Vec<String> {
    let line = |view: &model::View| {
        let shown = match view.show {
            Shown::Source(part) => {
                let part = model.part(part);
                if part.title == part.name.as_str() {
                    part.name.to_string()
                } else {
                    format!("{} ({})", part.name, part.title)
                }
            }
            Shown::Home => "home page".into(),
            Shown::Black => "nothing".into(),
            Shown::Any => "anything".into(),
        };
        let when = if view.text == "otherwise" { "otherwise".into() } else { format!("when {}", view.text) };
        let within = view.within.map_or(String::new(), |time| format!(", within {time}"));
        let steady = if view.steady { ", without blinking" } else { "" };
        format!("{shown} {when}{within}{steady}")
    };
    screen.views.iter().map(line).collect()
}

/// Each kind of arrow that is on the sheet, with what it says.
fn key(at: Point, shown: &[Arrow]) -> Vec<Item> {
    const SAMPLE: f64 = 10.0;
    let mut items: Vec<Item> = Vec::new();
    let mut x = at.x;
    let kinds = [
        (Arrow::Switches, "switches"),
        (Arrow::SwitchesByGoingOff, "switches by going off: not"),
        (Arrow::Picture, "picture"),
    ];
    for (arrow, text) in kinds.into_iter().filter(|(arrow, _)| shown.contains(arrow)) {
        let middle = at.y - 1.0;
        let line = Path::line(Point::new(x, middle), Point::new(x + SAMPLE, middle)).stroked(stroke(arrow));
        let label = TextItem::new(Point::new(x + SAMPLE + 2.0, at.y), text, LABEL);
        x = label.bounds().right + 8.0;
        items.extend([line.into(), label.into()]);
    }
    items
}
