//! The signal map: from what the driver and the vehicle do, through what decides, to what is seen. For the talk with the
//! customer: it shows who switches what, without a wire number in sight.
//!
//! In comes a model, out goes one sheet. [`causes`] finds what may switch each thing, [`map`] makes boxes and arrows of
//! it, the layout of [`super::connection`] places them.

mod causes;
mod map;

use super::colour::{Colour, INK, SOFT_INK};
use super::connection::{self, Placed, PlacedWire};
use super::font;
use super::lines::{LABEL, NAME};
use super::scene::*;
use super::sheet::{Sheet, Strip};
use crate::model::{Model, Screen, Shown};
use map::{Arrow, Map};

/// Arrows of pictures.
const PICTURE: Colour = Colour::hex(0x1c6a86);
/// Width of an arrow that switches, millimetres.
const THIN: f64 = 0.5;
/// Width of an arrow that carries a picture, millimetres.
const THICK: f64 = 1.1;
/// Length of an arrow's head, millimetres.
const HEAD: f64 = 2.4;
/// From a line of the words below the map to the next, millimetres.
const LINE: f64 = 4.6;

/// Draws the signal map of a harness on one sheet as large as it needs to be.
pub fn signal_map(model: &Model) -> Scene {
    let Map { diagram, arrows } = map::map(model);
    let placed = connection::place(&diagram);
    let mut items = connection::frames(&diagram, &placed);
    for ((wire, arrow), drawn) in placed.wires.iter().zip(&arrows).zip(&diagram.wires) {
        let [from, to] = drawn.ends.map(|end| diagram.parts[end.part].name.clone());
        items.push(arrow_group(wire, *arrow, &from, &to).into());
    }
    items.extend(connection::part_bodies(&diagram, &placed));
    let words = words(model, placed.size.width.max(LEAST_WIDTH));
    let size = Size::new(placed.size.width.max(LEAST_WIDTH), placed.size.height + words.len() as f64 * LINE + LINE);
    items.extend(words_below(&placed, words));
    let sheet = Sheet::around(size);
    let (dx, dy) = (sheet.field.left + (sheet.field.width() - size.width) / 2.0, sheet.field.top);
    let described = format!("What switches what: {} boxes and {} arrows.", diagram.parts.len(), arrows.len());
    let strip = Strip {
        job: model.job.title.clone(),
        drawing: "Signal map".into(),
        revision: model.job.revision.clone(),
        sheet: 1,
        sheets: 1,
        scale: "not to scale".into(),
    };
    sheet.scene(&strip, &described, items.into_iter().map(|item| item.moved(dx, dy)).collect())
}

/// Least width for the words below the map, millimetres.
const LEAST_WIDTH: f64 = 160.0;

fn stroke(arrow: Arrow) -> Stroke {
    match arrow {
        Arrow::Switches => Stroke::solid(INK, THIN),
        Arrow::SwitchesByGoingOff => Stroke::dashed(INK, THIN, Dash::even(1.6, 1.1)),
        Arrow::Picture => Stroke::solid(PICTURE, THICK),
    }
}

fn arrow_group(wire: &PlacedWire, arrow: Arrow, from: &str, to: &str) -> Group {
    let stroke = stroke(arrow);
    let tag = Tag::kind("arrow").with("from", from).with("to", to).hovered(match arrow {
        Arrow::Switches => format!("{from} switches {to}"),
        Arrow::SwitchesByGoingOff => format!("{from} switches {to} by going off"),
        Arrow::Picture => format!("{to} gets the picture of {from}"),
    });
    let mut group = Group::of(tag, [connection::line(wire).stroked(stroke)]);
    if let [.., before, tip] = wire.path[..] {
        let back = if before.x < tip.x { -HEAD } else { HEAD };
        let half = HEAD / 2.2;
        let head = Path::polygon(&[tip, tip.by(back, -half), tip.by(back, half)]);
        group.push(head.filled(stroke.colour));
    }
    if arrow == Arrow::SwitchesByGoingOff {
        let [_, label] = &wire.labels[1];
        group.push(label.clone());
    }
    group
}

/// A line below the map.
enum Words {
    Gap,
    Heading(String),
    Plain(String),
    /// Samples of all arrows.
    Key,
}

fn words(model: &Model, width: f64) -> Vec<Words> {
    let mut words = vec![Words::Key];
    for screen in model.screens.iter().filter(|screen| !screen.views.is_empty()) {
        words.push(Words::Gap);
        words.push(Words::Heading(format!("What {} should show, the first that holds", screen.name)));
        for (order, view) in meant(model, screen).into_iter().enumerate() {
            let lines = font::wrapped(&format!("{}. {view}", order + 1), width, LABEL, false);
            words.extend(lines.into_iter().map(Words::Plain));
        }
    }
    words
}

/// The intent of a screen, a sentence a line.
fn meant(model: &Model, screen: &Screen) -> Vec<String> {
    let line = |view: &crate::model::View| {
        let shown = match view.show {
            Shown::Source(part) => {
                let part = model.part(part);
                if part.title == part.name.as_str() {
                    part.name.to_string()
                } else {
                    format!("{} ({})", part.name, part.title)
                }
            }
            Shown::Home => "its home page".into(),
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

fn words_below(placed: &Placed, words: Vec<Words>) -> Vec<Item> {
    let mut items: Vec<Item> = Vec::new();
    let mut y = placed.size.height + LINE;
    for line in words {
        let at = Point::new(0.0, y);
        match line {
            Words::Gap => y -= LINE / 2.0,
            Words::Heading(text) => items.push(Text::new(at, text, NAME).bold().into()),
            Words::Plain(text) => items.push(Text::new(at.by(3.0, 0.0), text, LABEL).coloured(SOFT_INK).into()),
            Words::Key => items.extend(key(at)),
        }
        y += LINE;
    }
    items
}

/// Each kind of arrow with what it says.
fn key(at: Point) -> Vec<Item> {
    const SAMPLE: f64 = 10.0;
    let mut items: Vec<Item> = Vec::new();
    let mut x = at.x;
    for (arrow, text) in [
        (Arrow::Switches, "switches"),
        (Arrow::SwitchesByGoingOff, "switches by going off: not"),
        (Arrow::Picture, "picture"),
    ] {
        let middle = at.y - 1.0;
        let line = Path::line(Point::new(x, middle), Point::new(x + SAMPLE, middle)).stroked(stroke(arrow));
        let label = Text::new(Point::new(x + SAMPLE + 2.0, at.y), text, LABEL);
        x = label.bounds().right + 8.0;
        items.extend([line.into(), label.into()]);
    }
    items
}
