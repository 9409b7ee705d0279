//! Change-over contacts in transfer: for some milliseconds they touch neither side. What a screen is fed in that time.

use super::asker::{Asker, Case, Put, Start};
use super::race::RaceEffect;
use crate::Row;
use crate::display::Displayed;
use crate::machine::{Deed, Machine};
use crate::setting::Setting;
use crate::time::Time;
use crate::timeline::Stage;
use circuit::{ActorId, BranchId, Corner, Variant};
use model::{ElementId, ElementKind, Model, PartId, PinId, ScreenId, SignalId};
use states::Solved;

/// A relay that moves within this time after a move is moved by it.
const WINDOW: Time = Time::milliseconds(150);

/// Time for which the consequences are followed.
const LOOKS: Time = Time::milliseconds(15_000);

/// What the open time of a change-over contact does to a screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// The screen.
    pub screen: ScreenId,
    /// The relay, by name.
    pub relay: String,
    /// The state before, in words.
    pub state: String,
    /// The move, in words.
    pub step: String,
    /// For how long the contact is open.
    pub open: Time,
    /// What the wiring asks the screen to show in that time.
    pub gets: Displayed,
    /// What the wiring asks for after that.
    pub then: Displayed,
    /// Its effect on the screen.
    pub effect: RaceEffect,
    /// Parts that lose their supply in that time and restart.
    pub restarts: Vec<PartId>,
    /// What happens.
    pub evidence: Vec<Row>,
}

/// A relay with a change-over contact that has wires on both sides.
struct Relay {
    name: String,
    coils: Vec<ActorId>,
    open: Time,
    /// The circuit while its contacts touch neither side.
    variant: Variant,
}

/// Every such relay.
pub(super) struct Relays(Vec<Relay>);

impl Relays {
    pub fn new(solved: &Solved) -> Relays {
        let model = solved.model;
        let relays = (0..model.signals.len()).map(SignalId).filter_map(|id| relay(solved, id));
        Relays(relays.collect())
    }
}

fn relay(solved: &Solved, id: SignalId) -> Option<Relay> {
    let (model, assembly) = (solved.model, &solved.assembly);
    let (mut open, mut branches, mut coils): (Time, Vec<BranchId>, Vec<ActorId>) = (Time::ZERO, vec![], vec![]);
    for (i, element) in model.elements.iter().enumerate() {
        match &element.kind {
            ElementKind::Coil(coil) if coil.relay == id => coils.extend(assembly.coil(ElementId(i))),
            ElementKind::Contact { relay, made: Some(made), rest: Some(rest), transfer, .. }
                if *relay == id && is_wired(model, *made) && is_wired(model, *rest) =>
            {
                open = open.max(Time::of(*transfer));
                branches.extend(assembly.element(ElementId(i)));
            }
            _ => {}
        }
    }
    if open == Time::ZERO || branches.is_empty() || coils.is_empty() {
        return None;
    }
    let variant = Variant::open(branches);
    Some(Relay { name: model.signals[id.0].name.clone(), coils, open, variant })
}

fn is_wired(model: &Model, pin: PinId) -> bool {
    model.wires_on(pin).next().is_some() || model.joints.iter().any(|joint| joint.pins.contains(&pin))
}

pub fn ask<'r>(asker: &mut Asker<'r>, relays: &'r Relays) -> Vec<Gap> {
    let mut all: Vec<(Gap, Machine, Time)> = vec![];
    for screen in (0..asker.solved.model.screens.len()).map(ScreenId) {
        let subject = asker.screen(screen);
        let matters = |relay: &&Relay| relay.coils.iter().any(|coil| subject.concern.actors[coil.index()]);
        let mine: Vec<&'r Relay> = relays.0.iter().filter(matters).collect();
        if mine.is_empty() {
            continue;
        }
        for start in &subject.starts {
            for moved in asker.moves(&subject.concern, start) {
                for found in gaps(asker, screen, &mine, start, moved) {
                    let gap = &found.0;
                    let same = |other: &&mut (Gap, Machine, Time)| {
                        let other = &other.0;
                        (other.screen, &other.relay, &other.then) == (screen, &gap.relay, &gap.then)
                    };
                    match all.iter_mut().find(same) {
                        Some(other) if other.0.effect >= gap.effect => {}
                        Some(other) => *other = found,
                        None => all.push(found),
                    }
                }
            }
        }
    }
    let reported = all.into_iter().map(|(gap, machine, at)| Gap { evidence: asker.evidence(&machine, at), ..gap });
    reported.collect()
}

/// The gaps of one input change: the differences from contacts without a transfer time.
fn gaps<'r>(
    asker: &mut Asker<'r>,
    screen: ScreenId,
    relays: &[&'r Relay],
    start: &Start,
    moved: Put,
) -> Vec<(Gap, Machine, Time)> {
    let until = LOOKS.min(asker.horizon);
    let case = Case { until: WINDOW, ..asker.case(start, &[moved], &Setting::default()) };
    let first = asker.play(&case);
    let arrives = |relay: &&'r Relay| {
        let points = relay.coils.iter().flat_map(|coil| first.record.actors[coil.index()].points.iter());
        points.map(|(at, _)| *at).filter(|at| *at > Time::ZERO && *at <= WINDOW).min()
    };
    let moving: Vec<(&'r Relay, Time)> = relays.iter().filter_map(|relay| Some((*relay, arrives(relay)?))).collect();
    if moving.is_empty() {
        return vec![];
    }
    let plain = asker.play(&Case { until, ..case.clone() });
    let mut all = vec![];
    for (relay, arrives) in moving {
        let leaves = if arrives > relay.open { arrives - relay.open } else { Time::ZERO };
        let (open, back) =
            (asker.replayed.level_of(&relay.variant, Corner::NOMINAL), asker.replayed.level(Corner::NOMINAL));
        let mut script = case.script.clone();
        script.extend([(leaves, Deed::Supply(open)), (arrives, Deed::Supply(back))]);
        let mut machine = asker.play(&Case { script, until, ..case.clone() });
        let words = format!("{} between its contacts", relay.name);
        machine.record.remarks = vec![(leaves, words)];
        let (Some((_, before)), Some(after)) =
            (plain.record.picks[screen.0].points.first(), plain.record.picks[screen.0].points.last())
        else {
            continue;
        };
        let (before, after) = (before.clone(), after.1.clone());
        // Without power a screen shows nothing.
        if [&before, &after].contains(&&Displayed::Dark) {
            continue;
        }
        let gets = machine.record.picks[screen.0].at(leaves).cloned().unwrap_or(Displayed::Dark);
        let Some(effect) = effect([&plain, &machine], screen, &before, &after, relay.open) else { continue };
        let gap = Gap {
            screen,
            relay: relay.name.clone(),
            state: start.name.clone(),
            step: asker.move_words(moved),
            open: relay.open,
            gets,
            then: after,
            effect,
            restarts: restarts(asker, &machine, &plain),
            evidence: vec![],
        };
        all.push((gap, machine, leaves));
    }
    all
}

/// What the gap adds on the display; `None` if nothing visible.
fn effect(
    runs: [&Machine; 2],
    screen: ScreenId,
    before: &Displayed,
    after: &Displayed,
    open: Time,
) -> Option<RaceEffect> {
    let [plain, gap] = runs.map(|run| &run.record.screens[screen.0]);
    let end = runs[0].record.to.max(runs[1].record.to);
    let away = |lane: &crate::Lane<Displayed>| {
        let spans = lane.spans(end).filter(|(_, _, display)| *display != after);
        spans.fold(Time::ZERO, |sum, (from, to, _)| sum + (to - from))
    };
    let more = if away(gap) > away(plain) { away(gap) - away(plain) } else { Time::ZERO };
    let stayed = before == after && away(plain) == Time::ZERO;
    match more {
        Time::ZERO => None,
        more if stayed => Some(RaceEffect::Blinks(more)),
        more if more > open => Some(RaceEffect::Later(more)),
        _ => None,
    }
}

/// The parts that restart because of the gap alone.
fn restarts(asker: &Asker, machine: &Machine, plain: &Machine) -> Vec<PartId> {
    let starts =
        |run: &Machine, i: usize| run.record.parts[i].points.iter().filter(|(_, s)| *s == Stage::Starting).count();
    let starters = asker.replayed.plan.starters.iter().enumerate();
    starters.filter(|(i, _)| starts(machine, *i) > starts(plain, *i)).map(|(_, starter)| starter.part).collect()
}
