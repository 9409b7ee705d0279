//! A font file for a page, compressed: W3C, WOFF File Format 1.0, sections 3 to 5.

use super::sfnt::{self, Table, tables};
use miniz_oxide::deflate::compress_to_vec_zlib;

/// Bytes of the header, and of a table's entry in the directory.
const HEADER: usize = 44;
const ENTRY: usize = 20;
/// A TrueType file as WOFF: each table is compressed by itself, unless that would make it longer. A file that is no
/// TrueType file stays as it is.
pub fn woff(sfnt: &[u8]) -> Vec<u8> {
    written(sfnt).unwrap_or_else(|| sfnt.to_vec())
}

fn written(sfnt: &[u8]) -> Option<Vec<u8>> {
    let tables = tables(sfnt)?;
    let mut directory: Vec<u8> = Vec::new();
    let mut data: Vec<u8> = Vec::new();
    let first = HEADER + ENTRY * tables.len();
    let mut sfnt_size = sfnt::HEADER + sfnt::ENTRY * tables.len();
    for Table { tag, sum, bytes } in &tables {
        let compressed = compress_to_vec_zlib(bytes, 9);
        let kept = if compressed.len() < bytes.len() { &compressed[..] } else { bytes };
        directory.extend(*tag);
        for number in [(first + data.len()) as u32, kept.len() as u32, bytes.len() as u32, *sum] {
            directory.extend(number.to_be_bytes());
        }
        data.extend(kept);
        data.resize(data.len().next_multiple_of(4), 0);
        sfnt_size += bytes.len().next_multiple_of(4);
    }
    let mut file = b"wOFF".to_vec();
    file.extend(sfnt.get(0..4)?);
    file.extend(((first + data.len()) as u32).to_be_bytes());
    file.extend((tables.len() as u16).to_be_bytes());
    file.extend([0, 0]);
    file.extend((sfnt_size as u32).to_be_bytes());
    // No version, no metadata, no private data.
    file.resize(HEADER, 0);
    file.extend(directory);
    file.extend(data);
    Some(file)
}

#[cfg(test)]
mod tests {
    use super::*;
    use miniz_oxide::inflate::decompress_to_vec_zlib;

    /// Every table of the font comes out again, byte for byte.
    #[test]
    fn every_table_is_in_the_file() {
        for font in [super::super::font::REGULAR, super::super::font::BOLD] {
            let woff = woff(font);
            assert!(woff.len() * 4 < font.len() * 3, "{} of {}", woff.len(), font.len());
            let number = |file: &[u8], at: usize| u32::from_be_bytes(file[at..at + 4].try_into().unwrap()) as usize;
            assert_eq!((number(&woff, 8), number(&woff, 0)), (woff.len(), 0x774F_4646));
            for i in 0..usize::from(u16::from_be_bytes([font[4], font[5]])) {
                let [from, entry] = [sfnt::HEADER + sfnt::ENTRY * i, HEADER + ENTRY * i];
                let table = &font[number(font, from + 8)..][..number(font, from + 12)];
                let packed = &woff[number(&woff, entry + 4)..][..number(&woff, entry + 8)];
                let out =
                    if packed.len() < table.len() { decompress_to_vec_zlib(packed).unwrap() } else { packed.to_vec() };
                assert_eq!((&woff[entry..entry + 4], &out[..]), (&font[from..from + 4], table));
            }
        }
    }

    #[test]
    fn what_is_no_font_stays_as_it_is() {
        assert_eq!(woff(b"no font"), b"no font");
    }
}
