//! Breaks texts into lines.

use crate::blocks::{Atom, AtomShown, TextSide};
use crate::letters::{BASE, DEEP, LEADING, Letters};
use crate::paint::{badge, swatch, tick};
use kit::font;
use kit::path::{Path, Stroke};
use kit::scene::{Item, Point, Rect, Size, TextItem};

/// A line, its top left corner at the origin.
#[derive(Debug, Clone, Default)]
pub struct Line {
    /// What is on it.
    pub items: Vec<Item>,
    /// How high it is.
    pub height: f64,
    /// The areas that lead elsewhere.
    pub links: Vec<(Rect, String)>,
}

/// Beside the words of a badge, inside and after it, as a share of the font size.
const BESIDE: f64 = 1.09;
/// Width of a swatch and of the gap behind it, as shares of the font size.
const SWATCH: [f64; 2] = [1.9, 0.4];
/// Edge of a box to tick, millimetres.
const TICK: f64 = 3.4;

/// Width of a space.
fn space(letters: Letters) -> f64 {
    font::width(" ", letters.size, letters.bold)
}

/// Width of an atom without the space before it.
fn width(atom: &Atom) -> f64 {
    let Letters { size, bold, .. } = atom.letters;
    match &atom.shown {
        AtomShown::Word(text) => font::width(text, size, bold),
        AtomShown::Badge { text, .. } => font::width(text, size, bold) + BESIDE * size,
        AtomShown::Swatch(_) => SWATCH.iter().sum::<f64>() * size,
        AtomShown::Tick => TICK,
        AtomShown::NewLine => 0.0,
    }
}

fn gap(atom: &Atom) -> f64 {
    if atom.spaced { space(atom.letters) } else { 0.0 }
}

/// The atoms from one place where a line may end to the next.
fn chunks(atoms: &[Atom]) -> impl Iterator<Item = &[Atom]> {
    let ends = |atom: &Atom| atom.breaks || atom.shown == AtomShown::NewLine;
    atoms.chunk_by(move |before, after| !ends(after) && before.shown != AtomShown::NewLine)
}

/// Width of a chunk without the space before it.
fn chunk_width(chunk: &[Atom]) -> f64 {
    chunk.iter().enumerate().map(|(i, atom)| width(atom) + if i > 0 { gap(atom) } else { 0.0 }).sum()
}

/// The width that a text takes at least, if no word is broken, and the width that it takes on as few lines as it has.
pub fn extent(atoms: &[Atom]) -> [f64; 2] {
    let (mut least, mut line, mut most) = (0.0_f64, 0.0_f64, 0.0_f64);
    for chunk in chunks(atoms) {
        let wide = chunk_width(chunk);
        least = least.max(wide);
        if chunk[0].shown == AtomShown::NewLine {
            line = 0.0;
        } else {
            line += wide + if line > 0.0 { gap(&chunk[0]) } else { 0.0 };
        }
        most = most.max(line);
    }
    [least, most]
}

/// The lines of a text in this room.
pub fn lines(atoms: &[Atom], room: f64, side: TextSide) -> Vec<Line> {
    let mut lines: Vec<Vec<Atom>> = vec![Vec::new()];
    let mut x = 0.0;
    for chunk in chunks(atoms) {
        if chunk[0].shown == AtomShown::NewLine {
            lines.push(Vec::new());
            x = 0.0;
            continue;
        }
        let wide = chunk_width(chunk);
        let before = if x > 0.0 { gap(&chunk[0]) } else { 0.0 };
        if x > 0.0 && x + before + wide > room + 1e-9 {
            lines.push(Vec::new());
            x = 0.0;
        }
        if wide > room + 1e-9 {
            let mut parts = broken(chunk, room);
            let last = parts.pop().unwrap_or_default();
            x = chunk_width(&last);
            parts.into_iter().for_each(|part| {
                if let Some(line) = lines.last_mut() {
                    line.extend(part);
                }
                lines.push(Vec::new());
            });
            if let Some(line) = lines.last_mut() {
                line.extend(last);
            }
            continue;
        }
        x += wide + if x > 0.0 { gap(&chunk[0]) } else { 0.0 };
        if let Some(line) = lines.last_mut() {
            line.extend(chunk.iter().cloned());
        }
    }
    let size = atoms.iter().map(|atom| atom.letters.size).fold(0.0, f64::max);
    lines.iter().map(|atoms| placed(atoms, size, room, side)).collect()
}

/// A chunk wider than its room, broken between atoms first, then between letters.
fn broken(chunk: &[Atom], room: f64) -> Vec<Vec<Atom>> {
    let mut parts: Vec<Vec<Atom>> = vec![Vec::new()];
    let mut x = 0.0;
    for atom in chunk {
        for piece in letters_apart(atom, room) {
            let wide = width(&piece) + if x > 0.0 { gap(&piece) } else { 0.0 };
            if x > 0.0 && x + wide > room + 1e-9 {
                parts.push(Vec::new());
                x = 0.0;
            }
            x += wide;
            if let Some(part) = parts.last_mut() {
                part.push(piece);
            }
        }
    }
    parts
}

/// A word or a badge in pieces that each have room.
fn letters_apart(atom: &Atom, room: f64) -> Vec<Atom> {
    let Letters { size, bold, .. } = atom.letters;
    let (text, beside) = match &atom.shown {
        AtomShown::Word(text) => (text, 0.0),
        AtomShown::Badge { text, .. } => (text, BESIDE * size),
        _ => return vec![atom.clone()],
    };
    if width(atom) <= room {
        return vec![atom.clone()];
    }
    let piece = |(i, text): (usize, String)| {
        let shown = match &atom.shown {
            AtomShown::Badge { ground, .. } => AtomShown::Badge { text, ground: *ground },
            _ => AtomShown::Word(text),
        };
        Atom { shown, spaced: atom.spaced && i == 0, ..atom.clone() }
    };
    font::filled(text, (room - beside).max(size), size, bold).into_iter().enumerate().map(piece).collect()
}

/// Words that stand side by side in the same letters are one text: it can be searched and copied as such.
struct Pending {
    text: String,
    x: f64,
    wide: f64,
    letters: Letters,
}

fn placed(atoms: &[Atom], size: f64, room: f64, side: TextSide) -> Line {
    let base = BASE * size;
    let free = room - chunk_width(atoms);
    let mut x = match side {
        TextSide::Left => 0.0,
        TextSide::Middle => (free / 2.0).max(0.0),
        TextSide::Right => free.max(0.0),
    };
    let boxed = atoms.iter().any(|atom| atom.shown == AtomShown::Tick);
    let mut line = Line { height: (LEADING * size).max(if boxed { TICK + 0.5 } else { 0.0 }), ..Line::default() };
    let mut pending: Option<Pending> = None;
    for (i, atom) in atoms.iter().enumerate() {
        let before = if i > 0 { gap(atom) } else { 0.0 };
        let (at, wide) = (x + before, width(atom));
        x = at + wide;
        if let Some(to) = &atom.leads_to {
            let area = Rect::sized(Point::new(at, 0.0), Size::new(wide, line.height));
            line.items.push(
                Path::line(
                    Point::new(at - if i > 0 { before } else { 0.0 }, base + 0.13 * size),
                    Point::new(x, base + 0.13 * size),
                )
                .stroked(Stroke::solid(DEEP, 0.12))
                .into(),
            );
            line.links.push((area, to.clone()));
        }
        if let AtomShown::Word(text) = &atom.shown {
            match &mut pending {
                Some(p) if p.letters == atom.letters => {
                    p.text.push_str(if before > 0.0 { " " } else { "" });
                    p.text.push_str(text);
                    p.wide = x - p.x;
                }
                _ => {
                    put(&mut line, pending.take(), base);
                    pending = Some(Pending { text: text.clone(), x: at, wide, letters: atom.letters });
                }
            }
            continue;
        }
        put(&mut line, pending.take(), base);
        match &atom.shown {
            AtomShown::Badge { text, ground } => line.items.extend(badge(text, *ground, atom.letters, at, base)),
            AtomShown::Swatch(shades) => {
                let area = Rect::sized(
                    Point::new(at, base - 0.72 * size),
                    Size::new(SWATCH[0] * atom.letters.size, 0.8 * atom.letters.size),
                );
                line.items.extend(swatch(*shades, &area));
            }
            AtomShown::Tick => line.items.push(tick(Point::new(at, 0.1), TICK)),
            AtomShown::Word(_) | AtomShown::NewLine => {}
        }
    }
    put(&mut line, pending, base);
    line
}

fn put(line: &mut Line, pending: Option<Pending>, base: f64) {
    if let Some(Pending { text, x, letters, .. }) = pending {
        let mut item = TextItem::new(Point::new(x, base), text, letters.size).coloured(letters.colour);
        item.bold = letters.bold;
        line.items.push(item.into());
    }
}
