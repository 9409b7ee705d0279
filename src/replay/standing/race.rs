//! Relays that move together: what a screen shows while one has moved and another hasn't.

use super::asker::{Asker, Case, Put, Start};
use crate::Row;
use crate::display::Displayed;
use crate::machine::Machine;
use crate::plan::ActorKind;
use crate::setting::Setting;
use crate::time::Time;
use circuit::ActorId;
use model::ScreenId;

/// A relay that moves within this time after a move is moved by it; longer than any three relays in turn.
const WINDOW: Time = Time::milliseconds(150);

/// Contacts of two relays that overlap, or leave a gap.
#[derive(Debug, Clone, PartialEq)]
pub struct Race {
    /// The screen.
    pub screen: ScreenId,
    /// The relays whose contacts begin and end it, by name; one where an input begins it.
    pub relays: Vec<String>,
    /// The state before, in words.
    pub state: String,
    /// The move, in words.
    pub step: String,
    /// What the wiring asks for briefly.
    pub gets: Displayed,
    /// What the wiring asks for after that.
    pub then: Displayed,
    /// Longest time.
    pub lasts: Time,
    /// Its effect on the screen, which shows nothing before its switch-over time is over.
    pub effect: RaceEffect,
    /// What happens.
    pub evidence: Vec<Row>,
}

/// The effect of a race on a screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RaceEffect {
    /// Nothing.
    None,
    /// A picture that should stay is away for this time.
    Blinks(Time),
    /// The brief picture is visible for this time.
    Shows(Time),
    /// The picture after that comes later by this time.
    Later(Time),
}

/// The case to play to see a race.
struct Found {
    race: Race,
    case: Case,
    from: Time,
}

pub fn ask(asker: &mut Asker) -> Vec<Race> {
    let mut all: Vec<Found> = vec![];
    for screen in (0..asker.solved.model.screens.len()).map(ScreenId) {
        let subject = asker.screen(screen);
        let mine = |id: &ActorId| {
            subject.concern.actors[id.index()]
                && matches!(asker.replayed.plan.actors[id.index()].kind, ActorKind::Coil { .. })
        };
        let coils: Vec<ActorId> = (0..asker.replayed.plan.actors.len() as u32).map(ActorId).filter(mine).collect();
        if coils.len() < 2 {
            continue;
        }
        for start in &subject.starts {
            for moved in asker.moves(&subject.concern, start) {
                for found in races(asker, screen, &coils, start, moved) {
                    let race = &found.race;
                    let same = |other: &&mut Found| {
                        (other.race.screen, &other.race.gets, &other.race.then) == (screen, &race.gets, &race.then)
                    };
                    match all.iter_mut().find(same) {
                        Some(other) if (other.race.effect, other.race.lasts) >= (race.effect, race.lasts) => {}
                        Some(other) => *other = found,
                        None => all.push(found),
                    }
                }
            }
        }
    }
    let mut reported = vec![];
    for Found { mut race, case, from } in all {
        let machine = asker.play(&case);
        race.evidence = asker.evidence(&machine, from);
        reported.push(race);
    }
    reported
}

/// The races of one move, with each relay quick in turn, and each slow in turn.
fn races(asker: &mut Asker, screen: ScreenId, coils: &[ActorId], start: &Start, moved: Put) -> Vec<Found> {
    let case = Case { until: WINDOW * 10, ..asker.case(start, &[moved], &Setting::default()) };
    let plain = asker.play(&case);
    let mut coils = coils.to_vec();
    coils.retain(|id| plain.record.actors[id.index()].points.iter().any(|(at, _)| *at > Time::ZERO && *at <= WINDOW));
    if coils.len() < 2 {
        return vec![];
    }
    let mut quick: Vec<Vec<ActorId>> = coils.iter().map(|id| vec![*id]).collect();
    if coils.len() > 2 {
        quick.extend(coils.iter().map(|slow| coils.iter().copied().filter(|id| id != slow).collect()));
    }
    let mut all = blips(asker, screen, start, moved, &coils, &case, &plain);
    for quick in quick {
        let case = Case { quick, ..case.clone() };
        let machine = asker.play(&case);
        all.extend(blips(asker, screen, start, moved, &coils, &case, &machine));
    }
    all
}

/// What the wiring asks for briefly, and neither before nor after.
fn blips(
    asker: &Asker,
    screen: ScreenId,
    start: &Start,
    moved: Put,
    coils: &[ActorId],
    case: &Case,
    machine: &Machine,
) -> Vec<Found> {
    let record = &machine.record;
    let lane = &record.picks[screen.0];
    let (Some((_, before)), Some(after)) = (lane.points.first(), lane.at(WINDOW)) else { return vec![] };
    // Without power a screen shows nothing.
    if [before, after].contains(&&Displayed::Dark) {
        return vec![];
    }
    let moves_at = |at: Time| {
        let circuit = &asker.solved.assembly.circuit;
        let moves = |id: &&ActorId| record.actors[id.index()].points.iter().any(|(when, _)| *when == at);
        coils.iter().filter(moves).map(|id| circuit.actors[id.index()].name.clone()).collect::<Vec<String>>()
    };
    // A race ends with a contact. Anything else is a start-up.
    let short = lane.spans(record.to).filter(|(from, to, pick)| {
        to > from && *to <= WINDOW && *pick != before && *pick != after && !moves_at(*to).is_empty()
    });
    let found = short.map(|(from, to, pick)| {
        let mut relays = moves_at(from);
        relays.extend(moves_at(to));
        relays.sort();
        relays.dedup();
        let race = Race {
            screen,
            relays,
            state: start.name.clone(),
            step: asker.move_words(moved),
            gets: pick.clone(),
            then: after.clone(),
            lasts: to - from,
            effect: effect(machine, screen, before, pick, after),
            evidence: vec![],
        };
        Found { race, case: case.clone(), from }
    });
    found.collect()
}

/// The effect on the screen.
fn effect(machine: &Machine, screen: ScreenId, before: &Displayed, gets: &Displayed, after: &Displayed) -> RaceEffect {
    let record = &machine.record;
    let spans = || record.screens[screen.0].spans(record.to).filter(|(from, to, _)| to > from);
    let on_display = |wanted: &dyn Fn(&Displayed) -> bool| {
        spans().filter(|(_, _, display)| wanted(display)).fold(Time::ZERO, |sum, (from, to, _)| sum + (to - from))
    };
    let shown = on_display(&|display| display == gets);
    let away = on_display(&|display| display != after);
    if shown > Time::ZERO {
        RaceEffect::Shows(shown)
    } else if before == after && away > Time::ZERO {
        RaceEffect::Blinks(away)
    } else {
        RaceEffect::None
    }
}
