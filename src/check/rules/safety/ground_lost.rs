use crate::braid::Braids;
use crate::breaks::Break;
use crate::lost::{self, Effect, Loss, Shown};
use crate::screens::away;
use crate::{Context, Finding, Finds, Rule, Severity, tables};
use model::{ElementKind, Model, PinId, SignalId, SignalKind};
use quantity::Amps;
use solve::{CurrentPath, Solution};
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "safety/ground-lost",
    severity: Severity::Note,
    explanation: include_str!("ground_lost.md"),
    finds: Finds::InHarness(find),
};

const APART: &str =
    "take the grounds of what is always fed and of what is switched to the ground point on wires of their own";
const SCREEN: &str = "a screen is no ground: give what draws so much a ground point that no picture is on, or part the screen \
                      by a picture isolator in the cable";
const WORKS: &str = "nothing shows this loss but a worse picture: measure this ground itself when one is noisy";

fn find(context: &Context) -> Vec<Finding> {
    let braids = Braids::new(context.model, &context.solved.assembly);
    let (hidden, told): (Vec<_>, Vec<_>) =
        lost::losses(context, braids.as_ref()).into_iter().partition(|(_, loss)| loss.is_hidden());
    let told = told.into_iter().flat_map(|(one, loss)| findings(context, braids.as_ref(), &one, loss));
    told.chain(hidden_losses(context, braids.as_ref(), hidden)).collect()
}

/// Losses of which nothing tells: one finding for all of them, since hardly a harness with cameras is without.
fn hidden_losses(context: &Context, braids: Option<&Braids>, losses: Vec<(Break, Loss)>) -> Option<Finding> {
    let mut losses = losses.into_iter();
    let (first, loss) = losses.next()?;
    let mut finding = finding(context, braids, &first, loss.effects)?;
    for (one, loss) in losses {
        for effect in loss.effects.keys() {
            finding =
                finding.value("also", format!("with {} lost, {}", one.name, words(context, &loss.effects, effect)));
        }
    }
    Some(finding)
}

/// The voltage that moves a relay or a trigger input, and what it takes to.
fn moved_by(context: &Context, finding: Finding, solution: &Solution, id: SignalId) -> Finding {
    let (model, assembly) = (context.model, &context.solved.assembly);
    let across = |[plus, minus]: [PinId; 2]| assembly.volts(solution, plus) - assembly.volts(solution, minus);
    match &model.signals[id.0].kind {
        SignalKind::Sense { pin, ground, on_above, .. } => {
            finding.limit(&model.pin_name(*pin), across([*pin, *ground]), format!("on from {on_above}"))
        }
        SignalKind::Relay { coils, .. } => {
            let coils = coils.iter().filter_map(|id| model.coil(*id));
            let coils = coils.map(|coil| (across([coil.feed, coil.ground]).abs(), coil));
            match coils.max_by(|a, b| a.0.value().total_cmp(&b.0.value())) {
                Some((volts, coil)) => finding.limit("at its coil", volts, format!("pulls in at {}", coil.pull_in)),
                None => finding,
            }
        }
        _ => finding,
    }
}

fn findings(context: &Context, braids: Option<&Braids>, one: &Break, loss: Loss) -> Vec<Finding> {
    let unsolved = (loss.unsolved > 0).then(|| {
        let states = if loss.unsolved == 1 { "1 state".to_string() } else { format!("{} states", loss.unsolved) };
        RULE.finding(one.place, format!("with {} lost, {states} could not be solved and so not checked", one.name))
            .about(one.about.as_str())
            .label("if this is lost")
            .hint("look at what this ground carries by hand, or give it a second wire")
    });
    finding(context, braids, one, loss.effects).into_iter().chain(unsolved).collect()
}

/// Whether an effect is worth a warning.
fn warns(model: &Model, effect: &Effect) -> bool {
    match effect {
        Effect::Comes(signal) => matches!(model.signals[signal.0].kind, SignalKind::Relay { .. }),
        Effect::Backwards(_) | Effect::Works(_) => false,
        Effect::Chatters(_) | Effect::Screen(_) => true,
    }
}

/// What an effect is, in words.
fn words(context: &Context, effects: &BTreeMap<Effect, Shown>, effect: &Effect) -> String {
    let model = context.model;
    match effect {
        Effect::Comes(signal) => {
            let signal = &model.signals[signal.0];
            let comes = if matches!(signal.kind, SignalKind::Relay { .. }) { "pulls in" } else { "comes on" };
            format!("`{}` {comes}", signal.name)
        }
        Effect::Backwards(id) => format!("`{}` is fed backwards", model.part(model.element(*id).part).name),
        Effect::Chatters(id) => {
            format!("{} without end", context.swings(&context.signals_of(&[*id])))
        }
        Effect::Screen(wire) => {
            let amps = effects.get(effect).and_then(|shown| shown.screen).map_or(Amps::default(), |screen| screen.amps);
            format!("the screen of {} carries {amps}", context.wire_words(*wire))
        }
        Effect::Works(wire) => {
            format!("all that hangs on it goes on working, over the screen of {}", context.wire_words(*wire))
        }
    }
}

fn finding(
    context: &Context,
    braids: Option<&Braids>,
    one: &Break,
    effects: BTreeMap<Effect, Shown>,
) -> Option<Finding> {
    let model = context.model;
    let words = |effect: &Effect| words(context, &effects, effect);
    // The gravest leads; of several, the one in the simplest state.
    let weight = |(effect, shown): &(&Effect, &Shown)| (!warns(model, effect), away(&shown.solution), **effect);
    let mut in_order: Vec<(&Effect, &Shown)> = effects.iter().collect();
    in_order.sort_by_key(weight);
    let (effect, shown) = *in_order.first()?;
    let state = context.state_words(&shown.moment);
    let more = match effects.len() - 1 {
        0 => String::new(),
        more => format!(", and {more} more"),
    };
    let mut finding = RULE
        .finding(one.place, format!("with {} lost, {} {state}{more}", one.name, words(effect)))
        .about(one.about.as_str())
        .label("if this is lost")
        .hint(match effect {
            Effect::Screen(_) => SCREEN,
            Effect::Works(_) => WORKS,
            _ => APART,
        });
    if warns(model, effect) {
        finding.severity = Severity::Warning;
    }
    for (effect, shown) in &in_order[1..] {
        finding = finding.value("also", format!("{} {}", words(effect), context.state_words(&shown.moment)));
    }
    let (parts, _) = context.solved.exploration.parts();
    // Screens are looked at in states of the whole.
    let in_parts = |effect: &Effect| !matches!(effect, Effect::Screen(_) | Effect::Works(_));
    if parts > 1 && effects.keys().any(in_parts) {
        let how = format!(
            "each of the {parts} parts that it is solved in at its own worst state: every state of one, the others at \
             their least and at their greatest draw"
        );
        finding = finding.value("tried", how);
    }
    let finding = match effect {
        Effect::Comes(signal) => moved_by(context, finding, &shown.solution, *signal),
        Effect::Backwards(_) => finding.limit("backwards", shown.amps, model.limits.sneak_current),
        _ => finding,
    };
    let finding = finding.shown_in(context.state_name(&shown.solution.state), shown.moment.corner);
    if let Some((braids, screen)) = braids.zip(shown.screen) {
        let finding = finding.limit("through the screen", screen.amps, tables::screen_carries());
        return Some(finding.path(braids.way(context, &shown.solution, &screen)));
    }
    let way = match effect {
        Effect::Comes(signal) => context.way_of_signal(&shown.solution, *signal),
        Effect::Backwards(id) => match &model.element(*id).kind {
            ElementKind::Load(load) => context.way_through(&shown.solution, *id, load.ground, load.feed),
            ElementKind::Coil(coil) => context.way_through(&shown.solution, *id, coil.ground, coil.feed),
            _ => CurrentPath::default(),
        },
        Effect::Chatters(actor) => {
            let signals = || (0..model.signals.len()).map(SignalId);
            let signal = signals().find(|id| context.solved.assembly.actor(*id) == Some(*actor));
            signal.map_or_else(CurrentPath::default, |id| context.way_of_signal(&shown.solution, id))
        }
        Effect::Screen(_) | Effect::Works(_) => CurrentPath::default(),
    };
    Some(finding.path(context.waypoints(&shown.solution, &way)))
}
