use crate::evidence::{shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use facts::Facts;
use facts::consumers::Consumer;
use facts::screens::Shows;
use model::{PinId, ScreenId, Shown, SignalKind};
use quantity::Volts;
use solve::{Reading, Solution};
use states::{Picture, shown_words};

pub const RULE: Rule = Rule {
    name: "logic/view-differs",
    severity: Severity::Error,
    explanation: include_str!("view_differs.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    let differs = facts.screens().differs.iter();
    // Why a clash or a wrong format shows nothing good is told by the rules for those.
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
    let more = match proof.states {
        0 | 1 => String::new(),
        n => format!(", and in {} more", n - 1),
    };
    let state = facts.names().moment(&proof.moment);
    let message = format!("screen {} shows {shows} instead of {wanted} {state}{more}", screen.name);
    let finding = RULE
        .finding(view.place, message)
        .about(format!("screen {}", screen.name))
        .label(format!("asks for {wanted}"))
        .value("shown", &shows)
        .value("wanted", &wanted);
    let (mut finding, solution) = shown_at(facts, finding, &proof.moment);
    if let Some(solution) = solution {
        finding = with_triggers(facts, finding, &solution, id);
        if let Some(pin) = telling_pin(facts, &solution, id, view.show, picture) {
            finding = finding.path(waypoints(facts, &solution, &facts.paths().to(&solution, pin)));
        }
    }
    finding.hint(hint(facts, view.show, picture))
}

/// What each trigger of the screen has.
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
        finding = finding.limit(&model.pin_name(pin), format!("{volts} ({word})"), limit);
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

/// The pin whose current tells why: the trigger that is on, or the feed of what should be shown.
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
            "the trigger gets the pulses of a pulsed feed: take a wire that isn't pulsed, or let a hold module bridge the \
             off-time"
                .into()
        }
        (_, Picture::Dark) => "see why the screen has no power in this state".into(),
        (Shown::Source(part), Picture::NoSignal(pin)) => format!(
            "see whether `{}` has its supply in this state and whether its picture finds an open way to `{}`",
            model.part(part).name,
            model.pin_name(*pin)
        ),
        (Shown::Source(_), Picture::Home | Picture::Black) => {
            "see why no trigger of the screen is on in this state".into()
        }
        _ => "see what brings this trigger on in this state; where two triggers are on, the screen's first line wins"
            .into(),
    }
}
