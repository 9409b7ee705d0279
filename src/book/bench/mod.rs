//! The bench test: first without power, then with a bench supply in the vehicle's place, state by state, each reading
//! with what to expect and what passes.

mod assembly;
mod continuity;
pub mod judge;
pub mod limit;
mod part_tests;
pub mod preparation;
pub mod results;
mod state_readings;
mod steps;
mod timing;
mod tolerance;
mod tried_states;

use crate::bench::state_readings::BenchReadings;
use crate::lists::csv::{csv, plain};
use facts::bench::{BenchState, at_bench};
use model::ElementKind;
use quantity::{Amps, Volts};
use serde::Serialize;
use states::{Solved, StateTable};
pub use steps::{BenchGroup, BenchStep, GroupKind};
use tried_states::tried;

/// The whole test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BenchTest {
    /// What the bench supply is set to: the battery's nominal voltage, which the expected readings are for.
    pub supply: Option<Volts>,
    /// What to set and to join before, step 0.
    pub before: BenchGroup,
    /// The groups of steps, in their order.
    pub groups: Vec<BenchGroup>,
}

/// The test of a harness.
pub fn bench_test(solved: &Solved, table: &StateTable) -> BenchTest {
    let model = solved.model;
    let mut groups = vec![continuity::end_to_end(model), continuity::apart(model), part_tests::parts_alone(model)];
    let at_bench = at_bench(model);
    let bench = BenchReadings::new(&at_bench);
    groups.push(assembly::together(model));
    let rows = tried(solved, table);
    let states: Vec<Option<BenchState>> = rows.iter().map(|row| bench.state(solved, row)).collect();
    let drawn = states.iter().flatten().map(|there| bench.drawn(there)).reduce(Amps::max);
    groups.extend(rows.into_iter().zip(&states).map(|(row, there)| bench.powered(row, there.as_ref())));
    groups.extend(bench.timed(solved, table));
    groups.retain(|group| !group.steps.is_empty());
    let battery = |kind: &ElementKind| match kind {
        ElementKind::Battery { volts, .. } => Some(volts[1]),
        _ => None,
    };
    let supply = model.elements.iter().find_map(|element| battery(&element.kind));
    BenchTest { supply, before: preparation::before(model, supply, drawn), groups }
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
    csv(&["Step", "Test", "Set", "Check", "Red tip", "Black tip", "Expect", "Pass", "Read"], rows)
}
