//! The state chart: every state, grouped by what the screens show. A band for each picture, a line for each state that
//! leads there, a column for every input, memory and relay. Up to [`MOST_LINES`] states have a line each; more are merged
//! by `merge`. A table below says what changes the picture. What exceeds a sheet continues on the next one.

mod change_table;
mod changes;
mod chart;
mod dimensions;
mod merge;
mod paint;
mod picture_bands;
mod statements;
#[cfg(test)]
mod tests;

use chart::Chart;
pub use chart::MOST_LINES;
use facts::Facts;
use kit::scene::{Item, Scene, Size};
use kit::sheet::{Paper, Sheet, Strip};

/// Draws the state chart of a solved harness on as many sheets as it takes, none larger than the paper.
pub fn sheets(facts: &Facts, paper: Paper) -> Vec<Scene> {
    let chart = Chart::new(facts);
    // On its long side only where an upright sheet is too narrow.
    let upright = Sheet::of(paper.upright());
    let lies = paint::width(&chart) > upright.field.width();
    let whole = if lies { Sheet::of(paper.lying()) } else { upright };
    let drawn = paint::sheets(&chart, whole.field.size());
    let count = drawn.len();
    let sheet = |(i, (items, size)): (usize, (Vec<Item>, Size))| {
        let strip =
            Strip::of(&facts.model.job.title, &facts.model.job.revision, "State chart", [i + 1, count]).units("–");
        let sheet = whole.trimmed(size);
        let (dx, dy) = (sheet.field.left + (sheet.field.width() - size.width) / 2.0, sheet.field.top);
        let described = format!("{} states, grouped by what the screens show.", chart.states);
        let items: Vec<Item> = items.into_iter().map(|item| item.moved(dx, dy)).collect();
        sheet.scene(&strip, &described, items)
    };
    drawn.into_iter().enumerate().map(sheet).collect()
}
