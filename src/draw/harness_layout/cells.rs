//! The sheets that a board is cut into.

/// Row and column of a sheet on the board; the trunk lies in row 0.
pub(super) type Cell = (i64, i64);

/// A sheet's name on the board: row letter and column number, counted so that none is negative.
pub(super) fn name((row, column): Cell) -> String {
    let letter = char::from(b'M'.saturating_add_signed(row.clamp(-12, 13) as i8));
    format!("{letter}{}", column + 1)
}
