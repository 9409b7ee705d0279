//! Revisions of the demonstrations: what is renamed, moved, exchanged, and the rework carried out.

use super::pairs::Pairs;
use super::*;
use facts::Facts;
use model::Model;
use states::Solved;

mod round_trip;

/// The smallest demonstration.
const FIRST: &str = include_str!("../../../harness-specs/first-harness.yaml");

fn model(text: &str) -> Model {
    sample::of_text("revision.yaml", text).unwrap()
}

fn compared(old: &str, new: &str) -> Comparison {
    let models = [model(old), model(new)];
    let solved = models.each_ref().map(Solved::new);
    let facts = solved.each_ref().map(Facts::new);
    let reports = solved.each_ref().map(check::check);
    let [before, after] = [0, 1].map(|i| Revision { facts: &facts[i], report: &reports[i] });
    let comparison = compare(before, after);
    let page = page(&comparison, before, after).unwrap();
    assert_eq!(page.contains("<h2>After</h2>"), page.contains("figure class=\"new\""));
    comparison
}

fn changed(text: &str, from: &str, to: &str) -> String {
    assert!(text.contains(from), "{from}");
    text.replace(from, to)
}

#[test]
fn the_same_spec_twice_differs_in_nothing() {
    let comparison = compared(FIRST, FIRST);
    assert!(comparison.is_empty(), "{comparison:#?}");
}

/// A camera with another name: one label, nothing to build, no other behaviour.
#[test]
fn a_rename_is_a_rename() {
    let comparison = compared(FIRST, &changed(FIRST, "REAR", "TAILCAM"));
    assert_eq!(comparison.rework.renamed_parts, [Renamed { from: "REAR".into(), to: "TAILCAM".into() }]);
    let rest = Rework { renamed_parts: Vec::new(), ..comparison.rework.clone() };
    assert!(rest.is_empty() && comparison.behaviour.is_empty() && comparison.findings.is_empty(), "{comparison:#?}");
}

/// A wire on another pin: one end to move, in the page's two diagrams too.
#[test]
fn a_wire_on_another_pin_is_an_end_to_move() {
    let comparison = compared(FIRST, &changed(FIRST, "REAR.power", "REAR.ground"));
    let moved = &comparison.rework.moved_ends;
    assert_eq!(moved.len(), 1, "{:#?}", comparison.rework);
    assert_eq!((moved[0].from.to_string(), moved[0].to.to_string()), ("REAR.power".into(), "REAR.ground".into()));
    assert!(!comparison.findings.new.is_empty() && !comparison.behaviour.screens.is_empty(), "{comparison:#?}");
}

/// A longer run makes every wire through it too short; a shorter one only trims them.
#[test]
fn lengths_decide_whether_a_wire_is_made_anew() {
    let run = FIRST.lines().find(|line| line.contains("length:")).unwrap();
    let length = run.split("length:").nth(1).unwrap().trim().split(' ').next().unwrap();
    let longer = FIRST.replace(&format!("length: {length} m"), "length: 9.9 m");
    let there = compared(FIRST, &longer).rework;
    let back = compared(&longer, FIRST).rework;
    assert!(!there.replaced_wires.is_empty() && there.trimmed_wires.is_empty(), "{there:#?}");
    assert_eq!(there.replaced_wires.len(), back.trimmed_wires.len());
    assert!(back.replaced_wires.is_empty(), "{back:#?}");
}
