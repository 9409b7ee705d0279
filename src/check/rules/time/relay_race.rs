use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::replay::Glass;
use crate::replay::standing::{Effect, Race, screen_words};

pub const RULE: Rule = Rule {
    name: "time/relay-race",
    severity: Severity::Warning,
    explanation: include_str!("relay_race.md"),
    finds: Finds::InHarness(find),
};

fn find(context: &Context) -> Vec<Finding> {
    context.times.standing.races.iter().filter_map(|race| finding(context, race)).collect()
}

fn finding(context: &Context, race: &Race) -> Option<Finding> {
    let model = context.model;
    let screen = screen_words(model, race.screen);
    let (gets, then) = (race.gets.words(model), race.then.words(model));
    let (does, time) = match race.effect {
        Effect::None => return None,
        Effect::Shows(time) => (format!("shows {gets} for {} before {then}", time), time),
        Effect::Blinks(time) => (format!("loses {then} for {}", time), time),
    };
    let relays = race.relays.join(" and ");
    let mut finding = RULE
        .finding(model.screens[race.screen.0].place, format!("{screen} {does} when {relays} move after {}", race.step))
        .about(screen)
        .label("sees relays move one after the other")
        .shown_in(race.state.clone(), "nominal supply, each relay quick and slow in turn")
        .value(&format!("given {gets}"), race.lasts)
        .value("seen for", time)
        .timeline(model, &race.evidence)
        .hint("switch both ways with one change-over contact, or hold the later trigger back by a delay");
    if !matches!(race.then, Glass::Live(_)) {
        finding.severity = Severity::Note;
    }
    Some(finding)
}
