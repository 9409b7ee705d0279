//! The bench test: first without power, then with a bench supply in the vehicle's place, state by state, each reading
//! with what to expect and what passes.

mod assembly;
mod continuity;
mod copper;
mod coverage;
mod faulty_copper;
mod faulty_steps;
pub mod judge;
pub mod judgement_words;
pub mod limit;
mod part_tests;
pub mod preparation;
pub mod results;
mod state_readings;
mod steps;
mod suspects;
mod timing;
mod tolerance;
mod tried_states;
mod voltages;

use crate::bench::faulty_copper::GoodCopper;
use crate::bench::state_readings::BenchReadings;
use crate::lists::csv::{CellTable, plain};
pub use copper::{HarnessEnd, JoinedShield, joined_shields};
use coverage::At;
pub use coverage::{BenchCoverage, CoverageLine, CoverageSummary, FoundBuildFault};
use facts::bench::{BenchState, at_bench, nominal_supply};
use quantity::{Amps, Volts};
use serde::Serialize;
use states::{Solved, StateRow, StateTable};
pub use steps::{BenchGroup, BenchProbe, BenchStep, GroupKind};
pub use suspects::{BenchSuspect, suspects};
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
    /// What they find.
    #[serde(skip)]
    pub coverage: BenchCoverage,
}

/// The test of a harness.
pub fn bench_test(solved: &Solved, table: &StateTable) -> BenchTest {
    let model = solved.model;
    let mut groups = vec![continuity::end_to_end(model), continuity::apart(model), part_tests::parts_alone(model)];
    groups.push(assembly::together(model));
    groups.retain(|group| !group.steps.is_empty());
    let copper = GoodCopper::new(model);
    let faults = coverage::faults(model, &copper);
    let without_power = coverage::without_power(&copper, &groups, &faults);
    let at_bench = at_bench(model);
    let bench = BenchReadings::new(&at_bench);
    let rows = tried(solved, table).into_iter().filter_map(|row| Some((row, bench.state(solved, row)?)));
    let (rows, states): (Vec<&StateRow>, Vec<BenchState>) = rows.unzip();
    let drawn = states.iter().map(|there| bench.drawn(there)).reduce(Amps::max);
    let mut powered: Vec<BenchGroup> =
        rows.into_iter().zip(&states).map(|(row, there)| bench.powered(row, there)).collect();
    let with_power = coverage::with_power(&bench, &mut powered, &states, &faults);
    // Step 0 comes before the groups.
    let number = |first: usize| move |(group, step): At| format!("{}.{}", first + group + 1, step + 1);
    let found = faults.iter().zip(without_power).zip(with_power).map(|((fault, without), with)| FoundBuildFault {
        fault: *fault,
        what: fault.words(model),
        without_power: without.map(number(0)),
        with_power: with.map(number(groups.len())),
    });
    let coverage = BenchCoverage { faults: found.collect() };
    groups.extend(powered);
    groups.extend(bench.timed(solved, table));
    let supply = nominal_supply(model);
    BenchTest { supply, before: preparation::before(model, supply, drawn), groups, coverage }
}

impl BenchTest {
    /// How many steps it has.
    pub fn steps(&self) -> usize {
        std::iter::once(&self.before).chain(&self.groups).map(|group| group.steps.len()).sum()
    }
}

/// The test as CSV, one row for each reading, with a column to fill in.
pub fn cells(test: &BenchTest) -> CellTable {
    let row = |(number, group, step): (String, &BenchGroup, &BenchStep)| {
        vec![
            number,
            group.title.clone(),
            group.set.join("; "),
            step.what.clone(),
            step.red.clone(),
            step.black.clone(),
            plain(&step.expect),
            plain(&step.pass),
            String::new(),
        ]
    };
    let rows: Vec<Vec<String>> = judge::numbered(test).map(row).collect();
    CellTable::new(&["Step", "Test", "Set", "Check", "Red tip", "Black tip", "Expect", "Pass", "Read"], rows)
}
