use crate::evidence::{in_state, part_place, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::Chatter;
use facts::Facts;
use facts::unsettled::busiest_step;
use model::SignalId;
use states::state_name;

pub const RULE: Rule = Rule {
    name: "logic/race",
    severity: Severity::Error,
    explanation: include_str!("race.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.unsettled().races.iter().map(|(relays, chatter)| finding(facts, relays, chatter)).collect()
}

fn finding(facts: &Facts, relays: &[SignalId], chatter: &Chatter) -> Finding {
    let model = facts.model;
    let names: Vec<&str> = relays.iter().map(|id| model.signals[id.0].name.as_str()).collect();
    let state = chatter.round.first().map_or_else(String::new, |step| state_name(facts.solved, step));
    let place = relays.first().map_or(model.job.place, |id| part_place(facts, model.signals[id.0].part));
    let words = facts.names().signals(relays);
    let mut finding = RULE
        .finding(place, format!("the result depends on which of {words} moves first, {}", in_state(&state)))
        .about(names.join(", "))
        .label("races")
        .value("possible results", chatter.rests.len())
        .hint("make one wait for the other: a relay with a delay, or one coil fed through a contact of the other");
    if let Some((step, way)) = busiest_step(facts.paths(), relays, chatter) {
        finding = finding.shown_in(state, step.corner).path(waypoints(facts, step, &way));
    }
    for other in relays.iter().skip(1) {
        finding = finding.also(part_place(facts, model.signals[other.0].part), "races with it");
    }
    finding
}
