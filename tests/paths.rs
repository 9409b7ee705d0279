//! What `Element::paths` says of an element is what the circuit makes of it: the same ends, the same condition.

mod jobs;

use circuit::{Logic, NEGATIVE, assemble};
use model::{ElementId, ElementKind, Model, Passage};
use std::mem::{Discriminant, discriminant};

/// Kinds of element.
type Kinds = Vec<Discriminant<ElementKind>>;

/// Compares every path with the branches of its element, and takes down the kinds of element that were compared.
fn compare(model: &Model, compared: &mut Kinds) {
    let assembly = assemble(model);
    for (i, element) in model.elements.iter().enumerate() {
        let branches = assembly.element(ElementId(i));
        let drawn = branches.iter().map(|id| &assembly.circuit.branches[id.index()]);
        for path in element.paths().filter(|path| path.passage != Passage::Signal) {
            // A regulated output comes from its ground in the circuit; its power comes from the input.
            let output = matches!(element.kind, ElementKind::Converter { .. }) && path.passage == Passage::OneWay;
            let no_load = matches!(&element.kind, ElementKind::Load(load) if load.draws.value() <= 0.0);
            if output || no_load {
                continue;
            }
            let node = |pin: Option<_>| pin.map_or(Some(NEGATIVE), |pin| assembly.pin(pin));
            let when = assembly.logic(&path.when);
            let same = drawn.clone().any(|branch| {
                // A converter also needs its ground, which is no condition of the harness.
                let grounded = matches!(&branch.when, Logic::All(terms) if terms.first() == Some(&when));
                let is_converter = matches!(element.kind, ElementKind::Converter { .. });
                let same_when = branch.when == when || (is_converter && grounded);
                [Some(branch.from), Some(branch.to)] == [node(path.from), node(path.to)] && same_when
            });
            assert!(same, "{}: {path:?} is none of {:?}", model.part(element.part).name, drawn.collect::<Vec<_>>());
            let kind = discriminant(&element.kind);
            if !compared.contains(&kind) {
                compared.push(kind);
            }
        }
    }
}

/// The kinds of element that current goes through: all but pictures and their sources.
const KINDS: usize = 14;

#[test]
fn paths_are_those_of_the_circuit() {
    let mut compared = Kinds::new();
    for spec in jobs::specs_in(&["harness-specs", "tests/drawings", "tests/replay"]) {
        compare(&jobs::model_of(&spec), &mut compared);
    }
    assert_eq!(compared.len(), KINDS, "kinds of element compared");
}
