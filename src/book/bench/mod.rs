//! The bench test: first without power, then with a bench supply in the vehicle's place, state by state, each reading
//! with what to expect and what passes.

mod assembly;
mod bench_supply;
mod continuity;
mod part_tests;
pub mod preparation;
mod state_readings;
mod timing;
mod tolerance;

use crate::bench::state_readings::Bench;
use crate::lists::csv::{csv, plain};
use crate::service::state_of;
use model::{ElementKind, ScreenId, Shown, SignalId, SignalKind};
use quantity::{Amps, Volts};
use serde::Serialize;
use solve::Reading;
use spec::InputKind;
use states::{Picture, Solved, StateRow, StateTable};

/// Most states that are tried at the bench; the state table has them all.
const MOST_STATES: usize = 40;

/// The whole test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchTest {
    /// What the bench supply is set to: the battery's nominal voltage, which the expected readings are for.
    pub supply: Option<Volts>,
    /// What to set and to join before, step 0.
    pub before: Steps,
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
    /// Things to do, not readings to take.
    pub doing: bool,
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
    let mut groups = vec![continuity::end_to_end(model), continuity::apart(model), part_tests::parts_alone(model)];
    let at_bench = bench_supply::at_bench(model);
    let bench = Bench::new(&at_bench);
    groups.push(assembly::together(model));
    let rows = tried(solved, table);
    let drawn = rows.iter().filter_map(|row| bench.drawn(solved, row)).reduce(Amps::max);
    groups.extend(rows.into_iter().map(|row| bench.powered(solved, row)));
    groups.extend(bench.timed(solved, table));
    groups.retain(|group| !group.steps.is_empty());
    let battery = |kind: &ElementKind| match kind {
        ElementKind::Battery { volts, .. } => Some(volts[1]),
        _ => None,
    };
    let supply = model.elements.iter().find_map(|element| battery(&element.kind));
    BenchTest { supply, before: preparation::before(model, supply, drawn), groups }
}

/// The states to try: every input at rest, then one for each view of each screen, then what gives two answers at once:
/// all turn signals together, each pair of triggers of a screen and each pair of lines of its intent; one for each relay
/// in; and one for each input that none of these moves.
fn tried<'t>(solved: &Solved, table: &'t StateTable) -> Vec<&'t StateRow> {
    let model = solved.model;
    let mut rows: Vec<&StateRow> = table.rows.first().into_iter().collect();
    let mut add = |row: Option<&'t StateRow>| {
        if let Some(row) = row.filter(|row| !rows.iter().any(|r| std::ptr::eq(*r, *row))) {
            rows.push(row);
        }
    };
    for screen in (0..model.screens.len()).map(ScreenId) {
        for view in 0..model.screens[screen.0].views.len() {
            add(state_of(table, screen, view));
        }
    }
    add(hazards(solved, table));
    for screen in &model.screens {
        let sense = |id: &SignalId| {
            model.signals[id.0].part == screen.part && matches!(model.signals[id.0].kind, SignalKind::Sense { .. })
        };
        let triggers: Vec<SignalId> = (0..model.signals.len()).map(SignalId).filter(sense).collect();
        for (i, one) in triggers.iter().enumerate() {
            for other in &triggers[i + 1..] {
                let both = |row: &&StateRow| !row.passing && is_on(solved, row, *one) && is_on(solved, row, *other);
                add(table.rows.iter().find(both));
            }
        }
    }
    // Two lines of the intent at once: which of them is shown is what a relay or a diode is often there for.
    for screen in &model.screens {
        let holds = |row: &StateRow, view: usize| solved.assembly.holds(&row.solution, &screen.views[view].when);
        let names = |view: &usize| matches!(screen.views[*view].show, Shown::Source(_));
        let views: Vec<usize> = (0..screen.views.len()).filter(names).collect();
        for (i, one) in views.iter().enumerate() {
            for other in &views[i + 1..] {
                let both = |row: &&StateRow| !row.passing && holds(row, *one) && holds(row, *other);
                if !rows.iter().any(both) {
                    rows.extend(table.rows.iter().find(both));
                }
            }
        }
    }
    for relay in (0..model.signals.len()).map(SignalId) {
        let moved = |row: &&StateRow| !row.passing && is_on(solved, row, relay);
        let is_relay = matches!(model.signals[relay.0].kind, SignalKind::Relay { .. });
        if is_relay && !rows.iter().any(moved) {
            rows.extend(table.rows.iter().find(moved));
        }
    }
    // What no line of the intent names is tried all the same: the brake that only feeds a trailer.
    for (i, input) in model.inputs.iter().enumerate().filter(|(_, input)| input.pin.is_some() || input.switch.is_some())
    {
        let moved = |row: &&StateRow| row.positions[i] != 0;
        if !input.momentary && !rows.iter().any(moved) {
            let row = table.rows.iter().find(|row| !row.passing && moved(row));
            rows.extend(row);
        }
    }
    rows.truncate(MOST_STATES);
    rows
}

/// The state with every turn signal on at once that shows most of what they do together: with the screens lit, and most
/// of their triggers, holds and latches on for the inputs that it takes.
fn hazards<'t>(solved: &Solved, table: &'t StateTable) -> Option<&'t StateRow> {
    let model = solved.model;
    let flashers: Vec<usize> =
        (0..model.inputs.len()).filter(|i| model.inputs[*i].kind == Some(InputKind::FlasherFeed)).collect();
    if flashers.len() < 2 {
        return None;
    }
    let worth = |row: &StateRow| {
        let of_screen = |id: &SignalId| {
            let signal = &model.signals[id.0];
            matches!(signal.kind, SignalKind::Sense { .. }) && model.screens.iter().any(|s| s.part == signal.part)
        };
        let triggers = (0..model.signals.len()).map(SignalId).filter(of_screen);
        let on = triggers.filter(|id| is_on(solved, row, *id)).count() + row.memory.len();
        let lit = row.screens.iter().filter(|screen| screen.picture != Picture::Dark).count();
        let inputs = row.solution.state.positions.away();
        (on + 2 * lit) as i64 - inputs as i64
    };
    let all = table.rows.iter().filter(|row| !row.passing && flashers.iter().all(|i| row.positions[*i] != 0));
    all.min_by_key(|row| std::cmp::Reverse(worth(row)))
}

fn is_on(solved: &Solved, row: &StateRow, id: SignalId) -> bool {
    solved.assembly.reading(solved.model, &row.solution, id) == Reading::On
}

/// The test as CSV, one row for each reading, with a column to fill in.
pub fn as_csv(test: &BenchTest) -> Vec<u8> {
    let mut rows = Vec::new();
    for (g, group) in std::iter::once(&test.before).chain(&test.groups).enumerate() {
        for (s, step) in group.steps.iter().enumerate() {
            rows.push(vec![
                format!("{g}.{}", s + 1),
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
