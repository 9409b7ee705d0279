use crate::{Context, Finding, Finds, Rule, Severity};
use model::SignalId;
use solve::Chatter;
use states::state_name;

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
    let others = context.signals_of(&chatter.actors);
    let signals = if relays.is_empty() { &others[..] } else { relays };
    let about = context.signal_words(signals).replace('`', "").replace(" and ", ", ");
    let state = chatter.round.first().map_or_else(String::new, |step| state_name(context.solved, step));
    let place = signals.first().map_or(model.job.place, |id| context.part_place(model.signals[id.0].part));
    let message = format!("{} without end in state {state}", context.swings(signals));
    let hint = if relays.is_empty() {
        "what draws less voltage down than it needs itself stops, and starts again: feed it from before what it pulls down"
    } else {
        "a relay that opens its own coil's way is a buzzer: feed its coil from before its contacts"
    };
    let mut finding = RULE
        .finding(place, message)
        .about(about)
        .label("never comes to rest")
        .value("steps of a round", chatter.round.len())
        .hint(hint);
    if let Some((step, way)) = context.busiest_step(signals, chatter) {
        finding = finding.shown_in(state, step.corner).path(context.waypoints(step, &way));
    }
    for other in signals.iter().skip(1) {
        finding = finding.also(context.part_place(model.signals[other.0].part), "takes part");
    }
    finding
}
