//! Every line of the chart and every condition of the table of changes as a logical statement, against all states in
//! both directions.

use super::chart::Chart;
use super::dimensions::{Dimensions, conditions};
use super::picture_bands::{Line, pictures};
use super::statements::{Moves, Statement, statements};
use crate::good;
use facts::{Facts, PictureChange};
use model::{Model, SignalId};
use states::{Solved, StateRow, is_memory};

/// Whether a line covers a state.
fn fits(line: &Line, memory: &[SignalId], row: &StateRow) -> bool {
    let on = |id: &SignalId| row.memory.contains(id) || row.held.contains(&(*id, true));
    let as_input = |(wanted, position): (&Option<usize>, &usize)| wanted.is_none_or(|wanted| wanted == *position);
    let as_memory = |(wanted, id): (&Option<bool>, &SignalId)| wanted.is_none_or(|wanted| wanted == on(id));
    line.inputs.iter().zip(&row.positions).all(as_input) && line.memory.iter().zip(memory).all(as_memory)
}

/// The signals with a column of their own, found by a search of their own.
fn memory_of(model: &Model, rows: &[StateRow]) -> Vec<SignalId> {
    let has = |id: &SignalId| {
        rows.iter().any(|row| {
            (is_memory(model, *id) && row.memory.contains(id)) || row.held.iter().any(|(held, _)| held == id)
        })
    };
    (0..model.signals.len()).map(SignalId).filter(has).collect()
}

/// What is wrong with the chart of a harness, and its lines.
fn faults(model: &Model) -> (Vec<String>, usize) {
    let solved = Solved::new(model);
    let facts = Facts::new(&solved);
    let (chart, rows) = (Chart::new(&facts), &facts.table().rows);
    let memory = memory_of(model, rows);
    let mut faults = Vec::new();
    let agree = |row: &StateRow| row.screens.iter().all(|reading| reading.agrees);
    for row in rows {
        let shown = pictures(model, row);
        let mut matched = 0;
        for band in &chart.bands {
            for line in band.lines.iter().filter(|line| fits(line, &memory, row)) {
                matched += 1;
                if band.pictures != shown || line.wanted.is_empty() != agree(row) {
                    faults.push(format!("{}: a line says {:?}, {:?}", row.name, band.pictures, line.wanted));
                }
                // What ends by itself is no fault, and what stays is one.
                if !agree(row) && line.for_a_time != row.passing {
                    faults.push(format!("{}: for a time {}", row.name, line.for_a_time));
                }
            }
        }
        if matched == 0 {
            faults.push(format!("{}: no line", row.name));
        }
    }
    let dimensions = Dimensions { model, table: facts.table(), memory: &memory };
    for change in facts.picture_changes() {
        faults.extend(told_otherwise(&dimensions, change));
        for caused in &change.causes {
            let conditions = conditions(&dimensions, caused);
            let holds = |row: usize| {
                let values = dimensions.values(row);
                let fits = |condition: &Vec<Option<usize>>| {
                    condition.iter().zip(&values).all(|(wanted, value)| wanted.is_none_or(|wanted| wanted == *value))
                };
                conditions.iter().any(|condition| {
                    condition[caused.cause.input.0].is_none_or(|wanted| wanted == 0) && {
                        let mut condition = condition.clone();
                        condition[caused.cause.input.0] = None;
                        fits(&condition)
                    }
                })
            };
            let wrong =
                caused.rows.iter().filter(|row| !holds(**row)).chain(caused.others.iter().filter(|row| holds(**row)));
            faults.extend(wrong.map(|row| format!("{:?}: condition wrong in {}", caused.cause, rows[*row].name)));
        }
    }
    (faults, chart.bands.iter().map(|band| band.lines.len()).sum())
}

/// What the statements of a change say more or less than its single moves and conditions, and what they say twice.
fn told_otherwise(dimensions: &Dimensions, change: &PictureChange) -> Vec<String> {
    let told = statements(dimensions, change);
    let mut said: Vec<String> = told.iter().flat_map(|s| s.single()).map(|single| format!("{single:?}")).collect();
    let all = change.causes.iter().flat_map(|c| conditions(dimensions, c).into_iter().map(|on| (c.cause, on)));
    let mut all: Vec<String> = all.map(|single| format!("{single:?}")).collect();
    said.sort();
    all.sort();
    let mut faults = if said == all { Vec::new() } else { vec![format!("{said:?} instead of {all:?}")] };
    for (i, statement) in told.iter().enumerate() {
        let is_at_once =
            |s: &Statement| matches!(&s.moves, Moves::Any(causes) if causes.iter().all(|c| c.timer.is_none()));
        let same = |other: &&Statement| {
            other.words(dimensions) == statement.words(dimensions)
                || (is_at_once(other) && is_at_once(statement) && other.conditions == statement.conditions)
        };
        let twice = told[..i].iter().filter(same).map(|other| other.words(dimensions));
        faults.extend(twice.map(|words| format!("{words}: its condition appears twice")));
    }
    faults
}

#[test]
fn every_line_and_every_condition_holds_in_both_directions() {
    for name in sample::DEMOS {
        let (faults, _) = faults(&sample::demo(name));
        assert!(faults.is_empty(), "{name}:\n{}", faults.join("\n"));
    }
    let count = if cfg!(debug_assertions) { 5 } else { 200 };
    for seed in 0..count {
        let text = good::spec(seed);
        let model = sample::of_text("spec.yaml", &text).unwrap_or_else(|problems| panic!("{problems}"));
        let (faults, _) = faults(&model);
        assert!(faults.is_empty(), "seed {seed}:\n{}", faults.join("\n"));
    }
}

/// Moves with the same condition, two that both have to be made, and conditions that differ in two inputs.
#[test]
fn what_is_the_same_is_said_once() {
    let said = |demo: &str| -> Vec<String> {
        let model = sample::demo(demo);
        let solved = Solved::new(&model);
        Chart::new(&Facts::new(&solved)).changes.into_iter().flat_map(|change| change.moves).collect()
    };
    let has = |said: &[String], words: &str| assert!(said.iter().any(|own| own == words), "{words}: {said:#?}");
    let van = said("wheelchair-van");
    has(&van, "key accessory or run, if side-door open");
    has(
        &van,
        "key accessory or run, if side-door closed and either look-in off and K2 not set or look-in on and K2 set",
    );
    let truck = said("refuse-truck");
    has(&truck, "both reverse and pto off, if nose-view off and HOLD-L.held and HOLD-R.held both off or both on");
    has(&truck, "key run, if nose-view off and left-turn and right-turn both off or both on");
}

/// 232 states of the truck: memory that does not matter is folded.
#[test]
fn irrelevant_inputs_and_memory_are_folded() {
    let (_, lines) = faults(&sample::demo("refuse-truck"));
    assert!(lines <= 21, "{lines} lines");
}
