//! The state table as printed: each state by its inputs, what each screen shows, which relays are in, and the current
//! through each fuse.

use crate::lists::csv::CellTable;
use model::{Model, ScreenId, SignalId};
use quantity::Amps;
use serde::Serialize;
use states::{Picture, Solved, StateRow, StateTable, left_out, shown_words};

/// The table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StateList {
    /// The corner that it was solved at, in words.
    pub corner: String,
    /// The inputs, in the order of the spec.
    pub inputs: Vec<String>,
    /// The screens.
    pub screens: Vec<String>,
    /// The fuses.
    pub fuses: Vec<String>,
    /// The states, simple ones first.
    pub rows: Vec<StateLine>,
    /// Whether there are more states than it holds.
    pub cut_short: bool,
    /// What the spec's `needs` and `excludes` leave out, in words.
    pub left_out: Vec<String>,
}

/// One state.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StateLine {
    /// In words.
    pub name: String,
    /// Whether time alone ends it.
    pub passing: bool,
    /// The position of each input.
    pub inputs: Vec<String>,
    /// What each screen shows.
    pub screens: Vec<ScreenCell>,
    /// Relays that are in, or set.
    pub relays: Vec<String>,
    /// Current through each fuse, in tenths of a milliampere.
    pub fuses: Vec<Amps>,
}

/// What a screen shows in a state.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ScreenCell {
    /// What it shows.
    pub shows: String,
    /// What it should show; `None` if the spec doesn't say.
    pub wanted: Option<String>,
    /// Whether that is the same.
    pub agrees: bool,
}

/// The table of a harness.
pub fn state_list(solved: &Solved, table: &StateTable) -> StateList {
    let model = solved.model;
    let fuses = table.rows.first().map(|row| row.fuses.as_slice()).unwrap_or_default();
    StateList {
        corner: table.corner.to_string(),
        inputs: model.inputs.iter().map(|input| input.name.to_string()).collect(),
        screens: model.screens.iter().map(|screen| screen.name.to_string()).collect(),
        fuses: fuses.iter().map(|(id, _)| model.part(model.element(*id).part).name.to_string()).collect(),
        rows: table.rows.iter().map(|row| line(model, row)).collect(),
        cut_short: table.cut_short,
        left_out: left_out(solved),
    }
}

fn line(model: &Model, row: &StateRow) -> StateLine {
    let named = |ids: &[SignalId]| ids.iter().map(|id| model.signals[id.0].name.clone()).collect();
    let positions = model.inputs.iter().zip(&row.positions);
    let screens = model.screens.iter().zip(&row.screens);
    StateLine {
        name: row.name.clone(),
        passing: row.passing,
        inputs: positions.map(|(input, at)| input.positions[*at].to_string()).collect(),
        screens: screens
            .map(|(screen, reading)| ScreenCell {
                shows: reading.picture.words(model),
                wanted: reading.view.map(|view| shown_words(model, screen.views[view].show)),
                agrees: reading.agrees,
            })
            .collect(),
        relays: named(&row.relays),
        fuses: row.fuses.iter().map(|(_, amps)| printed(*amps)).collect(),
    }
}

/// A current rounded to 0.1 mA: smaller leakage does not matter to a fuse.
pub fn printed(amps: Amps) -> Amps {
    Amps::new((amps.value() * 10_000.0).round() / 10_000.0 + 0.0)
}

/// The table as CSV, a row a state.
pub fn cells(list: &StateList) -> CellTable {
    let mut headings = vec!["State".to_string()];
    headings.extend(list.inputs.iter().map(|input| format!("Input {input}")));
    headings.extend(
        list.screens.iter().flat_map(|s| [format!("{s} shows"), format!("{s} should show"), format!("{s} agrees")]),
    );
    headings.push("Relays in".to_string());
    headings.extend(list.fuses.iter().map(|fuse| format!("Current in {fuse} (A)")));
    headings.push("Ends by itself".to_string());
    let yes_no = |yes: bool| if yes { "yes" } else { "no" }.to_string();
    let rows = list.rows.iter().map(|row| {
        let mut cells = vec![row.name.clone()];
        cells.extend(row.inputs.iter().cloned());
        for cell in &row.screens {
            cells.extend([cell.shows.clone(), cell.wanted.clone().unwrap_or_default(), yes_no(cell.agrees)]);
        }
        cells.push(row.relays.join(" "));
        cells.extend(row.fuses.iter().map(|amps| format!("{:.4}", amps.value())));
        cells.push(yes_no(row.passing));
        cells
    });
    let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
    CellTable::new(&headings, rows)
}

/// The simplest state in which a view applies; if possible, a state that works and lasts.
pub fn state_of(table: &StateTable, screen: ScreenId, view: usize) -> Option<&StateRow> {
    let counts = |row: &&StateRow| row.screens[screen.0].view == Some(view);
    let worth = |row: &StateRow| {
        let reading = &row.screens[screen.0];
        // A screen without power agrees with `home`, but there is nothing to trace on it.
        let lit = reading.picture != Picture::Dark;
        (!reading.agrees, row.passing, !reading.undecided.is_empty(), !lit)
    };
    table.rows.iter().filter(counts).min_by_key(|row| worth(row))
}
