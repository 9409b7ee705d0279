use crate::evidence::{against_leak_at_trigger, more_states, or_nothing, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::{Reading, Solution};
use facts::Facts;
use facts::consumers::Consumer;
use facts::leaks::leak_into;
use facts::screens::Shows;
use model::{PartId, PinId, ScreenId, Shown, SignalKind};
use quantity::Volts;
use states::{Picture, listed, shown_words};

pub const RULE: Rule = Rule {
    name: "logic/view-differs",
    severity: Severity::Error,
    explanation: include_str!("view_differs.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let differs = facts.screens().differs.iter();
    // logic/two-sources and net/video-format report clashes and wrong formats.
    differs
        .filter(|((_, _, picture), _)| !matches!(picture, Picture::Clash(_) | Picture::WrongFormat(_)))
        .map(|((screen, view, picture), proof)| finding(facts, *screen, *view, picture, proof))
        .collect()
}

fn finding(facts: &Facts, id: ScreenId, view: usize, picture: &Picture, proof: &Shows) -> Finding {
    let model = facts.model;
    let screen = &model.screens[id.0];
    let view = &screen.views[view];
    let (shows, wanted) = (picture.words(model), shown_words(model, view.show));
    let more = more_states(proof);
    let state = facts.names().moment(&proof.moment);
    let message = format!("screen {} shows {shows} instead of {wanted} {state}{more}", screen.name);
    let finding = RULE
        .finding(view.place, message)
        .about(format!("screen {}", screen.name))
        .label(format!("asks for {wanted}"))
        .value("shown", &shows)
        .value("wanted", &wanted)
        .hint(hint(facts, view.show, picture));
    let (mut finding, solution) = shown_at(facts, finding, &proof.moment);
    finding.involved.screen = Some(id);
    finding.involved.shows = Some((view.show, picture.clone()));
    if let Some(solution) = solution {
        finding = with_triggers(facts, finding, &solution, id);
        if let Some(hint) = wrong_trigger(facts, &solution, id, view.show, picture) {
            finding = finding.hint(hint);
        }
        if let Some(pin) = telling_pin(facts, &solution, id, view.show, picture) {
            finding = finding.path(waypoints(facts, &solution, &facts.paths().to(&solution, pin)));
            finding = with_leak(facts, finding, &solution, id, pin);
        }
    }
    finding
}

/// Says so if only leakage turns a trigger on.
fn with_leak(facts: &Facts, mut finding: Finding, solution: &Solution, id: ScreenId, pin: PinId) -> Finding {
    let mut triggers = triggers(facts, solution, id).into_iter();
    let (Some(trigger), Some(leak)) = (triggers.find(|one| one.pin == pin), leak_into(facts, solution, pin)) else {
        return finding;
    };
    let volts = facts.solved.assembly.volts(solution, pin) - facts.solved.assembly.volts(solution, trigger.ground);
    let (name, part) = (facts.model.pin_name(pin), &facts.model.part(leak.part).name);
    finding.message = format!("{}: the leakage of `{part}` holds `{name}` at {volts}", finding.message);
    finding.hint(against_leak_at_trigger(facts, &leak, trigger.off_below))
}

/// The voltage at each trigger of the screen.
fn with_triggers(facts: &Facts, mut finding: Finding, solution: &Solution, id: ScreenId) -> Finding {
    let model = facts.model;
    for Trigger { pin, ground, reading, on_above, off_below } in triggers(facts, solution, id) {
        let word = match reading {
            Reading::On => "on",
            Reading::Off => "off",
            Reading::Undecided => "undecided",
            Reading::Pulsing => "on and off with pulses",
        };
        let assembly = &facts.solved.assembly;
        let volts = assembly.volts(solution, pin) - assembly.volts(solution, ground);
        let limit = format!("off up to {off_below}, on from {on_above}");
        finding.involved.triggers.extend((reading == Reading::On).then_some(pin));
        finding = finding.limit(&model.pin_name(pin), format!("{} ({word})", or_nothing(volts)), limit);
    }
    finding
}

/// A trigger input of a screen, and how it reads.
struct Trigger {
    pin: PinId,
    ground: PinId,
    reading: Reading,
    on_above: Volts,
    off_below: Volts,
}

fn triggers(facts: &Facts, solution: &Solution, id: ScreenId) -> Vec<Trigger> {
    let model = facts.model;
    let part = model.screens[id.0].part;
    let signals = model.signals.iter().enumerate().filter(|(_, signal)| signal.part == part);
    signals
        .filter_map(|(i, signal)| match signal.kind {
            SignalKind::Sense { pin, ground, on_above, off_below } if facts.connectivity().is_joined(pin) => {
                let id = model::SignalId(i);
                let reading = facts.solved.assembly.reading(model, solution, id);
                Some(Trigger { pin, ground, reading, on_above, off_below })
            }
            _ => None,
        })
        .collect()
}

/// The pin whose current shows the cause: the trigger that is on, or the feed of the source that should show.
fn telling_pin(facts: &Facts, solution: &Solution, id: ScreenId, wanted: Shown, picture: &Picture) -> Option<PinId> {
    if let (Shown::Source(part), Picture::NoSignal(_)) = (wanted, picture) {
        return Consumer::of_part(facts.connectivity(), part).iter().find_map(|consumer| consumer.feed);
    }
    triggers(facts, solution, id)
        .into_iter()
        .find(|t| matches!(t.reading, Reading::On | Reading::Pulsing))
        .map(|t| t.pin)
}

fn hint(facts: &Facts, wanted: Shown, picture: &Picture) -> String {
    let model = facts.model;
    match (wanted, picture) {
        (_, Picture::Flickers(_)) => {
            "the trigger gets the pulses of a pulsed feed: use a wire that isn't pulsed, or bridge the off-time with a \
             hold module"
                .into()
        }
        (_, Picture::Dark) => "the screen has no power in this state: follow its feed from the supply".into(),
        (Shown::Source(part), Picture::NoSignal(pin)) => format!(
            "check that `{}` has its supply in this state and that its picture reaches `{}`",
            model.part(part).name,
            model.pin_name(*pin)
        ),
        (Shown::Source(_), Picture::Home | Picture::Black) => {
            "no trigger of the screen is on in this state: follow the trigger wire back to its input".into()
        }
        _ => "no trigger of the screen is on in this state: compare this line with the screen's `shows`".into(),
    }
}

/// Whether a source's picture comes to another input of a screen than this.
fn is_anothers(facts: &Facts, id: ScreenId, source: PartId, input: PinId) -> bool {
    let comes_to = |input: PinId| facts.solved.pictures[&input].iter().any(|path| path.source == source);
    !comes_to(input) && facts.model.screens[id.0].shows.iter().any(|show| comes_to(show.input))
}

/// Advice where a trigger that is on picks the wrong picture, or where a screen that should be black has power.
fn wrong_trigger(facts: &Facts, solution: &Solution, id: ScreenId, wanted: Shown, picture: &Picture) -> Option<String> {
    let model = facts.model;
    let home = matches!(picture, Picture::Home | Picture::Black);
    let is_trigger = match (picture, wanted) {
        (Picture::Source(_), _) => true,
        (Picture::NoSignal(pin), Shown::Source(part)) => is_anothers(facts, id, part, *pin),
        (Picture::NoSignal(_), _) => true,
        (_, wanted) => home && !matches!(wanted, Shown::Source(_)),
    };
    if !is_trigger {
        return None;
    }
    let is_on = |trigger: &Trigger| matches!(trigger.reading, Reading::On | Reading::Pulsing);
    let on = triggers(facts, solution, id).into_iter().filter(is_on);
    let on: Vec<String> = on.map(|trigger| format!("`{}`", model.pin_name(trigger.pin))).collect();
    if let Picture::NoSignal(pin) = picture {
        let pin = model.pin_name(*pin);
        return Some(format!(
            "find what turns {} on in this state: {} `{pin}`, where no picture comes in",
            listed(&on)?,
            if on.len() == 1 { "it picks" } else { "they pick" }
        ));
    }
    match on.as_slice() {
        [] if home && wanted == Shown::Black => {
            let name = &model.part(model.screens[id.0].part).name;
            Some(format!("`{name}` has power in this state: find what feeds it"))
        }
        [] => None,
        [one] => Some(format!(
            "follow the path: it shows what turns trigger {one} on in this state; if it should be on, check which cable \
             comes to its input"
        )),
        several => Some(format!(
            "triggers {} are on, and the first line of the screen's `shows` wins: find what turns the wrong one on, or \
             block it with a relay",
            listed(several)?
        )),
    }
}
