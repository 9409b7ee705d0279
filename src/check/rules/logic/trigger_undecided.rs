use crate::evidence::{against_leak_at_trigger, end_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::leaks::leak_of;
use model::{SignalId, SignalKind};

pub const RULE: Rule = Rule {
    name: "logic/trigger-undecided",
    severity: Severity::Error,
    explanation: include_str!("trigger_undecided.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    (0..facts.model.signals.len()).filter_map(|i| of_signal(facts, SignalId(i))).collect()
}

fn of_signal(facts: &Facts, id: SignalId) -> Option<Finding> {
    let peak = facts.worst().undecided(id)?;
    let signal = &facts.model.signals[id.0];
    let SignalKind::Sense { pin, on_above, off_below, .. } = signal.kind else { return None };
    let name = facts.model.pin_name(pin);
    // The positions alone: the full name of the state says whether this very trigger is on or off.
    let state = match facts.names().positions(&peak.moment.state).as_str() {
        "at rest" => "at rest".to_string(),
        positions => format!("in state {positions}"),
    };
    let solution = facts.solution(&peak.moment);
    let path = solution.as_ref().map(|solution| facts.paths().to(solution, pin));
    let leak = solution.as_ref().zip(path.as_ref()).and_then(|(solution, path)| leak_of(facts, solution, path));
    let from =
        leak.map_or_else(String::new, |leak| format!(" from the leakage of `{}`", facts.model.part(leak.part).name));
    let message = format!(
        "`{name}` is neither off (up to {off_below}) nor on (from {on_above}): it gets {}{from} {state}",
        peak.value
    );
    let hint = match &leak {
        Some(leak) => against_leak_at_trigger(facts, leak, off_below),
        None => {
            "find what else is on this wire, a lamp that pulls it down or a feed through a coil, and separate it with a relay or a \
             diode"
                .into()
        }
    };
    let finding = RULE
        .finding(end_place(facts, pin), message)
        .about(signal.name.as_str())
        .label("neither on nor off")
        .limit(&name, peak.value, format!("off up to {off_below}, on from {on_above}"))
        .hint(hint);
    let (finding, _) = shown_at(facts, finding, &peak.moment);
    Some(match solution.zip(path) {
        Some((solution, path)) => finding.path(waypoints(facts, &solution, &path)),
        None => finding,
    })
}
