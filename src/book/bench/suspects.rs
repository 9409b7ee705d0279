//! Which faults of the build explain the results of a bench test.

use crate::bench::BenchTest;
use crate::bench::faulty_copper::GoodCopper;
use crate::bench::faulty_steps::{InCopper, WithPower};
use crate::bench::judge::{BenchJudgement, numbered};
use crate::bench::state_readings::BenchReadings;
use crate::bench::steps::{BenchGroup, BenchStep, GroupKind};
use facts::Facts;
use facts::bench::{BenchState, BuildFault, at_bench};
use serde::Serialize;

/// A fault that explains failed steps.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BenchSuspect {
    /// The fault, with its place.
    pub fault: String,
    /// The failed steps that it explains.
    pub explains: Vec<String>,
    /// The failed steps that it does not explain.
    pub leaves: Vec<String>,
    /// Steps that passed though they fail with it.
    pub contradicts: Vec<String>,
    /// How many steps passed before it can have come up, though they would fail with it.
    #[serde(skip)]
    passed_early: usize,
}

/// A state of the test, with its steps and their numbers.
struct TestedState<'t> {
    there: BenchState,
    steps: Vec<(String, &'t BenchStep)>,
}

/// The faults that fit the results best: those that leave and contradict least. Empty if no step failed.
pub fn suspects(facts: &Facts, test: &BenchTest, judgement: &BenchJudgement) -> Vec<BenchSuspect> {
    if judgement.failed.is_empty() {
        return Vec::new();
    }
    let copper = GoodCopper::new(facts.model);
    let at_bench = at_bench(facts.model);
    let readings = BenchReadings::new(&at_bench);
    let states = tested_states(facts, test, &readings);
    let failed: Vec<&str> = judgement.failed.iter().map(|step| step.step.as_str()).collect();
    let is_early = |(number, group, _): &(String, &BenchGroup, &BenchStep)| {
        !is_powered(group.kind) && failed.contains(&number.as_str())
    };
    let fails_early = numbered(test).any(|step| is_early(&step));
    let suspect = |fault: &BuildFault| -> Option<BenchSuspect> {
        let in_copper = InCopper::new(&copper, *fault);
        let without = numbered(test).filter(|(_, group, _)| !is_powered(group.kind));
        let mut fails: Vec<(String, bool)> = without.map(|(number, _, step)| (number, in_copper.fails(step))).collect();
        let before_power = fails.len();
        // What fails without power is mended before the power comes on: what reads well then says nothing about it.
        if let Some(with_power) = WithPower::new(&readings, *fault).filter(|_| !fails_early) {
            for state in &states {
                let reads: Vec<_> = state.steps.iter().map(|(_, step)| step.reads()).collect();
                let numbers = state.steps.iter().map(|(number, _)| number.clone());
                fails.extend(numbers.zip(with_power.fails(&state.there, &reads)));
            }
        }
        let of_failed = |wanted: bool| -> Vec<String> {
            let mine = fails.iter().filter(|(number, fails)| *fails == wanted && failed.contains(&number.as_str()));
            mine.map(|(number, _)| number.clone()).collect()
        };
        let (explains, leaves) = (of_failed(true), of_failed(false));
        // What comes up as the harness is put together lets the steps before that pass.
        let shows_early =
            fails[..before_power].iter().any(|(number, fails)| *fails && failed.contains(&number.as_str()));
        let passed = |(number, fails): &&(String, bool)| *fails && judgement.passed_steps.contains(number);
        let passed_early = fails[..before_power].iter().filter(passed).count();
        if !shows_early && !matches!(fault, BuildFault::OtherRating(_)) {
            fails.drain(..before_power);
        }
        let contradicts: Vec<String> = fails.iter().filter(passed).map(|(number, _)| number.clone()).collect();
        let fault = fault.words(facts.model);
        (!explains.is_empty()).then_some(BenchSuspect { fault, explains, leaves, contradicts, passed_early })
    };
    let faults: Vec<BuildFault> = test.coverage.faults.iter().map(|found| found.fault).collect();
    let mut all: Vec<BenchSuspect> = threads::each(&faults, suspect).into_iter().flatten().collect();
    let misfit = |suspect: &BenchSuspect| suspect.leaves.len() + suspect.contradicts.len();
    all.sort_by_key(|suspect| (misfit(suspect), suspect.passed_early));
    let least = all.first().map(misfit);
    all.retain(|suspect| Some(misfit(suspect)) == least);
    all
}

fn is_powered(kind: GroupKind) -> bool {
    matches!(kind, GroupKind::Powered | GroupKind::Timed)
}

/// The states of the test, solved at the bench.
fn tested_states<'t>(facts: &Facts, test: &'t BenchTest, readings: &BenchReadings) -> Vec<TestedState<'t>> {
    let mut states = Vec::new();
    let rows = &facts.table().rows;
    for (g, group) in test.groups.iter().enumerate().filter(|(_, group)| group.kind == GroupKind::Powered) {
        let is_it = |row: &&states::StateRow| group.title == crate::bench::state_readings::title(row);
        let there = rows.iter().find(is_it).and_then(|row| readings.state(facts.solved, row));
        let steps = group.steps.iter().enumerate().map(|(s, step)| (format!("{}.{}", g + 1, s + 1), step)).collect();
        states.extend(there.map(|there| TestedState { there, steps }));
    }
    states
}
