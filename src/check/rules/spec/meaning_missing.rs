use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::Meaning;
use facts::standard_pins::may_mean_anything;
use facts::{Facts, StandardPin};
use model::{Family, Input, Model, PartId};
use states::listed;
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "spec/meaning-missing",
    severity: Severity::Note,
    explanation: include_str!("meaning_missing.md"),
    finds: Finds::InHarness(find),
};

/// Words in the name of an input that most likely is reverse gear.
const REVERSE: [&str; 5] = ["reverse", "reversing", "backing", "back-up", "backup"];

fn find(facts: &Facts) -> Vec<Finding> {
    let mut all = of_reverse(facts.model);
    all.extend(of_sockets(facts));
    all
}

fn of_reverse(model: &Model) -> Vec<Finding> {
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

/// Sockets with pins of a standard purpose that no input has, where an input without a meaning may have it.
fn of_sockets(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    if may_mean_anything(model).next().is_none() {
        return Vec::new();
    }
    let mut by_part: BTreeMap<PartId, Vec<&StandardPin>> = BTreeMap::new();
    for standard in facts.standard_pins().iter().filter(|standard| is_unknown(standard)) {
        by_part.entry(model.pin(standard.pin).part).or_default().push(standard);
    }
    by_part.into_iter().map(|(part, pins)| of_socket(model, part, &pins)).collect()
}

/// Whether no input has the meaning of a pin, and none is wrong for it.
fn is_unknown(standard: &StandardPin) -> bool {
    standard.means.is_some() && standard.inputs.is_empty() && !standard.live.is_wrong()
}

fn of_socket(model: &Model, part: PartId, pins: &[&StandardPin]) -> Finding {
    let words = |standard: &&StandardPin| {
        let pin = model.pin(standard.pin);
        format!("{} ({})", pin.name, pin.title)
    };
    let pins_words: Vec<String> = pins.iter().map(words).collect();
    let mut meanings: Vec<String> =
        pins.iter().filter_map(|standard| standard.means).map(|means| format!("`means: {means}`")).collect();
    meanings.sort();
    meanings.dedup();
    let part = model.part(part);
    let (noun, verb, its) =
        if pins.len() == 1 { ("pin", "isn't", "its meaning") } else { ("pins", "aren't", "their meanings") };
    let message = format!(
        "{noun} {} of {} {verb} checked: no input has {its}",
        listed(&pins_words).unwrap_or_default(),
        part.name
    );
    let input = if meanings.len() == 1 { "the input that feeds it" } else { "the inputs that feed them" };
    let hint = format!("add {} to {input}", listed(&meanings).unwrap_or_default());
    RULE.finding(part.place, message).about(part.name.as_str()).label("its pins have a standard purpose").hint(hint)
}
