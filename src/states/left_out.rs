//! Combinations that the spec rules out, in words: nothing is left out silently.

use super::Wiring;
use super::name::{at_words, listed};
use model::{InputId, Model, StateCondition};

/// Combinations of inputs that the spec's `needs` and `excludes` leave out, a phrase each: `reverse and pto without key
/// run`, `pto together with reverse`.
pub fn left_out(wiring: &Wiring) -> Vec<String> {
    let model = wiring.model;
    let mut without: Vec<(&StateCondition, Vec<&str>)> = vec![];
    for input in &model.inputs {
        let Some(needs) = &input.needs else { continue };
        match without.iter_mut().find(|(other, _)| *other == needs) {
            Some((_, names)) => names.push(&input.name),
            None => without.push((needs, vec![&input.name])),
        }
    }
    let listed = |names: &[&str]| listed(names).unwrap_or_default();
    let phrase = |(needs, names): (&StateCondition, Vec<&str>)| match needs {
        // Avoid a double negation, unless it is the rest position of an input with only two positions.
        StateCondition::Not(inner) if !matches!(**inner, StateCondition::InputIs(_, 0)) => {
            format!("{} with {}", listed(&names), words(model, inner))
        }
        _ => format!("{} without {}", listed(&names), words(model, needs)),
    };
    let mut phrases: Vec<String> = without.into_iter().map(phrase).collect();
    for (i, input) in model.inputs.iter().enumerate() {
        // Each pair excludes both ways.
        let others: Vec<&str> = input
            .excludes
            .iter()
            .filter(|other| other.0 > i)
            .map(|other| model.inputs[other.0].name.as_str())
            .collect();
        if !others.is_empty() {
            phrases.push(format!("{} together with {}", input.name, others.join(" or ")));
        }
    }
    phrases
}

/// The same as a line below a table; empty if nothing is left out.
pub fn left_out_line(phrases: &[String]) -> Option<String> {
    (!phrases.is_empty()).then(|| format!("ruled out by `needs` and `excludes`: {}\n", phrases.join("; ")))
}

/// A condition over inputs.
fn words(model: &Model, logic: &StateCondition) -> String {
    let joined = |terms: &[StateCondition], word: &str| {
        let each = terms.iter().map(|term| match term {
            StateCondition::All(_) | StateCondition::Any(_) => format!("({})", words(model, term)),
            _ => words(model, term),
        });
        each.collect::<Vec<_>>().join(word)
    };
    let is = |input: &InputId, at: usize| at_words(&model.inputs[input.0], at);
    match logic {
        StateCondition::Always(true) => "anything".into(),
        StateCondition::Always(false) => "an impossible condition".into(),
        StateCondition::InputIs(input, at) => is(input, *at),
        StateCondition::Signal(signal) => model.signals[signal.0].name.clone(),
        StateCondition::Not(inner) => match **inner {
            StateCondition::InputIs(input, 0) if model.inputs[input.0].positions.len() == 2 => is(&input, 1),
            StateCondition::InputIs(..) | StateCondition::Signal(_) => format!("not {}", words(model, inner)),
            _ => format!("not ({})", words(model, inner)),
        },
        StateCondition::All(terms) => joined(terms, " and "),
        StateCondition::Any(terms) => joined(terms, " or "),
    }
}
