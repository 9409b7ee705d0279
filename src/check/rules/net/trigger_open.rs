use crate::{Context, Finding, Finds, Rule, Severity};
use model::SignalKind;
use std::collections::BTreeSet;

pub const RULE: Rule = Rule {
    name: "net/trigger-open",
    severity: Severity::Warning,
    explanation: include_str!("trigger_open.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    let model = context.model;
    let senses = model.signals.iter().filter_map(|signal| match signal.kind {
        SignalKind::Sense { pin, .. } => Some((signal.part, pin)),
        _ => None,
    });
    let open: BTreeSet<_> = senses
        .filter(|(part, pin)| {
            let needed = context.is_wired(*part) && !model.part(*part).existing && !model.pin(*pin).optional;
            needed && !context.is_joined(*pin)
        })
        .collect();
    open.into_iter()
        .map(|(part, pin)| {
            let (part, name) = (model.part(part), model.pin_name(pin));
            RULE.finding(part.place, format!("trigger `{name}` has no wire"))
                .about(part.name.as_str())
                .label(format!("`{}` never comes on", model.pin(pin).name))
                .hint(format!("lead a wire from what should switch it to `{name}`"))
        })
        .collect()
}
