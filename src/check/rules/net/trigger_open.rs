use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::consumers::is_wired;
use model::SignalKind;
use std::collections::BTreeSet;

pub const RULE: Rule = Rule {
    name: "net/trigger-open",
    severity: Severity::Warning,
    explanation: include_str!("trigger_open.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let model = facts.model;
    let senses = model.signals.iter().filter_map(|signal| match signal.kind {
        SignalKind::Sense { pin, .. } => Some((signal.part, pin)),
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
                .label(format!("`{}` never comes on", model.pin(pin).name))
                .hint(format!("run a wire to `{name}` from what should switch it"))
        })
        .collect()
}
