//! The state chart: every state by what is seen in it. One band for each thing that can be on the screens, one line for
//! each state that leads there, a column for every input, memory and relay. Up to [`MOST_LINES`] states stand one by one;
//! more are folded by what matters ([`fold`]). Below it, what changes the picture. What does not fit a sheet of paper goes on
//! on the next one.

mod changes;

mod change_table;
mod merge;
mod paint;

use kit::scene::{Item, Scene, Size};
use kit::sheet::{Paper, Sheet, Strip};
use merge::{Fold, State, folded, unfolded};
use model::{Model, SignalId};
use states::{ScreenReading, Solved, StateRow, StateTable, is_memory, shown_words};

/// States that are shown one by one.
pub const MOST_LINES: usize = 32;

/// What a chart shows, before it is drawn.
#[derive(Debug, Clone)]
struct Chart {
    /// Headings of the inputs, with the words of their positions.
    inputs: Vec<(String, Vec<String>)>,
    /// Headings of what remembers.
    memory: Vec<String>,
    /// Headings of the relays that do not remember.
    relays: Vec<String>,
    bands: Vec<Band>,
    /// From picture to picture, by band: the changes that lead there.
    changes: Vec<changes::Change>,
    /// Reachable states in all.
    states: usize,
    /// Whether lines stand for several states.
    folded: bool,
    /// Whether there are more states than the table holds.
    cut_short: bool,
}

/// All that leads to one thing on the screens.
#[derive(Debug, Clone)]
struct Band {
    /// What is on each screen, a line a screen.
    pictures: Vec<String>,
    lines: Vec<Line>,
}

/// One state, or several folded into one.
#[derive(Debug, Clone)]
struct Line {
    /// Position of each input; none where it does not matter.
    inputs: Vec<Option<usize>>,
    /// Whether each memory is on; none where it does not matter.
    memory: Vec<Option<bool>>,
    /// Whether each relay is in: in all of the states, in none, or (none) in some.
    relays: Vec<Option<bool>>,
    /// What should be on the screens where that is something else.
    wanted: Vec<String>,
    /// Whether time alone ends all of these states.
    passing: bool,
    states: usize,
}

/// Draws the state chart of a solved harness on as many sheets as it takes, none larger than the paper.
pub fn sheets(solved: &Solved, paper: Paper) -> Vec<Scene> {
    let chart = Chart::new(solved, &solved.table());
    // On its long side only where an upright sheet is too narrow.
    let upright = Sheet::of(paper.upright());
    let lies = paint::width(&chart) > upright.field.width();
    let whole = if lies { Sheet::of(paper.lying()) } else { upright };
    let drawn = paint::sheets(&chart, whole.field.size());
    let count = drawn.len();
    let sheet = |(i, (items, size)): (usize, (Vec<Item>, Size))| {
        let strip = Strip {
            job: solved.model.job.title.clone(),
            drawing: "State chart".into(),
            revision: solved.model.job.revision.clone(),
            sheet: i + 1,
            sheets: count,
            scale: "not to scale".into(),
        };
        let sheet = whole.trimmed(size);
        let (dx, dy) = (sheet.field.left + (sheet.field.width() - size.width) / 2.0, sheet.field.top);
        let described = format!("{} states by what is seen in them.", chart.states);
        let items: Vec<Item> = items.into_iter().map(|item| item.moved(dx, dy)).collect();
        sheet.scene(&strip, &described, items)
    };
    drawn.into_iter().enumerate().map(sheet).collect()
}

impl Chart {
    fn new(solved: &Solved, table: &StateTable) -> Self {
        let model = solved.model;
        let memory: Vec<SignalId> = (0..model.signals.len()).map(SignalId).filter(|&id| is_memory(model, id)).collect();
        let mut relays: Vec<SignalId> = table.rows.iter().flat_map(|row| row.relays.clone()).collect();
        relays.sort_unstable();
        relays.dedup();
        relays.retain(|id| !memory.contains(id));
        let memory: Vec<SignalId> =
            memory.into_iter().filter(|id| table.rows.iter().any(|row| row.memory.contains(id))).collect();
        let mut outcomes: Vec<Outcome> = Vec::new();
        let states: Vec<State> = table.rows.iter().map(|row| state(model, row, &memory, &mut outcomes)).collect();
        let is_folded = states.len() > MOST_LINES;
        let folds = if is_folded { folded(&states) } else { unfolded(&states) };
        let mut bands: Vec<Band> = Vec::new();
        for fold in &folds {
            let outcome = &outcomes[fold.outcome];
            let line = line(model, table, fold, outcome, (&memory, &relays));
            match bands.iter_mut().find(|band| band.pictures == outcome.pictures) {
                Some(band) => band.lines.push(line),
                None => bands.push(Band { pictures: outcome.pictures.clone(), lines: vec![line] }),
            }
        }
        let name = |ids: &[SignalId]| ids.iter().map(|id| model.signals[id.0].name.clone()).collect();
        let positions = |input: &model::Input| input.positions.iter().map(ToString::to_string).collect();
        Self {
            inputs: model.inputs.iter().map(|input| (input.title.clone(), positions(input))).collect(),
            memory: name(&memory),
            relays: name(&relays),
            changes: changes::changes(solved, table, &bands),
            bands,
            states: table.rows.len(),
            folded: is_folded,
            cut_short: table.cut_short,
        }
    }
}

/// What comes of a state, as far as the chart tells states apart by it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Outcome {
    pictures: Vec<String>,
    wanted: Vec<String>,
    passing: bool,
}

fn state(model: &Model, row: &StateRow, memory: &[SignalId], outcomes: &mut Vec<Outcome>) -> State {
    let screens = || model.screens.iter().zip(&row.screens);
    let disagreeing = screens().filter(|(_, reading)| !reading.agrees);
    let wanted = disagreeing.filter_map(|(screen, reading)| {
        let shown = shown_words(model, screen.views.get(reading.view?)?.show);
        Some(if model.screens.len() > 1 { format!("{}: {shown}", screen.name) } else { shown })
    });
    let outcome = Outcome { pictures: pictures(model, row), wanted: wanted.collect(), passing: row.passing };
    let index = outcomes.iter().position(|known| *known == outcome).unwrap_or_else(|| {
        outcomes.push(outcome);
        outcomes.len() - 1
    });
    let remembered = memory.iter().map(|id| usize::from(row.memory.contains(id)));
    State { values: row.positions.iter().copied().chain(remembered).collect(), outcome: index }
}

/// What is on each screen, with the screen's name where there are several.
fn pictures(model: &Model, row: &StateRow) -> Vec<String> {
    pictures_of(model, &row.screens)
}

fn pictures_of(model: &Model, screens: &[ScreenReading]) -> Vec<String> {
    let words = |(screen, reading): (&model::Screen, &states::ScreenReading)| {
        let picture = reading.picture.words(model);
        if model.screens.len() > 1 { format!("{}: {picture}", screen.name) } else { picture }
    };
    model.screens.iter().zip(screens).map(words).collect()
}

fn line(
    model: &Model,
    table: &StateTable,
    fold: &Fold,
    outcome: &Outcome,
    (memory, relays): (&[SignalId], &[SignalId]),
) -> Line {
    let (positions, remembered) = fold.values.split_at(model.inputs.len());
    let rows = || fold.states.iter().map(|&i| &table.rows[i]);
    let relay = |id: &SignalId| {
        let count = rows().filter(|row| row.relays.contains(id)).count();
        if count == fold.states.len() { Some(true) } else { (count == 0).then_some(false) }
    };
    debug_assert_eq!(remembered.len(), memory.len());
    Line {
        inputs: positions.to_vec(),
        memory: remembered.iter().map(|value| value.map(|value| value == 1)).collect(),
        relays: relays.iter().map(relay).collect(),
        wanted: outcome.wanted.clone(),
        passing: outcome.passing,
        states: fold.states.len(),
    }
}
