//! What a state chart shows, before it is drawn.

use super::changes::{self, Change};
use super::dimensions::{Dimensions, memory_words};
use super::merge::{Fold, State, folded, unfolded};
use super::picture_bands::{Band, Line, pictures};
use facts::Facts;
use model::{Model, SignalId};
use states::{StateTable, is_memory, shown_words};

/// States that are shown one by one.
pub const MOST_LINES: usize = 16;

/// What a chart shows, before it is drawn.
#[derive(Debug, Clone)]
pub(super) struct Chart {
    /// Headings of the inputs, with the words of their positions.
    pub inputs: Vec<(String, Vec<String>)>,
    /// Headings of the memories.
    pub memory: Vec<String>,
    /// Headings of the relays that do not latch.
    pub relays: Vec<String>,
    pub bands: Vec<Band>,
    /// From picture to picture, by band: the changes that lead there.
    pub changes: Vec<Change>,
    /// Reachable states in all.
    pub states: usize,
    /// Whether a line may cover several states.
    pub folded: bool,
    /// Whether there are more states than the table holds.
    pub cut_short: bool,
}

impl Chart {
    /// The chart of a solved harness.
    pub fn new(facts: &Facts) -> Self {
        let (model, table) = (facts.model, facts.table());
        let held = |id: &SignalId| table.rows.iter().any(|row| row.held.iter().any(|(held, _)| held == id));
        let remembers =
            |id: &SignalId| held(id) || (is_memory(model, *id) && table.rows.iter().any(|row| row.memory.contains(id)));
        let memory: Vec<SignalId> = (0..model.signals.len()).map(SignalId).filter(remembers).collect();
        let mut relays: Vec<SignalId> = table.rows.iter().flat_map(|row| row.relays.clone()).collect();
        relays.sort_unstable();
        relays.dedup();
        relays.retain(|id| !memory.contains(id) && !is_memory(model, *id));
        let dimensions = Dimensions { model, table, memory: &memory };
        let mut outcomes: Vec<Outcome> = Vec::new();
        let states: Vec<State> = (0..table.rows.len()).map(|row| state(&dimensions, row, &mut outcomes)).collect();
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
            inputs: model.inputs.iter().map(|input| (input_words(input), positions(input))).collect(),
            memory: memory.iter().map(|id| memory_words(model, *id, true)).collect(),
            relays: name(&relays),
            changes: changes::changes(facts, &dimensions, &bands),
            bands,
            states: table.rows.len(),
            folded: is_folded,
            cut_short: table.cut_short,
        }
    }
}

/// The heading of an input's column: its name, as states and conditions have it, and its title if that says more than the
/// name with words around it.
fn input_words(input: &model::Input) -> String {
    let plain = |text: &str| text.to_lowercase().replace([' ', '-'], "");
    if plain(&input.title).contains(&plain(input.name.as_str())) {
        return input.name.to_string();
    }
    format!("{}: {}", input.name, input.title)
}

/// The result of a state, as far as the chart distinguishes states by it.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Outcome {
    pictures: Vec<String>,
    wanted: Vec<String>,
    /// Whether what is not as wanted ends by itself.
    for_a_time: bool,
}

fn state(dimensions: &Dimensions, at: usize, outcomes: &mut Vec<Outcome>) -> State {
    let (model, row) = (dimensions.model, &dimensions.table.rows[at]);
    let screens = || model.screens.iter().zip(&row.screens);
    let disagreeing = screens().filter(|(_, reading)| !reading.agrees);
    let wanted = disagreeing.filter_map(|(screen, reading)| {
        let shown = shown_words(model, screen.views.get(reading.view?)?.show);
        Some(if model.screens.len() > 1 { format!("{}: {shown}", screen.name) } else { shown })
    });
    let wanted: Vec<String> = wanted.collect();
    let for_a_time = row.passing && !wanted.is_empty();
    let outcome = Outcome { pictures: pictures(model, row), wanted, for_a_time };
    let number = |outcome: Outcome, outcomes: &mut Vec<Outcome>| match outcomes.iter().position(|o| *o == outcome) {
        Some(known) => known,
        None => {
            outcomes.push(outcome);
            outcomes.len() - 1
        }
    };
    State { values: dimensions.values(at), outcome: number(outcome, outcomes) }
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
        for_a_time: outcome.for_a_time,
        passing: rows().filter(|row| row.passing).count(),
        states: fold.states.len(),
    }
}
