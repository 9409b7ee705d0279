//! Which faults of the build explain the results of a bench test.

use crate::bench::BenchTest;
use crate::bench::faulty_copper::GoodCopper;
use crate::bench::faulty_steps::{InCopper, WithPower};
use crate::bench::judge::{BenchJudgement, numbered};
use crate::bench::state_readings::{BenchReadings, title};
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

/// Which steps fail with a fault, by their numbers.
struct Fails {
    without_power: Vec<(String, bool)>,
    with_power: Vec<(String, bool)>,
}

/// The faults that fit the results best: those that leave and contradict least. Empty if no step failed.
pub fn suspects(facts: &Facts, test: &BenchTest, judgement: &BenchJudgement) -> Vec<BenchSuspect> {
    if judgement.failed.is_empty() {
        return Vec::new();
    }
    let copper = GoodCopper::new(facts.model);
    let at_bench = at_bench(facts.model);
    let readings = BenchReadings::new(&at_bench);
    // What fails without power is mended before the power comes on: what reads well then says nothing about it.
    let fails_early = numbered(test).any(|(number, group, _)| !is_powered(group.kind) && judgement.has_failed(&number));
    let states = if fails_early { Vec::new() } else { tested_states(facts, test, &readings) };
    let suspect = |fault: &BuildFault| {
        let in_copper = InCopper::new(&copper, *fault);
        let without = numbered(test).filter(|(_, group, _)| !is_powered(group.kind));
        let without_power = without.map(|(number, _, step)| (number, in_copper.fails(step))).collect();
        let with_power = WithPower::new(&readings, *fault).map(|fault| fails_in(&fault, &states)).unwrap_or_default();
        let fails = Fails { without_power, with_power };
        fails.compare(*fault, judgement, fault.words(facts.model))
    };
    let faults: Vec<BuildFault> = test.coverage.faults.iter().map(|found| found.fault).collect();
    let mut all: Vec<BenchSuspect> = threads::each(&faults, suspect).into_iter().flatten().collect();
    let misfit = |suspect: &BenchSuspect| suspect.leaves.len() + suspect.contradicts.len();
    all.sort_by_key(|suspect| (misfit(suspect), suspect.passed_early));
    let least = all.first().map(misfit);
    all.retain(|suspect| Some(misfit(suspect)) == least);
    all
}

/// Which steps of the states fail.
fn fails_in(fault: &WithPower, states: &[TestedState]) -> Vec<(String, bool)> {
    let mut fails = Vec::new();
    for state in states {
        let reads: Vec<_> = state.steps.iter().map(|(_, step)| step.reads()).collect();
        let numbers = state.steps.iter().map(|(number, _)| number.clone());
        fails.extend(numbers.zip(fault.fails(&state.there, &reads)));
    }
    fails
}

impl Fails {
    /// A suspect, if it explains a failed step.
    fn compare(mut self, fault: BuildFault, judgement: &BenchJudgement, words: String) -> Option<BenchSuspect> {
        let of_failed = |wanted: bool| -> Vec<String> {
            let all = self.without_power.iter().chain(&self.with_power);
            let mine = all.filter(|(number, fails)| *fails == wanted && judgement.has_failed(number));
            mine.map(|(number, _)| number.clone()).collect()
        };
        let (explains, leaves) = (of_failed(true), of_failed(false));
        let passed = |(number, fails): &&(String, bool)| *fails && judgement.passed_steps.contains(number);
        let passed_early = self.without_power.iter().filter(passed).count();
        let shows_early = self.without_power.iter().any(|(number, fails)| *fails && judgement.has_failed(number));
        // What comes up as the harness is put together lets the steps before that pass.
        if !shows_early && !matches!(fault, BuildFault::OtherRating(_)) {
            self.without_power.clear();
        }
        let all = self.without_power.iter().chain(&self.with_power);
        let contradicts = all.filter(passed).map(|(number, _)| number.clone()).collect();
        (!explains.is_empty()).then_some(BenchSuspect { fault: words, explains, leaves, contradicts, passed_early })
    }
}

fn is_powered(kind: GroupKind) -> bool {
    matches!(kind, GroupKind::Powered | GroupKind::Timed)
}

/// The states of the test, solved at the bench.
fn tested_states<'t>(facts: &Facts, test: &'t BenchTest, readings: &BenchReadings) -> Vec<TestedState<'t>> {
    let rows = &facts.table().rows;
    let powered: Vec<(String, &BenchGroup, &BenchStep)> =
        numbered(test).filter(|(_, group, _)| group.kind == GroupKind::Powered).collect();
    let of_group = powered.chunk_by(|(_, one, _), (_, other, _)| std::ptr::eq(*one, *other));
    let state = |steps: &[(String, &BenchGroup, &'t BenchStep)]| {
        let row = rows.iter().find(|row| steps[0].1.title == title(row))?;
        let there = readings.state(facts.solved, row)?;
        Some(TestedState { there, steps: steps.iter().map(|(number, _, step)| (number.clone(), *step)).collect() })
    };
    of_group.filter_map(state).collect()
}
