use crate::catalogue::form::{LoadKind, TimerKind};
use crate::check::worst::Moment;
use crate::check::{Context, Finding, Finds, Rule, Severity};
use crate::draw::number::fixed;
use crate::model::{ElementId, ElementKind, Logic, Model, PinId, SignalId, SignalKind};
use crate::quantity::{Share, Span, Volts};
use crate::solve::{Corner, CurrentPath, Pulse, Solution, Solver, State};
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "logic/pulsed",
    severity: Severity::Error,
    explanation: include_str!("pulsed.md"),
    finds: Finds::InHarness(find),
};

/// What pulses do where they come.
enum Effect {
    /// A relay counts as in by the on-time, and its coil has this mean at the least duty.
    Weak { mean: Volts, needs: Volts },
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
    duty: Span<Share>,
}

fn find(context: &Context) -> Vec<Finding> {
    let model = context.model;
    let feeds: Vec<(ElementId, &Logic, Span<Share>)> = model
        .elements
        .iter()
        .enumerate()
        .filter_map(|(i, element)| match &element.kind {
            ElementKind::Feed(feed) => feed.pulsed.map(|duty| (ElementId(i), &feed.when, duty)),
            _ => None,
        })
        .collect();
    if feeds.is_empty() {
        return vec![];
    }
    let circuit = &context.solved.assembly.circuit;
    let at = |pulse| Solver::new(circuit, Corner { pulse, ..Corner::NOMINAL });
    let (mut off, mut mean) = (at(Pulse::Off), at(Pulse::LeastMean));
    let mut found: BTreeMap<SignalId, Shown> = BTreeMap::new();
    context.solved.exploration.visit(circuit, &mut |on| {
        let live = |when: &Logic| on.state.holds(&context.solved.assembly.logic(when));
        let Some((_, _, duty)) = feeds.iter().find(|(_, when, _)| live(when)) else { return };
        let (Some(off), Some(mean)) = (held(&mut off, &on.state), held(&mut mean, &on.state)) else { return };
        for id in (0..model.signals.len()).map(SignalId) {
            if let Some(effect) = effect(context, id, [on, &off, &mean]) {
                found.entry(id).or_insert_with(|| Shown { effect, solution: on.clone(), duty: *duty });
            }
        }
    });
    found.into_iter().map(|(id, shown)| finding(context, id, &shown)).collect()
}

/// The circuit with everything that switches held where it is in the on-time.
fn held(solver: &mut Solver, state: &State) -> Option<Solution> {
    solver.hold(state).ok().map(|held| held.solution)
}

/// What pulses do to a signal; `solutions` are those of the on-time, the off-time, and the mean at the least duty.
fn effect(context: &Context, id: SignalId, solutions: [&Solution; 3]) -> Option<Effect> {
    let (model, assembly) = (context.model, &context.solved.assembly);
    // By the voltages: what switches is held as the on-time has it.
    let volts = |plus: PinId, minus: PinId| {
        solutions.map(|solution| assembly.volts(solution, plus) - assembly.volts(solution, minus))
    };
    match &model.signals[id.0].kind {
        SignalKind::Relay { coils, .. } => coils.iter().find_map(|coil| {
            let ElementKind::Coil(coil) = &model.element(*coil).kind else { return None };
            let [on, off, mean] = volts(coil.feed, coil.ground).map(Volts::abs);
            let pulsed = on - off > model.limits.sneak_voltage;
            (pulsed && on >= coil.pull_in && mean < coil.pull_in).then_some(Effect::Weak { mean, needs: coil.pull_in })
        }),
        SignalKind::Sense { pin, ground, on_above, .. } => {
            let [on, off, _] = volts(*pin, *ground);
            let blinks = on >= *on_above && off < *on_above;
            (blinks && !is_held(model, id)).then_some(Effect::Blinks { on, off, needs: *on_above })
        }
        SignalKind::Working { feed, ground, least } => {
            let [on, off, _] = volts(*feed, *ground);
            (on >= *least && off < *least && minds(model, id)).then_some(Effect::Starts { off, needs: *least })
        }
        SignalKind::Timer { .. } => None,
    }
}

/// Whether nothing asks for a trigger but what holds it over the off-time.
fn is_held(model: &Model, id: SignalId) -> bool {
    let asks = |signal: &&crate::model::Signal| match &signal.kind {
        SignalKind::Timer { from, .. } => {
            let mut asks = false;
            from.leaves(&mut |leaf| asks |= matches!(leaf, Logic::Signal(signal) if *signal == id));
            asks
        }
        _ => false,
    };
    let mut asking = model.signals.iter().filter(asks).peekable();
    asking.peek().is_some()
        && asking.all(|signal| matches!(&signal.kind, SignalKind::Timer { kind: TimerKind::Hold, .. }))
}

/// Whether what works from a voltage starts anew with each pulse; lamps and heaters only dim.
fn minds(model: &Model, id: SignalId) -> bool {
    model.elements.iter().any(|element| match &element.kind {
        ElementKind::Load(load) => {
            load.working == id && matches!(load.kind, LoadKind::Electronic | LoadKind::ConstantPower)
        }
        ElementKind::Converter { working, .. } => *working == id,
        _ => false,
    })
}

fn finding(context: &Context, id: SignalId, shown: &Shown) -> Finding {
    let model = context.model;
    let signal = &model.signals[id.0];
    let moment = Moment { state: shown.solution.state.clone(), corner: shown.solution.corner };
    let state = context.state_words(&moment);
    let [low, high] = [shown.duty.low, shown.duty.high].map(|share| fixed(share.value() * 100.0, 1));
    let pulses = format!("pulses that are on for {low} to {high} % of the time");
    let part = model.part(signal.part);
    let (message, place, hint) = match &shown.effect {
        Effect::Weak { .. } => (
            format!("`{}` doesn't pull in on {pulses}, though the table of states has it in, {state}", signal.name),
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
        Effect::Weak { mean, needs } => finding.limit("mean at least on-time", mean, format!("at least {needs}")),
        Effect::Blinks { on, off, needs } => {
            finding.value("in the on-time", on).limit("in the off-time", off, format!("on from {needs}"))
        }
        Effect::Starts { off, needs } => finding.limit("in the off-time", off, format!("at least {needs}")),
    };
    let way = match &signal.kind {
        SignalKind::Sense { pin, .. } => context.way_to(&shown.solution, *pin),
        SignalKind::Working { feed, .. } => context.way_to(&shown.solution, *feed),
        SignalKind::Relay { .. } => context.way_of_signal(&shown.solution, id),
        SignalKind::Timer { .. } => CurrentPath::default(),
    };
    let (finding, _) = context.shown_at(finding, &moment);
    finding.path(context.waypoints(&shown.solution, &way))
}
