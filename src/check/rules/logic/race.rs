use crate::{Context, Finding, Finds, Rule, Severity};
use model::SignalId;
use solve::Chatter;
use states::state_name;

pub const RULE: Rule = Rule {
    name: "logic/race",
    severity: Severity::Error,
    explanation: include_str!("race.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.chatters(true).into_iter().map(|(relays, chatter)| finding(context, &relays, chatter)).collect()
}

fn finding(context: &Context, relays: &[SignalId], chatter: &Chatter) -> Finding {
    let model = context.model;
    let names: Vec<&str> = relays.iter().map(|id| model.signals[id.0].name.as_str()).collect();
    let state = chatter.round.first().map_or_else(String::new, |step| state_name(context.solved, step));
    let place = relays.first().map_or(model.job.place, |id| context.part_place(model.signals[id.0].part));
    let words = context.signal_words(relays);
    let mut finding = RULE
        .finding(place, format!("which of {words} moves first decides how it comes to rest in state {state}"))
        .about(names.join(", "))
        .label("races")
        .value("ways to come to rest", chatter.rests.len())
        .hint(
            "let one wait for the other: a relay with a delay, or the coil of one fed through a contact of the other",
        );
    if let Some((step, way)) = context.busiest_step(relays, chatter) {
        finding = finding.shown_in(state, step.corner).path(context.waypoints(step, &way));
    }
    for other in relays.iter().skip(1) {
        finding = finding.also(context.part_place(model.signals[other.0].part), "races with it");
    }
    finding
}
