use crate::evidence::{end_place, shown_at, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::{CurrentPath, Via};
use facts::pulses::PulseEffect;
use facts::{Facts, Moment, Pulsed};
use model::{ElementKind, SignalKind};
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

/// The pulses in a path, in words.
fn pulses(facts: &Facts, way: &CurrentPath) -> String {
    let mut spans = way.steps.iter().filter_map(|step| match step.via {
        Via::Element(id) => match &facts.model.element(id).kind {
            ElementKind::Feed(feed) => feed.pulsed,
            _ => None,
        },
        _ => None,
    });
    let percent = |share: Share| fixed(share.value() * 100.0, 1);
    match spans.next_back() {
        Some(Span { low, high }) if low == high => format!("its feed is pulsed, on for {} % of the time", percent(low)),
        Some(Span { low, high }) => {
            format!("its feed is pulsed, on for {} to {} % of the time", percent(low), percent(high))
        }
        None => "its feed is pulsed".to_string(),
    }
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
    let pulses = pulses(facts, &way);
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
    let finding = match shown.effect {
        PulseEffect::Weak { mean, needs, corner } => {
            finding.limit(&format!("mean at the coil, {corner}"), mean, format!("at least {needs}"))
        }
        PulseEffect::Blinks { on, off, needs } => {
            finding.value("in the on-time", on).limit("in the off-time", off, format!("on from {needs}"))
        }
        PulseEffect::Starts { off, needs } => finding.limit("in the off-time", off, format!("at least {needs}")),
    };
    let (finding, _) = shown_at(facts, finding, &moment);
    finding.path(waypoints(facts, &shown.solution, &way))
}
