use crate::{Context, Finding, Finds, Rule, Severity};
use model::{Logic, Screen, Show, SignalKind};

pub const RULE: Rule = Rule {
    name: "logic/screen-input-empty",
    severity: Severity::Error,
    explanation: include_str!("screen_input_empty.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let mut findings = Vec::new();
    for screen in &context.model.screens {
        for (i, show) in screen.shows.iter().enumerate() {
            let told = screen.shows[..i].iter().any(|earlier| earlier.input == show.input);
            let empty = context.solved.pictures[&show.input].is_empty();
            let in_use = context.is_joined(show.input) || has_trigger(context, show);
            if !told && empty && in_use {
                findings.push(finding(context, screen, show));
            }
        }
    }
    findings
}

/// Whether something is joined to a trigger pin that picks the input.
fn has_trigger(context: &Context, show: &Show) -> bool {
    let mut joined = false;
    show.when.leaves(&mut |leaf| {
        if let Logic::Signal(signal) = leaf
            && let SignalKind::Sense { pin, .. } = context.model.signals[signal.0].kind
        {
            joined |= context.is_joined(pin);
        }
    });
    joined
}

fn finding(context: &Context, screen: &Screen, show: &Show) -> Finding {
    let pin = context.model.pin_name(show.input);
    let (message, place, label) = match context.is_joined(show.input) {
        true => (
            format!("no camera or other source leads to `{pin}` of screen {}", screen.name),
            context.end_place(show.input),
            "no picture comes from here".to_string(),
        ),
        false => (
            format!("screen {} shows `{pin}` when {}, and nothing is joined to it", screen.name, show.text),
            context.part_place(screen.part),
            format!("`{}` is empty", context.model.pin(show.input).name),
        ),
    };
    RULE.finding(place, message)
        .about(format!("screen {}", screen.name))
        .label(label)
        .hint(format!("lead a video wire from a source to `{pin}`, or leave its trigger unwired"))
}
