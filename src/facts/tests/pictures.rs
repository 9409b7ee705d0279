//! What screens show, what changes it, and what the bench reads.

use crate::Facts;
use crate::bench::{Bench, at_bench, stays_in_vehicle};
use model::ScreenId;
use states::{Picture, Solved};

/// Reverse brings the camera and takes it away again; no timer has to run.
#[test]
fn single_moves_change_the_picture() {
    let model = sample::demo("first-harness");
    let solved = Solved::new(&model);
    let facts = Facts::new(&solved);
    let rear = Picture::Source(model.part_named("REAR").unwrap());
    let input = |name: &str| model.inputs.iter().position(|input| input.name.as_str() == name).unwrap();
    let from_to = |from: &Picture, to: &Picture| {
        let change =
            facts.picture_changes().iter().find(|change| change.from == [from.clone()] && change.to == [to.clone()]);
        change.map(|change| {
            change.causes.iter().map(|caused| caused.cause).map(|c| (c.input.0, c.position, c.timer)).collect()
        })
    };
    assert_eq!(from_to(&Picture::Home, &rear), Some(vec![(input("reverse"), 1, None)]));
    assert_eq!(from_to(&rear, &Picture::Home), Some(vec![(input("reverse"), 0, None)]));
    assert_eq!(from_to(&Picture::Dark, &rear), None);
    assert!(facts.screens().differs.is_empty() && !facts.screens().differs_at(ScreenId(0), 0));
    assert_eq!(facts.screens().reached.len(), 3);
}

/// A bench supply stands at its nominal voltage whatever the corner, and the steps of a state lead there.
#[test]
fn the_bench_goes_the_way_of_a_state() {
    let model = sample::demo("first-harness");
    let solved = Solved::new(&model);
    let lying = at_bench(&model);
    let bench = Bench::new(&lying);
    let rest = bench.rest().unwrap();
    let table = solved.table();
    let row = table.rows.iter().find(|row| row.name == "key run, reverse").unwrap();
    let there = bench.state(&solved, &row.solution.state).unwrap();
    let steps = Facts::new(&solved).steps_to(&row.solution.state);
    assert_eq!(
        steps.iter().map(|step| step.by).collect::<Vec<_>>(),
        there.changes.iter().map(|step| step.by).collect::<Vec<_>>()
    );
    assert_eq!((there.changes.len(), there.is_rest, there.solution.state.positions.away()), (2, false, 2));
    assert!(bench.drawn(&there.solution).value() > 0.1 && !there.others.is_empty());
    assert_eq!(bench.way_back(&there, &rest.state), None);
    assert!(bench.timer_runs(&solved, &table).is_empty() && bench.second_presses(&there).is_empty());
    let fuse = model.part_named("F1").unwrap();
    assert!(!stays_in_vehicle(&model, model.part(fuse), fuse));
}
