//! A TrueType font with the outlines of some glyphs only: ISO/IEC 14496-22 (OpenType), chapters `glyf`, `loca` and `head`.

use super::sfnt::{ENTRY, HEADER, Table, number, tables, word};
use std::collections::BTreeSet;

/// Where `head` has the sum over the whole file, and the width of the numbers in `loca`.
const HEAD_SUM: usize = 8;
const HEAD_LONG: usize = 50;
/// The sum over a whole file, with the number at [`HEAD_SUM`], is this one.
const WHOLE: u32 = 0xB1B0_AFBA;

/// The flags of a part of a glyph that is put together from others.
const WORDS: u16 = 1;
const SCALE: u16 = 8;
const MORE: u16 = 0x20;
const TWO_SCALES: u16 = 0x40;
const MATRIX: u16 = 0x80;

/// The font in which only `glyphs`, and those that they are put together from, have outlines. All glyphs keep their numbers
/// and widths. Nothing if the file is no TrueType font.
pub(super) fn only(sfnt: &[u8], glyphs: &BTreeSet<u16>) -> Option<Vec<u8>> {
    let tables = tables(sfnt)?;
    let of = |tag: &[u8; 4]| tables.iter().find(|table| table.tag == tag).map(|table| table.bytes);
    let (glyf, loca, head) = (of(b"glyf")?, of(b"loca")?, of(b"head")?);
    let long = word(head, HEAD_LONG)? != 0;
    let outlines = Outlines { glyf, loca, long };
    let kept = outlines.with_parts(glyphs);
    let (glyf, loca) = outlines.only(&kept)?;
    with(sfnt.get(..HEADER)?, &tables, &glyf, &loca)
}

/// The file of these tables with `glyf` and `loca` in the place of its own, and with new sums.
fn with(start: &[u8], tables: &[Table], glyf: &[u8], loca: &[u8]) -> Option<Vec<u8>> {
    let mut directory = start.to_vec();
    let (first, mut data, mut head_at) = (HEADER + ENTRY * tables.len(), Vec::new(), None);
    for table in tables {
        let mut bytes = match table.tag {
            b"glyf" => glyf.to_vec(),
            b"loca" => loca.to_vec(),
            _ => table.bytes.to_vec(),
        };
        if table.tag == b"head" {
            bytes.get_mut(HEAD_SUM..HEAD_SUM + 4)?.fill(0);
            head_at = Some(first + data.len() + HEAD_SUM);
        }
        directory.extend(table.tag);
        for number in [sum(&bytes), (first + data.len()) as u32, bytes.len() as u32] {
            directory.extend(number.to_be_bytes());
        }
        data.extend(bytes);
        data.resize(data.len().next_multiple_of(4), 0);
    }
    let mut file = directory;
    file.extend(data);
    let whole = WHOLE.wrapping_sub(sum(&file)).to_be_bytes();
    file.get_mut(head_at?..head_at? + 4)?.copy_from_slice(&whole);
    Some(file)
}

/// The sum of a table as 32-bit numbers, zeros after its end.
fn sum(table: &[u8]) -> u32 {
    let four = |chunk: &[u8]| (0..4).fold(0u32, |n, i| n << 8 | u32::from(chunk.get(i).copied().unwrap_or(0)));
    table.chunks(4).fold(0, |total, chunk| total.wrapping_add(four(chunk)))
}

/// The outlines of a font: `loca` says where each begins in `glyf`.
struct Outlines<'f> {
    glyf: &'f [u8],
    loca: &'f [u8],
    long: bool,
}

impl Outlines<'_> {
    fn count(&self) -> usize {
        (self.loca.len() / if self.long { 4 } else { 2 }).saturating_sub(1)
    }

    fn start(&self, glyph: usize) -> Option<usize> {
        if self.long {
            Some(number(self.loca, glyph * 4)? as usize)
        } else {
            Some(usize::from(word(self.loca, glyph * 2)?) * 2)
        }
    }

    fn outline(&self, glyph: u16) -> Option<&[u8]> {
        let glyph = usize::from(glyph);
        self.glyf.get(self.start(glyph)?..self.start(glyph + 1)?)
    }

    /// The glyphs with all that they are put together from, and the sign for a letter that is not there (number 0).
    fn with_parts(&self, glyphs: &BTreeSet<u16>) -> BTreeSet<u16> {
        let (mut kept, mut open) = (BTreeSet::new(), vec![0]);
        open.extend(glyphs);
        while let Some(glyph) = open.pop() {
            if kept.insert(glyph) {
                open.extend(self.outline(glyph).map(parts).unwrap_or_default());
            }
        }
        kept
    }

    /// `glyf` and `loca` with these outlines, the others empty.
    fn only(&self, kept: &BTreeSet<u16>) -> Option<(Vec<u8>, Vec<u8>)> {
        let (mut glyf, mut loca) = (Vec::new(), Vec::new());
        let push = |loca: &mut Vec<u8>, at: usize| match self.long {
            true => loca.extend((at as u32).to_be_bytes()),
            false => loca.extend(((at / 2) as u16).to_be_bytes()),
        };
        for glyph in 0..self.count() {
            push(&mut loca, glyf.len());
            let glyph = u16::try_from(glyph).ok()?;
            if kept.contains(&glyph) {
                glyf.extend(self.outline(glyph)?);
                glyf.resize(glyf.len().next_multiple_of(4), 0);
            }
        }
        push(&mut loca, glyf.len());
        Some((glyf, loca))
    }
}

/// The glyphs that an outline is put together from.
fn parts(outline: &[u8]) -> Vec<u16> {
    let mut found = Vec::new();
    // A count of contours below zero.
    if word(outline, 0).is_none_or(|contours| contours < 0x8000) {
        return found;
    }
    let mut at = 10;
    while let (Some(flags), Some(glyph)) = (word(outline, at), word(outline, at + 2)) {
        found.push(glyph);
        let scale = match flags & (SCALE | TWO_SCALES | MATRIX) {
            SCALE => 2,
            TWO_SCALES => 4,
            MATRIX => 8,
            _ => 0,
        };
        at += 4 + if flags & WORDS != 0 { 4 } else { 2 } + scale;
        if flags & MORE == 0 {
            break;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::font::{BOLD, REGULAR};
    use super::*;
    use ttf_parser::{Face, OutlineBuilder};

    /// What an outline draws.
    #[derive(Debug, Default, PartialEq)]
    struct Drawn(Vec<f32>);

    impl OutlineBuilder for Drawn {
        fn move_to(&mut self, x: f32, y: f32) {
            self.0.extend([x, y]);
        }
        fn line_to(&mut self, x: f32, y: f32) {
            self.0.extend([x, y]);
        }
        fn quad_to(&mut self, a: f32, b: f32, x: f32, y: f32) {
            self.0.extend([a, b, x, y]);
        }
        fn curve_to(&mut self, a: f32, b: f32, c: f32, d: f32, x: f32, y: f32) {
            self.0.extend([a, b, c, d, x, y]);
        }
        fn close(&mut self) {}
    }

    fn drawn(file: &[u8], letter: char) -> Drawn {
        let face = Face::parse(file, 0).unwrap();
        let mut out = Drawn::default();
        face.outline_glyph(face.glyph_index(letter).unwrap(), &mut out);
        out
    }

    /// The letters that are asked for are drawn as before, with accents put together from others; the rest are empty.
    #[test]
    fn letters_keep_their_outlines() {
        for file in [REGULAR, BOLD] {
            let face = Face::parse(file, 0).unwrap();
            let wanted: BTreeSet<u16> = "Rüé 5Ω".chars().map(|c| face.glyph_index(c).unwrap().0).collect();
            let small = only(file, &wanted).unwrap();
            assert!(small.len() * 3 < file.len(), "{} of {}", small.len(), file.len());
            for letter in "Rüé5Ω".chars() {
                assert_eq!(drawn(&small, letter), drawn(file, letter), "{letter}");
                assert_ne!(drawn(&small, letter), Drawn::default());
            }
            assert_eq!(drawn(&small, 'Q'), Drawn::default());
            let (old, new) = (Face::parse(file, 0).unwrap(), Face::parse(&small, 0).unwrap());
            for letter in "RQЖ".chars() {
                let width = |face: &Face| face.glyph_hor_advance(face.glyph_index(letter).unwrap());
                assert_eq!(width(&old), width(&new));
            }
            assert_eq!(sum(&small), WHOLE);
        }
        assert_eq!(only(b"no font", &BTreeSet::new()), None);
    }
}
