use crate::worst::Moment;
use crate::{Context, Finding, Finds, Rule, Severity};
use catalogue::part_form::TimerKind;
use model::{Element, ElementKind, Logic, Model, SignalId, SignalKind};
use quantity::decimal::fixed;
use quantity::{Share, Span, Volts};
use solve::{self, Copper, Corner, CurrentPath, Reading, Sees, Solution, Solver, Supply, Via};
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "logic/pulsed",
    severity: Severity::Error,
    explanation: include_str!("pulsed.md"),
    finds: Finds::InHarness(find),
};

/// What pulses do where they come.
enum Effect {
    /// A relay would be in by the on-time, and its coil has this mean at the least duty.
    Weak { mean: Volts, needs: Volts, corner: Corner },
    /// A trigger input is on in the on-time only.
    Blinks { on: Volts, off: Volts, needs: Volts },
    /// A load or a converter has its voltage in the on-time only.
    Starts { off: Volts, needs: Volts },
}

/// An effect in the simplest state that shows it.
struct Shown {
    effect: Effect,
    /// In the on-time.
    solution: Solution,
}

/// Where pulses are at their shortest and coils at their weakest.
const WEAKEST: Corner = Corner { supply: Supply::Least, copper: Copper::Hot, ..Corner::NOMINAL };

fn find(context: &Context) -> Vec<Finding> {
    let model = context.model;
    let is_pulsed = |element: &Element| matches!(&element.kind, ElementKind::Feed(feed) if feed.pulsed.is_some());
    if !model.elements.iter().any(is_pulsed) {
        return vec![];
    }
    let circuit = &context.solved.assembly.circuit;
    let mut weakest = Solver::new(circuit, WEAKEST);
    let mut found: BTreeMap<SignalId, Shown> = BTreeMap::new();
    context.solved.exploration.visit(circuit, &mut |solution| {
        if !solution.has_pulses() {
            return;
        }
        let Ok(weak) = weakest.hold(&solution.state) else { return };
        for id in (0..model.signals.len()).map(SignalId) {
            if let Some(effect) = effect(context, id, solution, &weak.solution) {
                found.entry(id).or_insert_with(|| Shown { effect, solution: solution.clone() });
            }
        }
    });
    found.into_iter().map(|(id, shown)| finding(context, id, &shown)).collect()
}

/// What pulses do to a signal. `weak` is the same state where coils are at their weakest.
fn effect(context: &Context, id: SignalId, solution: &Solution, weak: &Solution) -> Option<Effect> {
    let (model, assembly) = (context.model, &context.solved.assembly);
    let on = |plus, minus| assembly.volts(solution, plus) - assembly.volts(solution, minus);
    let off = |plus, minus| assembly.between_pulses(solution, plus) - assembly.between_pulses(solution, minus);
    match &model.signals[id.0].kind {
        SignalKind::Relay { coils, .. } => coils.iter().find_map(|coil| {
            let coil = model.coil(*coil)?;
            let [on, off] = [on(coil.feed, coil.ground), off(coil.feed, coil.ground)].map(Volts::abs);
            let mean = (assembly.mean(weak, coil.feed) - assembly.mean(weak, coil.ground)).abs();
            let needs = context.pull_in(coil, weak.corner);
            let pulsed = on - off > model.limits.sneak_voltage;
            (pulsed && on >= coil.pull_in && mean < needs).then_some(Effect::Weak { mean, needs, corner: weak.corner })
        }),
        SignalKind::Sense { pin, ground, on_above, .. } => {
            let blinks = assembly.reading(model, solution, id) == Reading::Pulsing && !is_held(model, id);
            blinks.then(|| Effect::Blinks { on: on(*pin, *ground), off: off(*pin, *ground), needs: *on_above })
        }
        SignalKind::Working { feed, ground, least } => {
            let (on, off) = (on(*feed, *ground), off(*feed, *ground));
            (starts_anew(context, id) && on >= *least && off < *least).then_some(Effect::Starts { off, needs: *least })
        }
        SignalKind::Timer { .. } => None,
    }
}

/// Whether what works from a voltage starts anew with each pulse; lamps and heaters only dim.
fn starts_anew(context: &Context, id: SignalId) -> bool {
    let assembly = &context.solved.assembly;
    let rule = assembly.actor(id).map(|actor| &assembly.circuit.actors[actor.index()].rule);
    matches!(rule, Some(solve::Rule::Threshold { sees: Sees::Least, .. }))
}

/// Whether nothing asks for a trigger but what holds it over the off-time, or is set once and stays.
fn is_held(model: &Model, id: SignalId) -> bool {
    let asks = |signal: &&model::Signal| match &signal.kind {
        SignalKind::Timer { from, .. } => {
            let mut asks = false;
            from.leaves(&mut |leaf| asks |= matches!(leaf, Logic::Signal(signal) if *signal == id));
            asks
        }
        _ => false,
    };
    let mut asking = model.signals.iter().filter(asks).peekable();
    asking.peek().is_some()
        && asking
            .all(|signal| matches!(&signal.kind, SignalKind::Timer { kind: TimerKind::Hold | TimerKind::Latch, .. }))
}

/// The pulses that come by a way, in words.
fn pulses(context: &Context, way: &CurrentPath) -> String {
    let mut spans = way.steps.iter().filter_map(|step| match step.via {
        Via::Element(id) => match &context.model.element(id).kind {
            ElementKind::Feed(feed) => feed.pulsed,
            _ => None,
        },
        _ => None,
    });
    let percent = |share: Share| fixed(share.value() * 100.0, 1);
    match spans.next_back() {
        Some(Span { low, high }) if low == high => format!("pulses that are on for {} % of the time", percent(low)),
        Some(Span { low, high }) => {
            format!("pulses that are on for {} to {} % of the time", percent(low), percent(high))
        }
        None => "pulses".to_string(),
    }
}

fn finding(context: &Context, id: SignalId, shown: &Shown) -> Finding {
    let model = context.model;
    let signal = &model.signals[id.0];
    let moment = Moment::of(&shown.solution);
    let state = context.state_words(&moment);
    let way = match &signal.kind {
        SignalKind::Sense { pin, .. } => context.way_to(&shown.solution, *pin),
        SignalKind::Working { feed, .. } => context.way_to(&shown.solution, *feed),
        SignalKind::Relay { .. } => context.way_of_signal(&shown.solution, id),
        SignalKind::Timer { .. } => CurrentPath::default(),
    };
    let pulses = pulses(context, &way);
    let part = model.part(signal.part);
    let (message, place, hint) = match &shown.effect {
        Effect::Weak { .. } => (
            format!("`{}` doesn't surely pull in on {pulses}, {state}", signal.name),
            part.place,
            "take a wire that isn't pulsed, or a module with a pulse-proof input before the relay",
        ),
        Effect::Blinks { .. } => (
            format!("trigger `{}` goes on and off with {pulses}, {state}", signal.name),
            match signal.kind {
                SignalKind::Sense { pin, .. } => context.end_place(pin),
                _ => part.place,
            },
            "take a wire that isn't pulsed, or let a hold module bridge the off-time",
        ),
        Effect::Starts { .. } => (
            format!("`{}` is fed by {pulses}, {state}, and starts anew with each", part.name),
            part.place,
            "feed it from a fused supply through a relay, not from a lamp's wire",
        ),
    };
    let finding = RULE.finding(place, message).about(signal.name.as_str()).label("gets pulses").hint(hint);
    let finding = match shown.effect {
        Effect::Weak { mean, needs, corner } => {
            finding.limit(&format!("mean at the coil, {corner}"), mean, format!("at least {needs}"))
        }
        Effect::Blinks { on, off, needs } => {
            finding.value("in the on-time", on).limit("in the off-time", off, format!("on from {needs}"))
        }
        Effect::Starts { off, needs } => finding.limit("in the off-time", off, format!("at least {needs}")),
    };
    let (finding, _) = context.shown_at(finding, &moment);
    finding.path(context.waypoints(&shown.solution, &way))
}
