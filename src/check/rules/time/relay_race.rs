use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::Glass;
use replay::standing::{Effect, Gap, Race, screen_words};

pub const RULE: Rule = Rule {
    name: "time/relay-race",
    severity: Severity::Warning,
    explanation: include_str!("relay_race.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let standing = &facts.standing();
    let races = standing.races.iter().filter_map(|race| finding(facts, race));
    races.chain(standing.gaps.iter().map(|gap| of_gap(facts, gap))).collect()
}

fn finding(facts: &Facts, race: &Race) -> Option<Finding> {
    let model = facts.model;
    let screen = screen_words(model, race.screen);
    let (gets, then) = (race.gets.words(model), race.then.words(model));
    let (does, time) = match race.effect {
        Effect::None => return None,
        Effect::Shows(time) => (format!("shows {gets} for {} before {then}", time), time),
        Effect::Blinks(time) => (format!("loses {then} for {}", time), time),
        Effect::Later(time) => (format!("gets {then} {} later", time), time),
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

/// A change-over contact that is open on its way. Whether a part notices some milliseconds, only its maker knows.
fn of_gap(facts: &Facts, gap: &Gap) -> Finding {
    let model = facts.model;
    let screen = screen_words(model, gap.screen);
    let then = gap.then.words(model);
    let (does, time) = match gap.effect {
        Effect::Later(time) => (format!("gets {then} {time} later"), time),
        Effect::None => (format!("keeps {then}"), gap.open),
        Effect::Blinks(time) | Effect::Shows(time) => (format!("can lose {then} for {time}"), time),
    };
    let why = format!("the contact of {} is open for up to {} on its way after {}", gap.relay, gap.open, gap.step);
    let mut finding = RULE
        .finding(model.screens[gap.screen.0].place, format!("{screen} {does}: {why}"))
        .about(screen)
        .label("may notice a contact on its way")
        .shown_in(gap.state.clone(), "nominal supply")
        .value(&format!("given {}", gap.gets.words(model)), gap.open)
        .value("seen for", time)
        .timeline(model, &gap.evidence)
        .hint(
            "ask the maker what gap the part rides through; else bridge it with a hold module, or with a diode from \
             the side that stays live",
        );
    if !gap.restarts.is_empty() {
        let parts: Vec<&str> = gap.restarts.iter().map(|part| model.part(*part).name.as_str()).collect();
        finding = finding.value("starts anew", parts.join(", "));
    }
    finding.severity = Severity::Note;
    finding
}
