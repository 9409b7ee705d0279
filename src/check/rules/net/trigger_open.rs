use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::consumers::is_wired;
use model::{Model, SignalId, SignalKind};
use std::collections::BTreeSet;

pub const RULE: Rule = Rule {
    name: "net/trigger-open",
    severity: Severity::Warning,
    explanation: include_str!("trigger_open.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let senses = model.signals.iter().enumerate().filter_map(|(i, signal)| match signal.kind {
        SignalKind::Sense { pin, .. } if !is_ignored(model, SignalId(i)) => Some((signal.part, pin)),
        _ => None,
    });
    let open: BTreeSet<_> = senses
        .filter(|(part, pin)| {
            let needed =
                is_wired(facts.connectivity(), *part) && !model.part(*part).existing && !model.pin(*pin).optional;
            needed && !facts.connectivity().is_joined(*pin)
        })
        .collect();
    open.into_iter()
        .map(|(part, pin)| {
            let (part, name) = (model.part(part), model.pin_name(pin));
            RULE.finding(part.place, format!("trigger input `{name}` has no wire"))
                .about(part.name.as_str())
                .at_pins([pin])
                .label(format!("`{}` never comes on", model.pin(pin).name))
                .hint(format!("run a wire to `{name}` from what should switch it"))
        })
        .collect()
}

/// Whether a trigger input belongs to a screen whose own rules, as the spec gives them, leave it out.
fn is_ignored(model: &Model, id: SignalId) -> bool {
    let of_part = |screen: &&model::Screen| screen.part == model.signals[id.0].part;
    let mut screens = model.screens.iter().filter(of_part).peekable();
    screens.peek().is_some() && !screens.any(|screen| screen.shows.iter().any(|show| show.when.names_signal(id)))
}
