//! The classes of a table's cells, written once for a column: a table has a class for each column, and the style sheet says
//! which classes the cells of this column have. A large book is a tenth shorter for it.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Marks a cell that has classes of its own, or none, in a column that has classes.
const OWN: &str = "own";
/// The scripts look for cells of this class.
const SCRIPTED: &str = "read";

/// How a class attribute begins.
const CLASS: &str = " class=\"";

/// Place of a cell in its row, counted from 1, and the classes that most cells at this place have.
type Column<'p> = (usize, &'p str);

/// A cell of a row in a table's body: where its opening tag ends, where its class attribute is, and its classes.
struct Cell<'p> {
    place: usize,
    tag_end: usize,
    attribute: Option<Range<usize>>,
    classes: &'p str,
}

/// The page with the classes of cells at their columns. Its look is the same.
pub fn shared(page: &str) -> String {
    let mut columns: BTreeMap<Column, usize> = BTreeMap::new();
    let mut out = String::with_capacity(page.len());
    let mut at = 0;
    while let Some(table) = next_table(page, at) {
        out.push_str(&page[at..table.start]);
        write_table(page, &table, &mut columns, &mut out);
        at = table.end;
    }
    out.push_str(&page[at..]);
    let Some((before, rest)) = out.split_once("<style>") else { return out };
    let Some((sheet, after)) = rest.split_once("</style>") else { return out };
    format!("{before}<style>{}</style>{after}", with_columns(sheet, &columns))
}

/// The next table without a table inside.
fn next_table(page: &str, from: usize) -> Option<Range<usize>> {
    let end = from + page[from..].find("</table>")?;
    let start = page[from..end].rfind("<table").map(|start| from + start);
    start.map_or_else(|| next_table(page, end + "</table>".len()), |start| Some(start..end))
}

fn write_table<'p>(page: &'p str, table: &Range<usize>, columns: &mut BTreeMap<Column<'p>, usize>, out: &mut String) {
    let cells = cells(page, table);
    let usual = usual(&cells);
    let tag_end = table.start + page[table.clone()].find('>').unwrap_or(0);
    let numbers: Vec<String> = usual
        .iter()
        .map(|(&place, &classes)| {
            let new = columns.len();
            format!("c{}", columns.entry((place, classes)).or_insert(new))
        })
        .collect();
    let mut at = tag_end;
    match class_attribute(page, table.start..tag_end) {
        _ if numbers.is_empty() => out.push_str(&page[table.start..tag_end]),
        Some(written) => {
            out.push_str(&format!("{} {}\"", &page[table.start..written.end - 1], numbers.join(" ")));
            at = written.end;
        }
        None => out.push_str(&format!("{} class=\"{}\"", &page[table.start..tag_end], numbers.join(" "))),
    }
    for cell in &cells {
        let Some(&usual) = usual.get(&cell.place) else { continue };
        let written = cell.attribute.clone().unwrap_or(cell.tag_end..cell.tag_end);
        out.push_str(&page[at..written.start]);
        if cell.classes != usual {
            let between = if cell.classes.is_empty() { "" } else { " " };
            out.push_str(&format!(" class=\"{OWN}{between}{}\"", cell.classes));
        }
        at = written.end;
    }
    out.push_str(&page[at..table.end]);
}

/// The cells of a table's body, in order.
fn cells<'p>(page: &'p str, table: &Range<usize>) -> Vec<Cell<'p>> {
    let (mut cells, mut place, mut in_body, mut at) = (Vec::new(), 0, false, table.start);
    while let Some(start) = page[at..table.end].find('<').map(|i| at + i) {
        let end = page[start..table.end].find('>').map_or(table.end, |i| start + i);
        let tag = &page[start..end];
        match tag.split(' ').next().unwrap_or(tag) {
            "<tbody" => in_body = true,
            "</tbody" => in_body = false,
            "<tr" => place = 0,
            "<td" | "<th" if in_body => {
                place += 1;
                cells.push(cell(page, start..end, place));
            }
            _ => {}
        }
        at = end;
    }
    cells
}

fn cell(page: &str, tag: Range<usize>, place: usize) -> Cell<'_> {
    let attribute = class_attribute(page, tag.clone());
    let classes = attribute.as_ref().map_or("", |range| &page[range.start + CLASS.len()..range.end - 1]);
    Cell { place, tag_end: tag.end, attribute, classes }
}

/// Where a tag has its class attribute, with the blank before.
fn class_attribute(page: &str, tag: Range<usize>) -> Option<Range<usize>> {
    let start = tag.start + page[tag].find(CLASS)?;
    let length = page[start + CLASS.len()..].find('"')?;
    Some(start..start + CLASS.len() + length + 1)
}

/// What most cells at a place have, where that is a class and no script looks for it.
fn usual<'p>(cells: &[Cell<'p>]) -> BTreeMap<usize, &'p str> {
    let mut counts: BTreeMap<Column, usize> = BTreeMap::new();
    for cell in cells {
        *counts.entry((cell.place, cell.classes)).or_default() += 1;
    }
    let mut most: BTreeMap<usize, (usize, &str)> = BTreeMap::new();
    for ((place, classes), count) in counts {
        let known = most.entry(place).or_insert((0, ""));
        *known = (*known).max((count, classes));
    }
    let shared = |classes: &str| !classes.is_empty() && classes.split(' ').all(|class| class != SCRIPTED);
    most.into_iter().filter(|(_, (_, classes))| shared(classes)).map(|(place, (_, classes))| (place, classes)).collect()
}

/// The style sheet, in which each class of a column also means the cells of this column; no rule gets stronger or weaker.
fn with_columns(sheet: &str, columns: &BTreeMap<Column, usize>) -> String {
    let mut places: BTreeMap<&str, BTreeMap<usize, BTreeSet<usize>>> = BTreeMap::new();
    for (&(place, classes), &number) in columns {
        for class in classes.split(' ') {
            places.entry(class).or_default().entry(place).or_default().insert(number);
        }
    }
    let mut out = String::with_capacity(sheet.len() * 2);
    let mut rest = sheet;
    while let Some(dot) = rest.find('.') {
        let named = &rest[dot + 1..];
        let length = named.find(|c: char| !c.is_ascii_alphanumeric() && c != '-').unwrap_or(named.len());
        out.push_str(&rest[..dot]);
        match places.get(&named[..length]) {
            Some(places) => out.push_str(&also_in(&named[..length], places)),
            None => out.push_str(&rest[dot..dot + 1 + length]),
        }
        rest = &named[length..];
    }
    out + rest
}

/// A selector of the cells with a class: it is written at them, or they are in a column of these numbers.
fn also_in(class: &str, places: &BTreeMap<usize, BTreeSet<usize>>) -> String {
    let in_columns = places.iter().map(|(place, numbers)| {
        let tables: Vec<String> = numbers.iter().map(|number| format!(".c{number}")).collect();
        let tables = if tables.len() == 1 { tables.concat() } else { format!(":is({})", tables.join(",")) };
        format!("{tables}>tbody>tr>:nth-child({place}):not(.{OWN})")
    });
    format!(":is(.{class},:where({}))", in_columns.collect::<Vec<_>>().join(","))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_column_has_its_classes_once() {
        let page = "<style>.figure { a: b } .soft.figure { size: 0.5rem } .read{}</style><table class=\"t\"><thead><tr><th class=\"figure\">h</th></tr></thead>\
            <tbody><tr><td class=\"figure\" data-pin=\"A.1\">1</td><td class=\"read\"></td></tr>\
            <tr><td class=\"figure\">2</td><td class=\"read\"></td></tr>\
            <tr><td class=\"soft\">3</td><td class=\"read\"></td></tr><tr><td colspan=\"2\">4</td></tr></tbody></table>";
        let figure = ":is(.figure,:where(.c0>tbody>tr>:nth-child(1):not(.own)))";
        let wanted = format!(
            "<style>{figure} {{ a: b }} .soft{figure} {{ size: 0.5rem }} .read{{}}</style><table class=\"t c0\"><thead><tr><th class=\"figure\">h</th></tr></thead>\
            <tbody><tr><td data-pin=\"A.1\">1</td><td class=\"read\"></td></tr>\
            <tr><td>2</td><td class=\"read\"></td></tr>\
            <tr><td class=\"own soft\">3</td><td class=\"read\"></td></tr><tr><td colspan=\"2\" class=\"own\">4</td></tr></tbody></table>"
        );
        assert_eq!(shared(page), wanted);
    }

    #[test]
    fn a_table_around_a_table_stays() {
        let page = "<style>.a{}</style><table><tbody><tr><td class=\"a\"><table><tbody><tr><td class=\"a\">1</td></tr></tbody></table></td></tr></tbody></table>";
        let written = shared(page);
        assert!(
            written.contains("<table><tbody><tr><td class=\"a\"><table class=\"c0\"><tbody><tr><td>1</td>"),
            "{written}"
        );
    }
}
