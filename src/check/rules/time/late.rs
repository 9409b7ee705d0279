use crate::{Finding, Finds, Rule, Severity};
use catalogue::part_form::TimerKind;
use facts::Facts;
use model::{Model, SignalKind};
use replay::Time;
use replay::standing::{Arrival, Within, picture_words};

pub const RULE: Rule = Rule {
    name: "time/late",
    severity: Severity::Error,
    explanation: include_str!("late.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let within =
        facts.standing().within.iter().filter(|within| !facts.screens().differs_at(within.screen, within.view));
    let late = within.filter_map(|within| Some((within, within.late(within.worst.as_ref())?)));
    late.map(|(within, arrival)| finding(&RULE, facts.model, within, arrival).hint(hint(facts.model, arrival)))
        .collect()
}

/// What to do about what the picture waits for: the last timer that runs out on the way, else power.
fn hint(model: &Model, late: &Arrival) -> String {
    let happens = |name: &str, word: &str| {
        let on_the_way = late.evidence.iter().filter(|row| row.at > Time::ZERO);
        on_the_way.flat_map(|row| &row.happens).any(|one| *one == format!("{name} {word}"))
    };
    let timers = model.signals.iter().filter_map(|signal| match signal.kind {
        SignalKind::Timer { kind, time, .. } => Some((signal, kind, time)),
        _ => None,
    });
    for (signal, kind, time) in timers {
        let name = &signal.name;
        match kind {
            TimerKind::Hold | TimerKind::Pulse if happens(name, "off") => {
                return format!(
                    "it waits for `{name}`, which holds for {time}: shorten that, let this trigger end it, or allow a longer \
                     `within`"
                );
            }
            TimerKind::Delay if happens(name, "on") => {
                return format!(
                    "it waits for `{name}`, which delays by {time}: shorten that, or allow a longer `within`"
                );
            }
            _ => {}
        }
    }
    "see in the timeline what it waits for: power camera and modules before the trigger comes on, or allow a longer `within`"
        .to_string()
}

/// A picture that comes later than promised.
pub fn finding(rule: &Rule, model: &Model, within: &Within, late: &Arrival) -> Finding {
    let picture = picture_words(model, within.shown, within.screen);
    let limit = within.limit.seconds();
    let finding = rule
        .finding(
            model.screens[within.screen.0].views[within.view].place,
            format!("{picture} {}, limit {limit}", late.comes()),
        )
        .about(picture)
        .label("this line allows a time")
        .arrival(model, late);
    match late.took {
        Some(took) => finding.limit("time to the picture", took, limit),
        None => finding,
    }
}
