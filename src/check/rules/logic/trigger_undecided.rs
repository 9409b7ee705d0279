use crate::{Context, Finding, Finds, Rule, Severity};
use model::{SignalId, SignalKind};

pub const RULE: Rule = Rule {
    name: "logic/trigger-undecided",
    severity: Severity::Error,
    explanation: include_str!("trigger_undecided.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    (0..context.model.signals.len()).filter_map(|i| of_signal(context, SignalId(i))).collect()
}

fn of_signal(context: &Context, id: SignalId) -> Option<Finding> {
    let peak = context.worst.undecided(id)?;
    let signal = &context.model.signals[id.0];
    let SignalKind::Sense { pin, on_above, off_below, .. } = signal.kind else { return None };
    let name = context.model.pin_name(pin);
    let state = context.state_words(&peak.moment);
    let message =
        format!("`{name}` has {} {state}, neither off (up to {off_below}) nor on (from {on_above})", peak.value);
    let finding = RULE
        .finding(context.end_place(pin), message)
        .about(signal.name.as_str())
        .label("neither on nor off")
        .limit(&name, peak.value, format!("off up to {off_below}, on from {on_above}"))
        .hint("find what else is on this wire, a lamp that pulls it down or a feed through a coil, and part it with a relay or a diode");
    let (finding, solution) = context.shown_at(finding, &peak.moment);
    Some(match solution {
        Some(solution) => finding.path(context.waypoints(&solution, &context.way_to(&solution, pin))),
        None => finding,
    })
}
