use crate::{Finding, Finds, Repair, Rule, Severity};
use catalogue::part_form::TimerKind;
use facts::Facts;
use model::{Model, SignalId, SignalKind};
use quantity::{Seconds, Share};
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
    late.map(|(within, arrival)| {
        let finding = finding(&RULE, facts.model, within, arrival);
        match waits_for(facts.model, arrival) {
            Some((timer, kind, time, tolerance)) => {
                let finding = finding.hint(timer_hint(&facts.model.signals[timer.0].name, kind, time));
                let over = arrival.took.map_or(time, |took| took.seconds() - within.limit.seconds());
                // A timer that is set shorter by one second ends sooner by its tolerance more.
                match time - over * (1.0 / (1.0 + tolerance.value())) - MARGIN {
                    shorter if shorter > Seconds::new(0.0) => finding.repaired_by(Repair::Timed(timer, shorter)),
                    _ => finding,
                }
            }
            None => finding.hint(match arrival.took {
                Some(_) => {
                    "see in the timeline what it waits for: power camera and modules before the trigger comes on, or \
                     allow a longer `within`"
                }
                None => MISSING,
            }),
        }
    })
    .collect()
}

/// Advice where a picture never comes.
pub const MISSING: &str = "find in the timeline what is missing: power, the trigger or the picture";

/// A timer is shortened by this much more than a picture is late.
const MARGIN: Seconds = Seconds::new(0.02);

/// The last timer that runs out while a picture is awaited.
fn waits_for(model: &Model, late: &Arrival) -> Option<(SignalId, TimerKind, Seconds, Share)> {
    let happens = |name: &str, word: &str| {
        let on_the_way = late.evidence.iter().filter(|row| row.at > Time::ZERO);
        on_the_way.flat_map(|row| &row.happens).any(|one| *one == format!("{name} {word}"))
    };
    model.signals.iter().enumerate().find_map(|(i, signal)| {
        let SignalKind::Timer { kind, time, tolerance, .. } = signal.kind else { return None };
        let ends = match kind {
            TimerKind::Delay => "on",
            TimerKind::Hold | TimerKind::Pulse => "off",
            TimerKind::Toggle | TimerKind::Latch => return None,
        };
        happens(&signal.name, ends).then_some((SignalId(i), kind, time, tolerance))
    })
}

/// What to do about a timer that a picture waits for.
fn timer_hint(name: &str, kind: TimerKind, time: Seconds) -> String {
    match kind {
        TimerKind::Delay => {
            format!("it waits for `{name}`, which delays by {time}: shorten that, or allow a longer `within`")
        }
        _ => format!(
            "it waits for `{name}`, which holds for {time}: shorten that, let this trigger end it, or allow a longer \
             `within`"
        ),
    }
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
        Some(took) => finding.limit("time to the picture", took.seconds(), limit),
        None => finding,
    }
}
