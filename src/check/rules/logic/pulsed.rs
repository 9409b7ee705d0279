use crate::evidence::{end_place, or_nothing, shown_at, waypoints};
use crate::{Finding, Finds, Repair, Rule, Severity};
use circuit::{CurrentPath, Via};
use facts::pulses::PulseEffect;
use facts::{Facts, Moment, Pulsed};
use model::{ElementKind, PinId, SignalKind};
use quantity::decimal::fixed;
use quantity::{Share, Span};

pub const RULE: Rule = Rule {
    name: "logic/pulsed",
    severity: Severity::Error,
    explanation: include_str!("pulsed.md"),
    finds: Finds::InHarness(find),
};

fn find(facts: &Facts) -> Vec<Finding> {
    facts.pulsed().iter().map(|pulsed| finding(facts, pulsed)).collect()
}

/// The pulsed wire of the vehicle in a path, and its pulses in words.
fn pulses(facts: &Facts, way: &CurrentPath) -> (Option<PinId>, String) {
    let mut feeds = way.steps.iter().filter_map(|step| match step.via {
        Via::Element(id) => match &facts.model.element(id).kind {
            ElementKind::Feed(feed) => Some((feed.pin, feed.pulsed?)),
            _ => None,
        },
        _ => None,
    });
    let Some((pin, Span { low, high })) = feeds.next_back() else { return (None, "its feed is pulsed".to_string()) };
    let percent = |share: Share| fixed(share.value() * 100.0, 1);
    let share = if low == high { percent(low) } else { format!("{} to {}", percent(low), percent(high)) };
    (Some(pin), format!("`{}` is pulsed, on for {share} % of the time", facts.model.pin_name(pin)))
}

fn finding(facts: &Facts, shown: &Pulsed) -> Finding {
    let id = shown.signal;
    let model = facts.model;
    let signal = &model.signals[id.0];
    let moment = Moment::of(&shown.solution);
    let state = facts.names().moment(&moment);
    let way = match &signal.kind {
        SignalKind::Sense { pin, .. } => facts.paths().to(&shown.solution, *pin),
        SignalKind::Working { feed, .. } => facts.paths().to(&shown.solution, *feed),
        SignalKind::Relay { .. } => facts.paths().of_signal(&shown.solution, id),
        SignalKind::Timer { .. } => CurrentPath::default(),
    };
    let (feed, pulses) = pulses(facts, &way);
    let part = model.part(signal.part);
    let (message, place, hint) = match &shown.effect {
        PulseEffect::Weak { .. } => (
            format!("`{}` may stay out {state}: {pulses}", signal.name),
            part.place,
            "use a wire that isn't pulsed, or a module with a pulse-proof input before the relay",
        ),
        PulseEffect::Blinks { .. } => (
            format!("trigger `{}` switches on and off {state}: {pulses}", signal.name),
            match signal.kind {
                SignalKind::Sense { pin, .. } => end_place(facts, pin),
                _ => part.place,
            },
            "use a wire that isn't pulsed, or bridge the off-time with a hold module",
        ),
        PulseEffect::Starts { .. } => (
            format!("`{}` restarts {state}: {pulses}", part.name),
            part.place,
            "feed it from a fused supply through a relay, not from a lamp wire",
        ),
    };
    let finding = RULE.finding(place, message).about(signal.name.as_str()).label("gets pulses").hint(hint);
    let finding = feed.into_iter().fold(finding, |finding, pin| finding.repaired_by(Repair::Steady(pin)));
    let finding = match shown.effect {
        PulseEffect::Weak { mean, needs, corner } => {
            finding.limit(&format!("mean at the coil, {corner}"), mean, format!("at least {needs}"))
        }
        PulseEffect::Blinks { on, off, needs } => {
            finding.value("in the on-time", on).limit("in the off-time", or_nothing(off), format!("on from {needs}"))
        }
        PulseEffect::Starts { off, needs } => {
            finding.limit("in the off-time", or_nothing(off), format!("at least {needs}"))
        }
    };
    let (finding, _) = shown_at(facts, finding, &moment);
    finding.path(waypoints(facts, &shown.solution, &way))
}
