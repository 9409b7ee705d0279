//! The drawing's own font: widths, boxes and outlines of text, the same in every writer.
//!
//! The font is a renamed subset of DejaVu Sans; `font/README.md` says how it was made and under which licence.

use super::font_subset::only;
use super::geometry::{Point, Seg};
use super::woff::woff;
use std::collections::BTreeSet;
use std::sync::LazyLock;
use ttf_parser::{Face, GlyphId, OutlineBuilder};

/// The regular weight, as a TrueType file.
pub const REGULAR: &[u8] = include_bytes!("font/LoomwrightSans-Regular.ttf");
/// The bold weight, as a TrueType file.
pub const BOLD: &[u8] = include_bytes!("font/LoomwrightSans-Bold.ttf");

/// Its name in a page.
const FAMILY: &str = "Loomwright Sans";

/// The font file of a weight with the outlines of these glyphs only; all keep their numbers.
pub(super) fn with_outlines(bold: bool, glyphs: &BTreeSet<u16>) -> Vec<u8> {
    let file = if bold { BOLD } else { REGULAR };
    only(file, glyphs).unwrap_or_else(|| file.to_vec())
}

/// The rules of a page's style sheet that embed these glyphs of the two weights, and set the text of drawings in them letter
/// by letter, as [`place`] does.
pub(super) fn css(regular: &BTreeSet<u16>, bold: &BTreeSet<u16>) -> String {
    use base64::Engine as _;
    let rule = |file: Vec<u8>, weight: &str| {
        let file = base64::engine::general_purpose::STANDARD.encode(woff(&file));
        format!(
            "@font-face {{ font-family: \"{FAMILY}\"; font-weight: {weight}; \
             src: url(data:font/woff;base64,{file}) format(\"woff\"); }}\n"
        )
    };
    let text = format!(
        "svg text {{ font-family: \"{FAMILY}\"; font-kerning: none; font-variant: none; white-space: pre; \
         paint-order: stroke; text-rendering: geometricPrecision; }}\n"
    );
    rule(with_outlines(false, regular), "normal") + &rule(with_outlines(true, bold), "bold") + &text
}

/// Top of tall letters and accents on small ones above the base line, as a share of the font size.
pub const ASCENT: f64 = 0.80;
/// Bottom of descenders below the base line, as a share of the font size.
pub const DESCENT: f64 = 0.24;
/// Height of capitals and figures, as a share of the font size.
pub const CAP_HEIGHT: f64 = 0.729;

// OK because: both files are part of the program, and a test parses them.
static FACES: LazyLock<[Option<Face<'static>>; 2]> =
    LazyLock::new(|| [Face::parse(REGULAR, 0).ok(), Face::parse(BOLD, 0).ok()]);

/// The face of a weight.
pub(super) fn face(bold: bool) -> Option<&'static Face<'static>> {
    FACES[usize::from(bold)].as_ref()
}

/// One letter of a text: its glyph and where it starts, in millimetres from the start of the text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlacedGlyph {
    /// The character as it is drawn; U+FFFD if the font lacks it.
    pub letter: char,
    /// Number of its glyph in the font file.
    pub glyph: u16,
    /// Start along the base line.
    pub x: f64,
    /// Advance width.
    pub width: f64,
}

/// What is drawn of a text: no control characters (tabs and line breaks become spaces) and none of the invisible marks
/// that turn the reading direction or join letters, which could make a label say something else than it seems to.
pub fn printable(text: &str) -> impl Iterator<Item = char> + '_ {
    text.chars().map(|c| if matches!(c, '\t' | '\n' | '\r') { ' ' } else { c }).filter(|&c| !hidden(c))
}

fn hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// A character as the font draws it (U+FFFD if the font lacks it), its glyph, and its advance in font units.
#[derive(Clone, Copy)]
struct Glyph {
    letter: char,
    id: GlyphId,
    advance: u16,
}

impl Glyph {
    fn of(face: &Face, c: char) -> Glyph {
        let known = face.glyph_index(c).map(|id| (c, id));
        let (letter, id) = known.unwrap_or(('\u{fffd}', face.glyph_index('\u{fffd}').unwrap_or(GlyphId(0))));
        Glyph { letter, id, advance: face.glyph_hor_advance(id).unwrap_or(0) }
    }
}

/// Characters whose glyphs are looked up once: Latin, with its accents. Layouts measure the same few many times.
const COMMON: u32 = 0x180;

static COMMON_GLYPHS: LazyLock<[Vec<Glyph>; 2]> = LazyLock::new(|| {
    let of = |bold| {
        let common = (0..COMMON).filter_map(char::from_u32);
        face(bold).map_or_else(Vec::new, |face| common.map(|c| Glyph::of(face, c)).collect())
    };
    [of(false), of(true)]
});

/// The glyphs of a text, and millimetres in a font unit at a font size in millimetres.
fn glyphs(text: &str, height: f64, bold: bool) -> (impl Iterator<Item = Glyph> + '_, f64) {
    let common = &COMMON_GLYPHS[usize::from(bold)];
    let glyph = move |c: char| common.get(c as usize).copied().or_else(|| Some(Glyph::of(face(bold)?, c)));
    (printable(text).filter_map(glyph), height / units(bold))
}

/// The letters of a text, placed. `height` is the font size in millimetres.
pub fn place(text: &str, height: f64, bold: bool) -> Vec<PlacedGlyph> {
    let (glyphs, scale) = glyphs(text, height, bold);
    let mut x = 0.0;
    glyphs
        .map(|Glyph { letter, id, advance }| {
            let width = f64::from(advance) * scale;
            let placed = PlacedGlyph { letter, glyph: id.0, x, width };
            x += width;
            placed
        })
        .collect()
}

/// Advance width of a text in millimetres, for a font size in millimetres.
pub fn width(text: &str, height: f64, bold: bool) -> f64 {
    let (glyphs, scale) = glyphs(text, height, bold);
    glyphs.fold(0.0, |x, glyph| x + f64::from(glyph.advance) * scale)
}

/// The text cut to fit into `room` millimetres, with `…` where something is missing.
pub fn fitted(text: &str, room: f64, height: f64, bold: bool) -> String {
    if width(text, height, bold) <= room {
        return text.to_string();
    }
    let mut kept: Vec<char> = printable(text).collect();
    while !kept.is_empty() {
        kept.pop();
        let shorter = format!("{}…", kept.iter().collect::<String>().trim_end());
        if width(&shorter, height, bold) <= room {
            return shorter;
        }
    }
    String::new()
}

/// The text broken at spaces into lines of at most `room` millimetres; a word longer than that gets its own line.
pub fn wrapped(text: &str, room: f64, height: f64, bold: bool) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if width(&format!("{line} {word}"), height, bold) <= room => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_string()),
        }
    }
    lines
}

/// The same, with words that are longer than a line broken anywhere.
pub fn filled(text: &str, room: f64, height: f64, bold: bool) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for line in wrapped(text, room, height, bold) {
        let mut rest = String::new();
        for letter in line.chars() {
            rest.push(letter);
            if width(&rest, height, bold) > room && rest.chars().count() > 1 {
                rest.pop();
                lines.push(std::mem::replace(&mut rest, letter.to_string()));
            }
        }
        lines.push(rest);
    }
    lines
}

/// As many whole phrases of a text, which commas part, as have room on some lines; only if not even the first has, the
/// text is cut, with `…` at its end.
pub fn phrases(text: &str, room: f64, (height, bold): (f64, bool), lines: usize) -> Vec<String> {
    let ends = text.match_indices(", ").map(|(at, _)| at).chain([text.len()]);
    let fits = |end: usize| Some(filled(&text[..end], room, height, bold)).filter(|kept| kept.len() <= lines);
    ends.filter_map(fits).last().unwrap_or_else(|| {
        let mut kept = filled(text, room, height, bold);
        let rest = kept.split_off(lines.saturating_sub(1)).join(" ");
        kept.push(fitted(&rest, room, height, bold));
        kept
    })
}

/// The outline of a glyph in font units ([`units`] to the font size), y **down**, base line at 0.
pub fn outline(glyph: u16, bold: bool) -> Vec<Seg> {
    let mut pen = Pen { segs: Vec::new(), here: Point::default() };
    if let Some(face) = face(bold) {
        face.outline_glyph(GlyphId(glyph), &mut pen);
    }
    pen.segs
}

/// Glyphs in the font; they are numbered from 0.
pub(super) fn count(bold: bool) -> u16 {
    face(bold).map_or(0, Face::number_of_glyphs)
}

/// Font units in one font size.
pub fn units(bold: bool) -> f64 {
    face(bold).map_or(1.0, |face| f64::from(face.units_per_em()))
}

/// The box around all glyphs in thousandths of the font size, y up: left, bottom, right, top.
pub(super) fn extent(bold: bool) -> [f64; 4] {
    let whole = face(bold).map(|face| face.global_bounding_box());
    let box_units = whole.map_or([0; 4], |b| [b.x_min, b.y_min, b.x_max, b.y_max]);
    box_units.map(|v| (f64::from(v) * 1000.0 / units(bold)).round())
}

struct Pen {
    segs: Vec<Seg>,
    here: Point,
}

impl Pen {
    fn point(x: f32, y: f32) -> Point {
        Point::new(f64::from(x), -f64::from(y))
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        self.here = Self::point(x, y);
        self.segs.push(Seg::Move(self.here));
    }
    fn line_to(&mut self, x: f32, y: f32) {
        self.here = Self::point(x, y);
        self.segs.push(Seg::Line(self.here));
    }
    /// A quadratic curve is the cubic whose handles lie two thirds of the way to its control point.
    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (control, end) = (Self::point(x1, y1), Self::point(x, y));
        let toward = |p: Point| Point::new(p.x + (control.x - p.x) * 2.0 / 3.0, p.y + (control.y - p.y) * 2.0 / 3.0);
        self.segs.push(Seg::Cubic(toward(self.here), toward(end), end));
        self.here = end;
    }
    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.here = Self::point(x, y);
        self.segs.push(Seg::Cubic(Self::point(x1, y1), Self::point(x2, y2), self.here));
    }
    fn close(&mut self) {
        self.segs.push(Seg::Close);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_weights_parse_and_hold_the_signs_of_the_trade() {
        for bold in [false, true] {
            let face = face(bold).expect("the font is part of the program");
            for c in "AZaz09ÄßŁčΩµ²°±×≤≥–—…′″→←↑↓ЖЯ".chars() {
                assert!(face.glyph_index(c).is_some(), "{c} in bold = {bold}");
            }
            let name = face.names().into_iter().find(|n| n.name_id == 4).and_then(|n| n.to_string());
            assert!(name.is_some_and(|n| n.starts_with("Loomwright Sans")));
        }
    }

    /// DejaVu Sans 2.37 sets `0` 1303 and `W` 2025 units wide on 2048 (its hmtx table).
    #[test]
    fn widths_are_the_fonts_own() {
        assert!((width("0", 2.048, false) - 1.303).abs() < 1e-9);
        assert!((width("0W", 2.048, false) - 3.328).abs() < 1e-9);
    }

    #[test]
    fn hidden_marks_take_no_room_and_unknown_letters_show() {
        assert_eq!(width("K\u{202e}1\u{7}", 3.0, false), width("K1", 3.0, false));
        assert_eq!(place("漢", 3.0, false)[0].letter, '\u{fffd}');
    }

    #[test]
    fn cut_text_fits_its_room() {
        let cut = fitted("Camera, rear bumper", 12.0, 2.5, false);
        assert!(cut.ends_with('…') && width(&cut, 2.5, false) <= 12.0);
        assert!(wrapped("one two three four", 12.0, 2.5, false).iter().all(|l| width(l, 2.5, false) <= 12.0));
    }

    #[test]
    fn capitals_are_as_high_as_said() {
        let h = place("H", 1.0, false)[0].glyph;
        let top = crate::path::Path::new(outline(h, false)).bounds().unwrap().top;
        assert!((-top / units(false) - CAP_HEIGHT).abs() < 0.001, "{top}");
    }
}
