//! Tables for a terminal: columns as wide as they need to be, two blanks between.

/// Draws rows under headings. Columns line up by characters.
pub fn table(headings: &[String], rows: &[Vec<String>]) -> String {
    let width = |column: usize| {
        let cells = rows.iter().filter_map(|row| row.get(column)).chain(headings.get(column));
        cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
    };
    let widths: Vec<usize> = (0..headings.len()).map(width).collect();
    let rule: Vec<String> = widths.iter().map(|w| "─".repeat(*w)).collect();
    let mut out = line("", headings, &widths);
    out.push_str(&line("", &rule, &widths));
    rows.iter().for_each(|row| out.push_str(&line("", row, &widths)));
    out
}

/// Draws rows without headings, each behind an indent. The last cell of a row is free to run on.
pub fn columns(indent: &str, rows: &[Vec<String>]) -> String {
    let count = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        let cells = rows.iter().filter(|row| column + 1 < row.len()).map(|row| &row[column]);
        cells.map(|cell| cell.chars().count()).max()
    };
    let widths: Vec<usize> = (0..count).map(|column| width(column).unwrap_or(0)).collect();
    rows.iter().map(|row| line(indent, row, &widths)).collect()
}

fn line(indent: &str, cells: &[String], widths: &[usize]) -> String {
    let mut text = indent.to_string();
    for (cell, width) in cells.iter().zip(widths) {
        let blanks = width.saturating_sub(cell.chars().count()) + 2;
        text.push_str(cell);
        text.extend(std::iter::repeat_n(' ', blanks));
    }
    text.truncate(text.trim_end().len());
    text.push('\n');
    text
}
