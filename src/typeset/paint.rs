//! Small marks: badges, swatches, boxes to tick, frames.

use crate::letters::{LEADING, Letters};
use kit::colour::{INK, PAPER, Rgb};
use kit::path::{Path, Stroke};
use kit::scene::{Item, Point, Rect, Size, TextItem};

/// A text on a ground of its own, or in a frame of its colour, from `x` on.
pub fn badge(text: &str, ground: Option<Rgb>, letters: Letters, x: f64, base: f64) -> Vec<Item> {
    let size = letters.size;
    let wide = kit::font::width(text, size, letters.bold) + 0.84 * size;
    let area = Rect::sized(Point::new(x, base - 0.93 * size), Size::new(wide, 1.2 * size));
    let outline = Path::rounded(&area, 0.2 * size);
    let shape = match ground {
        Some(ground) => outline.filled(ground),
        None => outline.filled(PAPER).stroked(Stroke::solid(letters.colour, 0.3)),
    };
    let words = TextItem::new(Point::new(x + 0.42 * size, base), text, size).coloured(letters.colour).bold();
    vec![shape.into(), words.into()]
}

/// The insulation of a wire: the tracer runs along the middle.
pub fn swatch([base, tracer]: [Rgb; 2], area: &Rect) -> Vec<Item> {
    let mut items: Vec<Item> = vec![Path::rect(area).filled(base).stroked(Stroke::solid(INK, 0.15)).into()];
    if tracer != base {
        let stripe = Rect::centred(area.centre(), Size::new(area.width(), 0.34 * area.height()));
        items.push(Path::rect(&stripe).filled(tracer).into());
        items.push(Path::rect(area).stroked(Stroke::solid(INK, 0.15)).into());
    }
    items
}

/// A box to tick.
pub fn tick(at: Point, edge: f64) -> Item {
    let area = Rect::sized(at, Size::new(edge, edge));
    Path::rounded(&area, 0.4).filled(PAPER).stroked(Stroke::solid(INK, 0.25)).into()
}

/// A filled area.
pub fn ground(area: &Rect, colour: Rgb) -> Item {
    Path::rect(area).filled(colour).into()
}

/// A level line.
pub fn rule(from: f64, to: f64, y: f64, colour: Rgb, width: f64) -> Item {
    Path::line(Point::new(from, y), Point::new(to, y)).stroked(Stroke::solid(colour, width)).into()
}

/// An upright line.
pub fn upright(x: f64, from: f64, to: f64, colour: Rgb, width: f64) -> Item {
    Path::line(Point::new(x, from), Point::new(x, to)).stroked(Stroke::solid(colour, width)).into()
}

/// A line of text at a place, its top there.
pub fn text(words: impl Into<String>, at: Point, letters: Letters) -> Item {
    let mut item = TextItem::new(at.by(0.0, crate::letters::BASE * letters.size), words, letters.size);
    item.bold = letters.bold;
    item.coloured(letters.colour).into()
}

/// Height of a line of these letters.
pub fn line(letters: Letters) -> f64 {
    LEADING * letters.size
}

/// A frame with round corners.
pub fn frame(area: &Rect, colour: Rgb, width: f64) -> Item {
    Path::rounded(area, 0.8).stroked(Stroke::solid(colour, width)).into()
}
