use crate::evidence::{part_place, swings, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::Chatter;
use facts::Facts;
use facts::unsettled::busiest_step;
use facts::unsettled::signals_of;
use model::SignalId;
use states::state_name;

pub const RULE: Rule = Rule {
    name: "logic/chatter",
    severity: Severity::Error,
    explanation: include_str!("chatter.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.unsettled().chatters.iter().map(|(relays, chatter)| finding(facts, relays, chatter)).collect()
}

fn finding(facts: &Facts, relays: &[SignalId], chatter: &Chatter) -> Finding {
    let model = facts.model;
    let others = signals_of(facts.solved, &chatter.actors);
    let signals = if relays.is_empty() { &others[..] } else { relays };
    let about = facts.names().signals(signals).replace('`', "").replace(" and ", ", ");
    let state = chatter.round.first().map_or_else(String::new, |step| state_name(facts.solved, step));
    let place = signals.first().map_or(model.job.place, |id| part_place(facts, model.signals[id.0].part));
    let message = format!("{} without end in state {state}", swings(facts, signals));
    let hint = if relays.is_empty() {
        "it pulls its own supply too low, stops and starts again: feed it from a point before that voltage drop"
    } else {
        "a relay that opens its own feed buzzes: feed its coil from a point before its contacts"
    };
    let mut finding = RULE
        .finding(place, message)
        .about(about)
        .label("never settles")
        .value("steps in one cycle", chatter.round.len())
        .hint(hint);
    if let Some((step, way)) = busiest_step(facts.paths(), signals, chatter) {
        finding = finding.shown_in(state, step.corner).path(waypoints(facts, step, &way));
    }
    for other in signals.iter().skip(1) {
        finding = finding.also(part_place(facts, model.signals[other.0].part), "takes part");
    }
    finding
}
