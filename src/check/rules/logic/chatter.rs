use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::model::SignalId;
use crate::solve::Chatter;
use crate::states::state_name;

pub const RULE: Rule = Rule {
    name: "logic/chatter",
    severity: Severity::Error,
    explanation: include_str!("chatter.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.chatters(false).into_iter().map(|(relays, chatter)| finding(context, &relays, chatter)).collect()
}

fn finding(context: &Context, relays: &[SignalId], chatter: &Chatter) -> Finding {
    let model = context.model;
    let names: Vec<&str> = relays.iter().map(|id| model.signals[id.0].name.as_str()).collect();
    let state = chatter.round.first().map_or_else(String::new, |step| state_name(context.solved, step));
    let place = relays.first().map_or(model.job.place, |id| context.part_place(model.signals[id.0].part));
    let (words, drop) = (context.signal_words(relays), if relays.len() == 1 { "drops" } else { "drop" });
    let pull = if relays.len() == 1 { "pulls" } else { "pull" };
    let message = format!("{words} {pull} in and {drop} out without end in state {state}");
    let mut finding = RULE
        .finding(place, message)
        .about(names.join(", "))
        .label("never comes to rest")
        .value("steps of a round", chatter.round.len())
        .hint("a relay that opens its own coil's way is a buzzer: feed its coil from before its contacts");
    if let Some((step, way)) = context.busiest_step(relays, chatter) {
        finding = finding.shown_in(state, step.corner).path(context.waypoints(step, &way));
    }
    for other in relays.iter().skip(1) {
        finding = finding.also(context.part_place(model.signals[other.0].part), "takes part");
    }
    finding
}
