use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::Meaning;
use facts::Facts;
use model::{Family, Input, Model};

pub const RULE: Rule = Rule {
    name: "spec/meaning-missing",
    severity: Severity::Note,
    explanation: include_str!("meaning_missing.md"),
    finds: Finds::InHarness(find),
};

/// Words in the name of an input that most likely is reverse gear.
const REVERSE: [&str; 5] = ["reverse", "reversing", "backing", "back-up", "backup"];

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let stated = model.inputs.iter().any(|input| input.means == Some(Meaning::ReverseGear));
    if stated || !shows_cameras(model) {
        return Vec::new();
    }
    model.inputs.iter().filter(|input| is_named_reverse(input)).map(finding).collect()
}

fn shows_cameras(model: &Model) -> bool {
    !model.screens.is_empty() && model.parts.iter().any(|part| part.form.family == Family::Camera)
}

fn is_named_reverse(input: &Input) -> bool {
    let name = input.name.to_lowercase();
    REVERSE.iter().any(|word| name.contains(word))
}

fn finding(input: &Input) -> Finding {
    let message =
        format!("`{}` has no `means: reverse-gear`, so the times of the rear view aren't checked", input.name);
    RULE.finding(input.place, message).about(input.name.as_str()).label("no `means`").hint(format!(
        "add `means: {}` to `{}`, or accept this note if it means something else",
        Meaning::ReverseGear,
        input.name
    ))
}
