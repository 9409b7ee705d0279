//! The tables of a TrueType file: ISO/IEC 14496-22 (OpenType), chapter 4.

/// Bytes before the directory of tables, and of an entry in it.
pub(super) const HEADER: usize = 12;
/// See [`HEADER`].
pub(super) const ENTRY: usize = 16;

/// A table.
#[derive(Debug, Clone, Copy)]
pub(super) struct Table<'f> {
    /// Its name: four letters.
    pub tag: &'f [u8],
    /// Its sum, as the directory has it.
    pub sum: u32,
    /// What is in it.
    pub bytes: &'f [u8],
}

/// The tables in their order; nothing if a table is not in the file.
pub(super) fn tables(sfnt: &[u8]) -> Option<Vec<Table<'_>>> {
    let table = |i: usize| {
        let entry = sfnt.get(HEADER + ENTRY * i..HEADER + ENTRY * (i + 1))?;
        let (start, length) = (number(entry, 8)? as usize, number(entry, 12)? as usize);
        Some(Table { tag: &entry[..4], sum: number(entry, 4)?, bytes: sfnt.get(start..start + length)? })
    };
    (0..usize::from(word(sfnt, 4)?)).map(table).collect()
}

/// A number of 16 bits.
pub(super) fn word(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(bytes.get(at..at + 2)?.try_into().ok()?))
}

/// A number of 32 bits.
pub(super) fn number(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?))
}
