//! The lists as one workbook, a sheet for each: Office Open XML (ISO/IEC 29500-1, SpreadsheetML). The cells are those of
//! the CSV files, but need no apostrophe: text is no formula here. Figures whose heading names their unit are numbers.

use crate::lists::csv::CellTable;
use crate::zip::zip;
use kit::xml::Xml;

/// Most letters that a cell holds (the limit of spreadsheets).
const MOST_LETTERS: usize = 32_767;
/// Widest and narrowest column, letters.
const WIDTHS: [usize; 2] = [6, 46];

const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
const RELATIONS: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006";
const TYPE: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml";
const HEAD: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\" standalone=\"yes\"?>\n";

/// A list with its names.
pub struct NamedList {
    /// Its sheet in the workbook.
    pub sheet: &'static str,
    /// Its file.
    pub file: &'static str,
    /// Its cells.
    pub cells: CellTable,
}

/// The workbook of these lists.
pub fn workbook(lists: &[NamedList]) -> Vec<u8> {
    let mut files = vec![
        ("[Content_Types].xml".to_string(), content_types(lists.len())),
        ("_rels/.rels".to_string(), relations(&[("officeDocument", "xl/workbook.xml".to_string())])),
        ("xl/workbook.xml".to_string(), index(lists)),
        ("xl/_rels/workbook.xml.rels".to_string(), relations(&parts(lists.len()))),
        ("xl/styles.xml".to_string(), styles()),
    ];
    files.extend(lists.iter().enumerate().map(|(i, list)| (format!("xl/{}", sheet_file(i)), sheet(&list.cells))));
    zip(&files.into_iter().map(|(name, text)| (name, (HEAD.to_string() + &text).into_bytes())).collect::<Vec<_>>())
}

fn sheet_file(i: usize) -> String {
    format!("worksheets/sheet{}.xml", i + 1)
}

fn parts(sheets: usize) -> Vec<(&'static str, String)> {
    (0..sheets).map(|i| ("worksheet", sheet_file(i))).chain([("styles", "styles.xml".to_string())]).collect()
}

fn content_types(sheets: usize) -> String {
    let mut xml = Xml::default();
    xml.element("Types").attr("xmlns", format!("{PACKAGE}/content-types")).inside(|xml| {
        let relations = "application/vnd.openxmlformats-package.relationships+xml";
        xml.element("Default").attr("Extension", "rels").attr("ContentType", relations).done();
        xml.element("Default").attr("Extension", "xml").attr("ContentType", "application/xml").done();
        let mut part = |name: String, of: &str| {
            xml.element("Override").attr("PartName", name).attr("ContentType", format!("{TYPE}.{of}+xml")).done();
        };
        part("/xl/workbook.xml".to_string(), "sheet.main");
        part("/xl/styles.xml".to_string(), "styles");
        (0..sheets).for_each(|i| part(format!("/xl/{}", sheet_file(i)), "worksheet"));
    });
    xml.finish()
}

fn relations(targets: &[(&str, String)]) -> String {
    let mut xml = Xml::default();
    xml.element("Relationships").attr("xmlns", format!("{PACKAGE}/relationships")).inside(|xml| {
        for (i, (kind, target)) in targets.iter().enumerate() {
            let one = xml.element("Relationship").attr("Id", format!("r{}", i + 1));
            one.attr("Type", format!("{RELATIONS}/{kind}")).attr("Target", target).done();
        }
    });
    xml.finish()
}

fn index(lists: &[NamedList]) -> String {
    let mut xml = Xml::default();
    xml.element("workbook").attr("xmlns", MAIN).attr("xmlns:r", RELATIONS).inside(|xml| {
        xml.element("sheets").inside(|xml| {
            for (i, list) in lists.iter().enumerate() {
                let number = (i + 1).to_string();
                let one = xml.element("sheet").attr("name", list.sheet).attr("sheetId", &number);
                one.attr("r:id", format!("r{number}")).done();
            }
        });
    });
    xml.finish()
}

/// Two styles of cells: 0 as it is, 1 for headings.
fn styles() -> String {
    let font = |bold: &str| format!("<font>{bold}<sz val=\"10\"/><name val=\"Arial\"/></font>");
    let fill = |inside: &str| format!("<fill><patternFill patternType={inside}</fill>");
    let tint = "\"solid\"><fgColor rgb=\"FFEEF4F3\"/></patternFill>";
    format!(
        "<styleSheet xmlns=\"{MAIN}\"><fonts count=\"2\">{}{}</fonts><fills count=\"3\">{}{}{}</fills>\
         <borders count=\"1\"><border><left/><right/><top/><bottom/><diagonal/></border></borders>\
         <cellStyleXfs count=\"1\"><xf numFmtId=\"0\" fontId=\"0\" fillId=\"0\" borderId=\"0\"/></cellStyleXfs>\
         <cellXfs count=\"2\"><xf numFmtId=\"0\" fontId=\"0\" fillId=\"0\" borderId=\"0\" xfId=\"0\"/>\
         <xf numFmtId=\"0\" fontId=\"1\" fillId=\"2\" borderId=\"0\" xfId=\"0\" applyFont=\"1\" applyFill=\"1\"/></cellXfs>\
         <cellStyles count=\"1\"><cellStyle name=\"Normal\" xfId=\"0\" builtinId=\"0\"/></cellStyles></styleSheet>",
        font(""),
        font("<b/>"),
        fill("\"none\"/>"),
        fill("\"gray125\"/>"),
        fill(tint),
    )
}

fn sheet(list: &CellTable) -> String {
    let numbers: Vec<bool> = list.headings.iter().map(|heading| is_number(heading)).collect();
    let rows: Vec<&[String]> = std::iter::once(&list.headings).chain(&list.rows).map(Vec::as_slice).collect();
    let last = format!("{}{}", column(list.headings.len().saturating_sub(1)), rows.len());
    let mut xml = Xml::default();
    xml.element("worksheet").attr("xmlns", MAIN).inside(|xml| {
        xml.element("sheetViews").inside(|xml| {
            xml.element("sheetView").attr("workbookViewId", "0").inside(|xml| {
                // The headings stay while the rows move.
                let pane = xml.element("pane").attr("ySplit", "1").attr("topLeftCell", "A2");
                pane.attr("activePane", "bottomLeft").attr("state", "frozen").done();
            });
        });
        xml.element("cols").inside(|xml| {
            for (i, width) in widths(&rows, list.headings.len()).into_iter().enumerate() {
                let number = (i + 1).to_string();
                let col = xml.element("col").attr("min", &number).attr("max", &number);
                col.attr("width", width.to_string()).attr("customWidth", "1").done();
            }
        });
        xml.element("sheetData").inside(|xml| {
            for (i, row) in rows.iter().enumerate() {
                xml.element("row").attr("r", (i + 1).to_string()).inside(|xml| {
                    let filled = row.iter().enumerate().filter(|(_, text)| !text.is_empty());
                    for (at, text) in filled {
                        let place = format!("{}{}", column(at), i + 1);
                        let number = i > 0 && numbers.get(at).copied().unwrap_or(false) && is_figure(text);
                        cell(xml, place, text, [i == 0, number]);
                    }
                });
            }
        });
        xml.element("autoFilter").attr("ref", format!("A1:{last}")).done();
    });
    xml.finish()
}

fn cell(xml: &mut Xml, place: String, text: &str, [heading, number]: [bool; 2]) {
    let cell = xml.element("c").attr("r", place).attr_if("s", heading.then_some("1"));
    if number {
        cell.inside(|xml| xml.element("v").inside(|xml| xml.text(text)));
    } else {
        let kept: String = text.chars().take(MOST_LETTERS).collect();
        cell.attr("t", "inlineStr").inside(|xml| {
            xml.element("is")
                .inside(|xml| xml.element("t").attr("xml:space", "preserve").inside(|xml| xml.text(&kept)));
        });
    }
}

/// Whether the figures of a column are numbers: its heading names their unit, or it counts.
fn is_number(heading: &str) -> bool {
    matches!(heading, "Quantity" | "Order") || ["(mm)", "(V)", "(A)"].iter().any(|unit| heading.ends_with(unit))
}

fn is_figure(text: &str) -> bool {
    text.chars().all(|c| c.is_ascii_digit() || c == '.' || c == '-') && text.parse::<f64>().is_ok()
}

/// Widths of columns, letters.
fn widths(rows: &[&[String]], columns: usize) -> Vec<usize> {
    let of = |at: usize| rows.iter().filter_map(|row| row.get(at)).map(|text| text.chars().count() + 2).max();
    (0..columns).map(|at| of(at).unwrap_or(0).clamp(WIDTHS[0], WIDTHS[1])).collect()
}

/// The letters of a column: `A`, `Z`, `AA`.
fn column(at: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = at + 1;
    while rest > 0 {
        letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
        rest = (rest - 1) / 26;
    }
    letters.into_iter().rev().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_have_the_letters_of_a_spreadsheet() {
        for (at, letters) in [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA")] {
            assert_eq!(column(at), letters);
        }
    }

    #[test]
    fn text_that_looks_like_a_formula_is_text_and_figures_are_numbers() {
        let row = |cells: [&str; 3]| cells.map(str::to_string).to_vec();
        let sheet = sheet(&CellTable::new(
            &["Wire", "Length (mm)", "Note"],
            [row(["7", "4500", "=1+1"]), row(["1e5", "", "-0.7"])],
        ));
        assert!(sheet.contains("<c r=\"B2\"><v>4500</v></c>"), "{sheet}");
        for text in ["<t xml:space=\"preserve\">=1+1</t>", "<t xml:space=\"preserve\">1e5</t>", "preserve\">-0.7</t>"] {
            assert!(sheet.contains(text), "{text} in {sheet}");
        }
        assert!(!sheet.contains("<f>"));
    }
}
