use crate::evidence::{swings, waypoints};
use crate::{Finding, Finds, Rule, Severity};
use circuit::{CurrentPath, Solution};
use facts::lost_grounds::{Ground, GroundKind, Loss, LossEffect, ShownEffect};
use facts::unsettled::signals_of;
use facts::{Facts, figures};
use form::Place;
use model::{ElementKind, Model, PinId, SignalId, SignalKind};
use quantity::Amps;
use std::collections::BTreeMap;

pub const RULE: Rule = Rule {
    name: "safety/ground-lost",
    severity: Severity::Note,
    explanation: include_str!("ground_lost.md"),
    finds: Finds::InHarness(find),
};

const APART: &str =
    "run the grounds of permanently fed loads and of switched loads to the ground point on separate wires";
const TWO_POINTS: &str = "give permanently fed loads and switched loads a ground point each: separate wires to one point are lost \
                          together with it";
const SHIELD: &str = "a shield is no ground: give large loads a ground point without a camera on it, or put a picture isolator \
                      in the cable";
const WORKS: &str = "the loss stays hidden except for a worse picture: measure this ground when a picture is noisy";

fn find(facts: &Facts) -> Vec<Finding> {
    let (hidden, open): (Vec<_>, Vec<_>) = facts.lost_grounds().all.iter().partition(|(_, loss)| loss.is_hidden());
    let open = open.into_iter().flat_map(|(ground, loss)| findings(facts, ground, loss));
    open.chain(hidden_losses(facts, &hidden)).collect()
}

/// A ground in words.
fn name(facts: &Facts, ground: &Ground) -> String {
    match ground.kind {
        GroundKind::Point(part) => format!("ground point `{}`", facts.model.part(part).name),
        GroundKind::Wire(wire) => facts.names().wire(wire),
    }
}

/// What a finding about a ground is about, and where that stands in the spec.
fn about(facts: &Facts, ground: &Ground) -> (String, Place) {
    match ground.kind {
        GroundKind::Point(part) => (facts.model.part(part).name.to_string(), facts.model.part(part).place),
        GroundKind::Wire(wire) => (facts.names().wire(wire), facts.model.wire(wire).place),
    }
}

/// Losses that stay hidden share one finding, since most harnesses with cameras have some.
fn hidden_losses(facts: &Facts, losses: &[&(Ground, Loss)]) -> Option<Finding> {
    let ((first, loss), others) = losses.split_first()?;
    let mut finding = finding(facts, first, &loss.effects)?.usual();
    for (ground, loss) in others {
        for effect in loss.effects.keys() {
            let also = format!("if {} comes off, {}", name(facts, ground), words(facts, &loss.effects, effect));
            finding = finding.value("also", also);
        }
    }
    Some(finding)
}

/// The voltage that moves a relay or a trigger input, and its threshold.
fn moved_by(facts: &Facts, finding: Finding, solution: &Solution, id: SignalId) -> Finding {
    let (model, assembly) = (facts.model, &facts.solved.assembly);
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

fn findings(facts: &Facts, ground: &Ground, loss: &Loss) -> Vec<Finding> {
    let (about, place) = about(facts, ground);
    let unsolved = (loss.unsolved > 0).then(|| {
        let states = if loss.unsolved == 1 { "1 state".to_string() } else { format!("{} states", loss.unsolved) };
        let lost = name(facts, ground);
        RULE.finding(place, format!("if {lost} comes off, {states} can't be solved or checked"))
            .about(about)
            .label("if this comes off")
            .hint("check by hand what this ground carries, or give it a second wire")
    });
    finding(facts, ground, &loss.effects).into_iter().chain(unsolved).collect()
}

/// Whether an effect is worth a warning.
fn warns(model: &Model, effect: &LossEffect) -> bool {
    match effect {
        LossEffect::Comes(signal) => matches!(model.signals[signal.0].kind, SignalKind::Relay { .. }),
        LossEffect::Backwards(_) | LossEffect::Works(_) => false,
        LossEffect::Chatters(_) | LossEffect::Shield(_) => true,
    }
}

/// What an effect is, in words.
fn words(facts: &Facts, effects: &BTreeMap<LossEffect, ShownEffect>, effect: &LossEffect) -> String {
    let model = facts.model;
    let amps = || effects.get(effect).and_then(|shown| shown.shield).map_or(Amps::default(), |shield| shield.amps);
    match effect {
        LossEffect::Comes(signal) => {
            let signal = &model.signals[signal.0];
            let comes = if matches!(signal.kind, SignalKind::Relay { .. }) { "pulls in" } else { "comes on" };
            format!("`{}` {comes}", signal.name)
        }
        LossEffect::Backwards(id) => format!("`{}` is fed backwards", model.part(model.element(*id).part).name),
        LossEffect::Chatters(id) => {
            format!("{} without end", swings(facts, &signals_of(facts.solved, &[*id])))
        }
        LossEffect::Shield(wire) => {
            let amps = amps();
            format!("the shield of {} carries {amps} (limit {})", facts.names().wire(*wire), figures::shield_carries())
        }
        LossEffect::Works(wire) => {
            let amps = amps();
            format!(
                "its loads keep working through the shield of {} ({amps}, limit {})",
                facts.names().wire(*wire),
                figures::shield_carries()
            )
        }
    }
}

fn finding(facts: &Facts, ground: &Ground, effects: &BTreeMap<LossEffect, ShownEffect>) -> Option<Finding> {
    let model = facts.model;
    let words = |effect: &LossEffect| words(facts, effects, effect);
    // The most severe effect comes first; of several, the one in the simplest state.
    let weight = |(effect, shown): &(&LossEffect, &ShownEffect)| (!warns(model, effect), shown.away(), **effect);
    let mut in_order: Vec<(&LossEffect, &ShownEffect)> = effects.iter().collect();
    in_order.sort_by_key(weight);
    let (effect, shown) = *in_order.first()?;
    let state = facts.names().moment(&shown.moment);
    let first = words(effect);
    let mut others: Vec<String> = Vec::new();
    for (other, _) in &in_order[1..] {
        // A shield that carries too much says enough, and the second winding of a coil adds nothing.
        let is_said = matches!(other, LossEffect::Works(wire) if effects.contains_key(&LossEffect::Shield(*wire)));
        let words = words(other);
        if !is_said && words != first && !others.contains(&words) {
            others.push(words);
        }
    }
    let more = match others.as_slice() {
        [] => String::new(),
        [one] => format!("; also {one}"),
        [one, two] => format!("; also {one} and {two}"),
        [one, more @ ..] => format!("; also {one}, and {} more effects", more.len()),
    };
    let (about, place) = about(facts, ground);
    let mut finding = RULE
        .finding(place, format!("if {} comes off, {first} {state}{more}", name(facts, ground)))
        .about(about)
        .label("if this comes off")
        .hint(match effect {
            LossEffect::Shield(_) => SHIELD,
            // A shield that carried too much before carries too much now.
            LossEffect::Works(_) if shown.shield.is_some_and(|shield| shield.amps > figures::shield_carries()) => {
                SHIELD
            }
            LossEffect::Works(_) => WORKS,
            _ if matches!(ground.kind, GroundKind::Point(_)) => TWO_POINTS,
            _ => APART,
        });
    if warns(model, effect) {
        finding.severity = Severity::Warning;
    }
    for (effect, shown) in &in_order[1..] {
        finding = finding.value("also", format!("{} {}", words(effect), facts.names().moment(&shown.moment)));
    }
    let parts = facts.solved.exploration.zones();
    // Shields are checked in states of the whole circuit.
    let in_parts = |effect: &LossEffect| !matches!(effect, LossEffect::Shield(_) | LossEffect::Works(_));
    if parts > 1 && effects.keys().any(in_parts) {
        let how =
            format!("every state of each of the {parts} zones, with the other zones at their lowest and highest draw");
        finding = finding.value("tried", how);
    }
    let finding = match effect {
        LossEffect::Comes(signal) => moved_by(facts, finding, &shown.solution, *signal),
        LossEffect::Backwards(_) => finding.limit("current backwards", shown.amps, model.limits.sneak_current),
        _ => finding,
    };
    let finding = finding.shown_in(facts.names().state(&shown.solution.state), shown.moment.corner);
    if let Some((shields, carried)) = facts.lost_grounds().shields.as_ref().zip(shown.shield) {
        let finding = finding.limit("through the shield", carried.amps, figures::shield_carries());
        let path = shields.path(facts.paths(), &shown.solution, &carried);
        return Some(finding.path(waypoints(facts, &shown.solution, &path)));
    }
    let way = match effect {
        LossEffect::Comes(signal) => facts.paths().of_signal(&shown.solution, *signal),
        LossEffect::Backwards(id) => match &model.element(*id).kind {
            ElementKind::Load(load) => facts.paths().through(&shown.solution, *id, load.ground, load.feed),
            ElementKind::Coil(coil) => facts.paths().through(&shown.solution, *id, coil.ground, coil.feed),
            _ => CurrentPath::default(),
        },
        LossEffect::Chatters(actor) => {
            let signals = || (0..model.signals.len()).map(SignalId);
            let signal = signals().find(|id| facts.solved.assembly.actor(*id) == Some(*actor));
            signal.map_or_else(CurrentPath::default, |id| facts.paths().of_signal(&shown.solution, id))
        }
        LossEffect::Shield(_) | LossEffect::Works(_) => CurrentPath::default(),
    };
    Some(finding.path(waypoints(facts, &shown.solution, &way)))
}
