use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::replay::standing::Wear;

pub const RULE: Rule = Rule {
    name: "time/relay-wear",
    severity: Severity::Note,
    explanation: include_str!("relay_wear.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.times.standing.wear.iter().map(|wear| finding(context, wear)).collect()
}

fn finding(context: &Context, wear: &Wear) -> Finding {
    let model = context.model;
    let relay = &model.signals[wear.relay.0];
    let part = model.part(relay.part);
    let finding = RULE
        .finding(
            part.place,
            format!("{} follows a flasher: {} operations in an hour of flashing", relay.name, wear.operations),
        )
        .about(part.name.as_str())
        .label("clicks with the flash")
        .shown_in(wear.state.clone(), format!("flashers {}", wear.rate))
        .hint("put a hold module between flasher and relay: it then moves once for each use of the signal");
    let lives = [("mechanical life", wear.mechanical), ("contacts' life at their rated load", wear.electrical)];
    lives.into_iter().filter_map(|(name, life)| Some((name, life?))).fold(finding, |finding, (name, life)| {
        finding.value(name, format!("{life} operations, {} h of flashing", wear.hours(life)))
    })
}
