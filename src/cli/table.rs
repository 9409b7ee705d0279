//! Tables for a terminal: columns as wide as they need to be, two blanks between.

/// Draws rows under headings. Columns line up by characters.
pub fn table(headings: &[String], rows: &[Vec<String>]) -> String {
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).chain(headings.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..headings.len()).map(width).collect();
    let line = |cells: &[String]| {
        let mut text = String::new();
        for (cell, width) in cells.iter().zip(&widths) {
            let blanks = width - cell.chars().count() + 2;
            text.push_str(cell);
            text.extend(std::iter::repeat_n(' ', blanks));
        }
        text.truncate(text.trim_end().len());
        text.push('\n');
        text
    };
    let rule: Vec<String> = widths.iter().map(|w| "─".repeat(*w)).collect();
    let mut out = line(headings);
    out.push_str(&line(&rule));
    rows.iter().for_each(|row| out.push_str(&line(row)));
    out
}
