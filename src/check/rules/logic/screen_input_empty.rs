use crate::evidence::{end_place, part_place};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use model::{Screen, Show, SignalKind, StateCondition};

pub const RULE: Rule = Rule {
    name: "logic/screen-input-empty",
    severity: Severity::Error,
    explanation: include_str!("screen_input_empty.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let mut findings = Vec::new();
    for screen in &facts.model.screens {
        for (i, show) in screen.shows.iter().enumerate() {
            let reported = screen.shows[..i].iter().any(|earlier| earlier.input == show.input);
            let empty = facts.solved.pictures[&show.input].is_empty();
            let in_use = facts.connectivity().is_joined(show.input) || has_trigger(facts, show);
            if !reported && empty && in_use {
                findings.push(finding(facts, screen, show));
            }
        }
    }
    findings
}

/// Whether something is joined to a trigger pin that picks the input.
fn has_trigger(facts: &Facts, show: &Show) -> bool {
    let mut joined = false;
    show.when.leaves(&mut |leaf| {
        if let StateCondition::Signal(signal) = leaf
            && let SignalKind::Sense { pin, .. } = facts.model.signals[signal.0].kind
        {
            joined |= facts.connectivity().is_joined(pin);
        }
    });
    joined
}

fn finding(facts: &Facts, screen: &Screen, show: &Show) -> Finding {
    let pin = facts.model.pin_name(show.input);
    let (message, place, label) = match facts.connectivity().is_joined(show.input) {
        true => (
            format!("no camera or other source reaches `{pin}` of screen {}", screen.name),
            end_place(facts, show.input),
            "no picture comes in here".to_string(),
        ),
        false => (
            format!("screen {} shows `{pin}` when `{}`, but nothing is connected to it", screen.name, show.text),
            part_place(facts, screen.part),
            format!("`{}` has no wire", facts.model.pin(show.input).name),
        ),
    };
    RULE.finding(place, message)
        .about(format!("screen {}", screen.name))
        .at_pins([show.input])
        .label(label)
        .hint(format!("run a video wire from a source to `{pin}`, or leave its trigger unwired"))
}
