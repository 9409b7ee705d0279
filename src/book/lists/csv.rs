//! Lists as CSV: UTF-8 by RFC 4180, a header row in plain words, and no cell that a spreadsheet would run as a formula.
//!
//! A cell whose first printing character is `=`, `+`, `-` or `@` (or a full-width one of these), or that begins with a
//! tab or a line break, gets an apostrophe before it. That holds for numbers too: `-0.7` is written `'-0.7`, which
//! spreadsheets show as the text -0.7. Square millimetres are written `mm2` and ohms `ohm`, which the spec takes as
//! well, so that a program that guesses at the encoding still shows them right; names are UTF-8 as they stand.

use std::borrow::Cow;

/// What a spreadsheet takes for the beginning of a formula.
const FORMULA: [char; 8] = ['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

/// A cell that no spreadsheet runs.
pub fn harmless(cell: &str) -> Cow<'_, str> {
    let first = cell.trim_start().chars().next();
    let risky = first.is_some_and(|c| FORMULA.contains(&c)) || cell.starts_with(['\t', '\r', '\n']);
    if risky { Cow::Owned(format!("'{cell}")) } else { Cow::Borrowed(cell) }
}

/// A list that is read: each line ends in one sign, so that the reader counts lines as people do.
pub fn with_plain_ends(text: &str) -> String {
    text.trim_start_matches('\u{feff}').replace("\r\n", "\n")
}

/// A reader of such a list, its lines as [`with_plain_ends`] leaves them, with a heading and rows of any length.
pub fn reader(text: &str) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes())
}

/// A quantity's text in letters that survive any encoding.
pub fn plain(quantity: impl ToString) -> String {
    quantity.to_string().replace("mm²", "mm2").replace('Ω', "ohm").replace('µ', "u").replace('−', "-")
}

/// A list as cells under its headings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellTable {
    /// The headings.
    pub headings: Vec<String>,
    /// The cells, row by row.
    pub rows: Vec<Vec<String>>,
}

impl CellTable {
    /// Rows under their headings.
    pub fn new(headings: &[&str], rows: impl IntoIterator<Item = Vec<String>>) -> CellTable {
        CellTable { headings: headings.iter().map(ToString::to_string).collect(), rows: rows.into_iter().collect() }
    }

    /// The list as a CSV file.
    pub fn csv(&self) -> Vec<u8> {
        let mut writer =
            csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).flexible(true).from_writer(Vec::new());
        // OK because: writing to memory can't fail, and rows may have any number of cells.
        let _ = writer.write_record(&self.headings);
        for row in &self.rows {
            let _ = writer.write_record(row.iter().map(|cell| harmless(cell).into_owned()));
        }
        writer.into_inner().unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn no_cell_starts_a_formula() {
        for cell in ["=1+1", "+1", "-0.7", "@SUM(A1)", "\t=1", "\r=1", " =cmd|' /C calc'!A0", "\u{ff1d}1"] {
            assert_eq!(harmless(cell), format!("'{cell}"));
        }
        for cell in ["", "12.6", "K1.87", "a=b", "1 - 2", "RD/WH"] {
            assert_eq!(harmless(cell), cell);
        }
    }

    #[test]
    fn rows_follow_rfc_4180() {
        let written = CellTable::new(&["Wire", "Note"], [vec!["7".into(), "says \"hot\", twice\nover".into()]]).csv();
        assert_eq!(String::from_utf8(written).unwrap(), "Wire,Note\r\n7,\"says \"\"hot\"\", twice\nover\"\r\n");
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        /// Any cell content comes back unchanged, except for the apostrophe.
        #[test]
        fn any_text_comes_back(cells in proptest::collection::vec(any::<String>(), 1..6)) {
            let headings: Vec<String> = (0..cells.len()).map(|i| format!("h{i}")).collect();
            let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
            let written = CellTable::new(&headings, [cells.clone()]).csv();
            let mut reader = csv::Reader::from_reader(&written[..]);
            let back: Vec<String> = reader.records().next().unwrap().unwrap().iter().map(str::to_string).collect();
            prop_assert_eq!(back.len(), cells.len());
            for (back, cell) in back.iter().zip(&cells) {
                prop_assert!(!back.starts_with(['=', '+', '-', '@', '\t', '\r']));
                prop_assert_eq!(back.strip_prefix('\'').filter(|b| *b == cell).unwrap_or(back), cell);
            }
        }
    }
}
