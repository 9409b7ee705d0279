//! The bench test: first without power, then with a bench supply in the vehicle's place, state by state, each reading
//! with what to expect and what passes.

use super::continuity;
use super::corners::Metered;
use super::service::{state_of, way};
use super::sheet::{csv, plain};
use super::state_list::printed;
use crate::model::{ElementKind, PartKind, PinId, ScreenId, SignalKind};
use crate::quantity::Volts;
use crate::solve::Reading;
use crate::states::{Solved, StateRow, StateTable};
use serde::Serialize;

/// Most states that are tried at the bench; the state table has them all.
const MOST_STATES: usize = 40;

/// The whole test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchTest {
    /// What the bench supply is set to: the battery's nominal voltage, which the expected readings are for.
    pub supply: Option<Volts>,
    /// What to set on modules before.
    pub settings: Vec<String>,
    /// The groups of steps, in their order.
    pub groups: Vec<Steps>,
}

/// Steps that are done in one go.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Steps {
    /// What is tested.
    pub title: String,
    /// How.
    pub how: String,
    /// What to connect, switch or press before.
    pub set: Vec<String>,
    /// The readings.
    pub steps: Vec<Step>,
}

/// One reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Step {
    /// What is read.
    pub what: String,
    /// Where the red tip goes.
    pub red: String,
    /// Where the black tip goes.
    pub black: String,
    /// What a good harness shows.
    pub expect: String,
    /// What passes.
    pub pass: String,
}

/// The test of a harness.
pub fn bench_test(solved: &Solved, table: &StateTable) -> BenchTest {
    let model = solved.model;
    let mut groups = vec![continuity::end_to_end(model), continuity::apart(model), continuity::parts_alone(model)];
    let tried = tried(solved, table);
    groups.extend(tried.iter().map(|row| powered(solved, table, row)));
    groups.retain(|group| !group.steps.is_empty());
    let battery = |kind: &ElementKind| match kind {
        ElementKind::Battery { volts, .. } => Some(volts[1]),
        _ => None,
    };
    let supply = model.elements.iter().find_map(|element| battery(&element.kind));
    BenchTest { supply, settings: continuity::settings(model), groups }
}

/// The states to try: every input at rest, then one for each view of each screen.
fn tried<'t>(solved: &Solved, table: &'t StateTable) -> Vec<&'t StateRow> {
    let mut rows: Vec<&StateRow> = table.rows.first().into_iter().collect();
    for screen in (0..solved.model.screens.len()).map(ScreenId) {
        for view in 0..solved.model.screens[screen.0].views.len() {
            let new = state_of(table, screen, view).filter(|row| !rows.iter().any(|r| std::ptr::eq(*r, *row)));
            rows.extend(new);
        }
    }
    rows.truncate(MOST_STATES);
    rows
}

fn powered(solved: &Solved, table: &StateTable, row: &StateRow) -> Steps {
    let model = solved.model;
    let at_rest = table.rows.first();
    let way = way(solved, table, row);
    let mut steps = Vec::new();
    for (i, signal) in model.signals.iter().enumerate() {
        let id = crate::model::SignalId(i);
        let reading = solved.assembly.reading(model, &row.solution, id);
        let before = at_rest.map(|rest| solved.assembly.reading(model, &rest.solution, id));
        let of_screen = model.screens.iter().any(|screen| screen.part == signal.part);
        if reading == Reading::On || Some(reading) != before || of_screen {
            steps.extend(signal_step(solved, row, &signal.kind, reading));
        }
    }
    for (id, amps) in row.fuses.iter().filter(|(_, amps)| amps.value() >= 0.001) {
        let (element, part) = (model.element(*id), model.part(model.element(*id).part));
        if let ElementKind::Fuse { between: [a, b], rating, .. } = &element.kind {
            steps.push(Step {
                what: format!("Current through {} ({})", part.name, part.title),
                red: model.pin_name(*a),
                black: model.pin_name(*b),
                expect: printed(*amps).to_string(),
                pass: format!("below {rating}"),
            });
        }
    }
    for (screen, reading) in model.screens.iter().zip(&row.screens) {
        let part = model.part(screen.part);
        steps.push(Step {
            what: format!("Picture on {} ({})", part.name, part.title),
            red: String::new(),
            black: String::new(),
            expect: reading.picture.words(model),
            pass: reading
                .view
                .map_or_else(String::new, |view| crate::states::shown_words(model, screen.views[view].show)),
        });
    }
    Steps {
        title: format!("With power: {}", row.name),
        how: if way.is_empty() { String::new() } else { "What came before matters: from rest, step by step.".into() },
        set: set(solved, row, way),
        steps,
    }
}

/// One reading for a signal, between the pins that decide it.
fn signal_step(solved: &Solved, row: &StateRow, kind: &SignalKind, reading: Reading) -> Vec<Step> {
    let model = solved.model;
    let volts = |pin: PinId| solved.assembly.volts(&row.solution, pin);
    let step = |what: String, red: PinId, black: PinId, pass: String| Step {
        what,
        red: model.pin_name(red),
        black: model.pin_name(black),
        expect: Metered::new(volts(red) - volts(black)).to_string(),
        pass,
    };
    let of = |pin: PinId| {
        let part = model.part(model.pin(pin).part);
        format!("{} ({})", part.name, part.title)
    };
    match kind {
        SignalKind::Sense { pin, ground, on_above, off_below } => {
            let pass = match reading {
                Reading::On => format!("at least {on_above}"),
                Reading::Off => format!("at most {off_below}"),
                Reading::Undecided => format!("undecided between {off_below} and {on_above}"),
            };
            vec![step(format!("Trigger of {}", of(*pin)), *pin, *ground, pass)]
        }
        SignalKind::Working { feed, ground, least } => {
            let pass = match (reading, least.value() > 0.0) {
                (Reading::On, true) => format!("at least {least}"),
                (_, true) => format!("below {least}"),
                (_, false) => String::new(),
            };
            vec![step(format!("Supply of {}", of(*feed)), *feed, *ground, pass)]
        }
        SignalKind::Relay { coils, latching } => {
            let coil = |id: &crate::model::ElementId| match &model.element(*id).kind {
                ElementKind::Coil(coil) => Some(coil),
                _ => None,
            };
            let steps = coils.iter().filter_map(coil).map(|coil| {
                let across = (volts(coil.feed) - volts(coil.ground)).abs();
                let pass = match reading {
                    _ if *latching && across < coil.pull_in => "stays as it was put".to_string(),
                    Reading::On => format!("at least {}, and it clicks", coil.pull_in),
                    _ => format!("at most {}", coil.drop_out),
                };
                step(format!("Coil of {}", of(coil.feed)), coil.feed, coil.ground, pass)
            });
            steps.collect()
        }
        SignalKind::Timer { .. } => Vec::new(),
    }
}

/// How a bench supply, switches and buttons are set for a state.
fn set(solved: &Solved, row: &StateRow, way: Vec<String>) -> Vec<String> {
    let model = solved.model;
    if !way.is_empty() {
        return way.into_iter().chain([live(solved, row)]).collect();
    }
    let mut set = vec![live(solved, row)];
    for (input, at) in model.inputs.iter().zip(&row.positions) {
        if let Some(switch) = input.switch {
            set.push(format!("{} ({}) to {}", model.part(switch).name, input.title, input.positions[*at]));
        }
    }
    set
}

/// Where the bench supply's poles go.
fn live(solved: &Solved, row: &StateRow) -> String {
    let model = solved.model;
    let half: Volts = model.job.nominal * 0.5;
    let (mut plus, mut minus) = (Vec::new(), vec!["every ground ring".to_string()]);
    for part in &model.parts {
        let Some(pin) = part.pins.first() else { continue };
        let on = solved.assembly.volts(&row.solution, *pin) > half;
        match part.kind {
            PartKind::Supply if on => plus.push(part.name.to_string()),
            PartKind::Feed => {
                let feed = part.elements.iter().find_map(|id| match &model.element(*id).kind {
                    ElementKind::Feed(feed) => Some(feed),
                    _ => None,
                });
                let Some(feed) = feed.filter(|feed| solved.assembly.holds(&row.solution, &feed.when)) else { continue };
                if feed.from.is_some() { plus.push(part.name.to_string()) } else { minus.push(part.name.to_string()) }
            }
            _ => {}
        }
    }
    let plus = if plus.is_empty() { "nothing".to_string() } else { plus.join(", ") };
    format!("Plus of the bench supply on {plus}; minus on {}", minus.join(", "))
}

/// The test as CSV, one row for each reading, with a column to fill in.
pub fn as_csv(test: &BenchTest) -> Vec<u8> {
    let mut rows = Vec::new();
    for (g, group) in test.groups.iter().enumerate() {
        for (s, step) in group.steps.iter().enumerate() {
            rows.push(vec![
                format!("{}.{}", g + 1, s + 1),
                group.title.clone(),
                group.set.join("; "),
                step.what.clone(),
                step.red.clone(),
                step.black.clone(),
                plain(&step.expect),
                plain(&step.pass),
                String::new(),
            ]);
        }
    }
    csv(&["Step", "Test", "Set", "What", "Red tip", "Black tip", "Expect", "Passes", "Read"], rows)
}
