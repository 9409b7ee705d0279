use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::consumers::is_wired;
use model::{ElementKind, InputId};

pub const RULE: Rule = Rule {
    name: "logic/input-unused",
    severity: Severity::Warning,
    explanation: include_str!("input_unused.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let inputs = (0..model.inputs.len()).map(InputId).filter(|id| !is_used(facts, *id));
    inputs
        .map(|id| {
            let input = &model.inputs[id.0];
            let in_views = model.screens.iter().flat_map(|s| &s.views).any(|view| view.when.names_input(id));
            let message = match in_views {
                true => format!("the views use `{}`, but nothing in the harness is connected to it", input.name),
                false => {
                    format!("`{}` has no effect: nothing is connected to it and nothing depends on it", input.name)
                }
            };
            let hint = match (input.pin, input.switch) {
                (Some(_), _) => format!("run a wire from `{}` to what it should switch, or remove it", input.name),
                (None, Some(switch)) => format!("wire the switch `{}`, or remove both", model.part(switch).name),
                (None, None) => format!("give `{}` a switch or a wire, or remove it", input.name),
            };
            RULE.finding(input.place, message).about(input.name.as_str()).label("changes nothing").hint(hint)
        })
        .collect()
}

/// Whether an input changes something: a wire on its tap, a switch with wires, or a condition of a supply or of another
/// input.
fn is_used(facts: &Facts, id: InputId) -> bool {
    let model = facts.model;
    let input = &model.inputs[id.0];
    let needed = model.inputs.iter().filter_map(|other| other.needs.as_ref()).any(|needs| needs.names_input(id));
    let followed = model.elements.iter().any(|element| match &element.kind {
        ElementKind::Derived { when, .. } => when.names_input(id),
        _ => false,
    });
    input.pin.is_some_and(|pin| facts.connectivity().is_joined(pin))
        || input.switch.is_some_and(|part| is_wired(facts.connectivity(), part))
        || needed
        || followed
}
