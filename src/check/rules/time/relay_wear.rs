use crate::{Finding, Finds, Rule, Severity, tables};
use facts::Facts;
use replay::standing::Wear;

pub const RULE: Rule = Rule {
    name: "time/relay-wear",
    severity: Severity::Note,
    explanation: include_str!("relay_wear.md"),
    finds: Finds::InHarness(find),
};

const SECONDS_PER_HOUR: f64 = 3600.0;

fn find(facts: &Facts) -> Vec<Finding> {
    facts.standing().wear.iter().map(|wear| finding(facts, wear)).collect()
}

fn finding(facts: &Facts, wear: &Wear) -> Finding {
    let model = facts.model;
    let relay = &model.signals[wear.relay.0];
    let part = model.part(relay.part);
    let follows = format!("{} moves with a flasher, {} operations per hour", relay.name, wear.operations);
    let wanted = tables::flashing_life().value() / SECONDS_PER_HOUR;
    let short = wear.mechanical.map(|life| wear.hours(life)).filter(|hours| (*hours as f64) < wanted);
    let message = match short {
        Some(hours) => format!("{follows}: its mechanics last {hours} h of flashing, limit {wanted} h"),
        None => follows,
    };
    let mut finding = RULE
        .finding(part.place, message)
        .about(part.name.as_str())
        .label("moves with the flash")
        .shown_in(wear.state.clone(), format!("flashers {}", wear.rate))
        .hint("put a hold module between flasher and relay, so that it moves once for each use of the signal");
    if short.is_some() {
        finding.severity = Severity::Warning;
    }
    match wear.mechanical {
        Some(life) => finding.limit(
            "mechanical life",
            format!("{life} operations, {} h of flashing", wear.hours(life)),
            format!("at least {wanted} h"),
        ),
        None => finding,
    }
}
