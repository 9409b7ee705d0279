use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use replay::Displayed;
use replay::standing::{Gap, Race, RaceEffect, screen_words};

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
        RaceEffect::None => return None,
        RaceEffect::Shows(time) => (format!("shows {gets} for {} before {then}", time.seconds()), time),
        RaceEffect::Blinks(time) => (format!("loses {then} for {}", time.seconds()), time),
        RaceEffect::Later(time) => (format!("gets {then} {} later", time.seconds()), time),
    };
    let relays = race.relays.join(" and ");
    let mut finding = RULE
        .finding(model.screens[race.screen.0].place, format!("{screen} {does} when {relays} move after {}", race.step))
        .about(screen)
        .label("reacts to relays that move one after the other")
        .shown_in(race.state.clone(), "nominal supply, each relay fast and slow in turn")
        .value(&format!("signal for {gets} lasts"), race.lasts.seconds())
        .value("visible for", time.seconds())
        .timeline(model, &race.evidence)
        .hint("switch with one change-over contact, or delay the later trigger");
    if !matches!(race.then, Displayed::Live(_)) {
        finding.severity = Severity::Note;
    }
    Some(finding)
}

/// A change-over contact that is open while it moves. Only a part's maker knows whether it notices some milliseconds.
fn of_gap(facts: &Facts, gap: &Gap) -> Finding {
    let model = facts.model;
    let screen = screen_words(model, gap.screen);
    let then = gap.then.words(model);
    let (does, time) = match gap.effect {
        RaceEffect::Later(time) => (format!("gets {then} {} later", time.seconds()), time),
        RaceEffect::None => (format!("keeps {then}"), gap.open),
        RaceEffect::Blinks(time) | RaceEffect::Shows(time) => (format!("can lose {then} for {}", time.seconds()), time),
    };
    let why = format!(
        "the contact of {} is open for up to {} while it moves after {}",
        gap.relay,
        gap.open.seconds(),
        gap.step
    );
    let mut finding = RULE
        .finding(model.screens[gap.screen.0].place, format!("{screen} {does}: {why}"))
        .about(screen)
        .label("may notice a contact's transfer time")
        .shown_in(gap.state.clone(), "nominal supply")
        .value(&format!("signal for {} lasts", gap.gets.words(model)), gap.open.seconds())
        .value("visible for", time.seconds())
        .timeline(model, &gap.evidence)
        .hint(
            "ask the maker which gap the part rides through; otherwise bridge it with a hold module, or with a diode \
             from the side that stays live",
        );
    if !gap.restarts.is_empty() {
        let parts: Vec<&str> = gap.restarts.iter().map(|part| model.part(*part).name.as_str()).collect();
        finding = finding.value("restarts", parts.join(", "));
    }
    finding.severity = Severity::Note;
    finding
}
