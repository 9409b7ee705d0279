//! Which pictures an engine start interrupts: the supply dips and recovers.

use super::asker::{Asker, Case, Start};
use crate::Row;
use crate::machine::Deed;
use crate::setting::Setting;
use crate::time::Time;
use crate::timeline::Stage;
use circuit::{Corner, Variant};
use model::{Model, PartId, ScreenId, Shown};
use quantity::Volts;

/// The supply while a 12 V engine is started, after the starting profile of ISO 16750-2 (level IV) and pulse 4 of ISO
/// 7637-2, both from memory: 6 V as the starter engages, 6.5 V while it turns, then as before. The standards turn the
/// starter for up to 10 s and 20 s; here it is 1 s, since only the recovery matters. In proportion for 24 V.
pub const PROFILE: [(Time, f64); 2] = [(Time::ZERO, 6.0), (Time::milliseconds(65), 6.5)];

/// When the supply has recovered.
pub const OVER: Time = Time::milliseconds(1_065);

/// Length of the timeline in the finding if a picture doesn't come back, counted from the engine start.
const AFTER: Time = Time::milliseconds(2_000);

/// The nominal voltage that the profile is for.
const FOR: f64 = 12.0;

/// What starting the engine does to a picture.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineStart {
    /// The screen.
    pub screen: ScreenId,
    /// What should be shown.
    pub shown: Shown,
    /// The state, in words.
    pub state: String,
    /// From the dip until the picture is back to stay; `None` if it never is.
    pub away: Option<Time>,
    /// Parts that restart.
    pub restarts: Vec<PartId>,
    /// Latches and timers that lose their state, by name.
    pub forgets: Vec<String>,
    /// What happens.
    pub evidence: Vec<Row>,
}

/// The profile for a job's nominal voltage.
fn profile(model: &Model) -> impl Iterator<Item = (Time, Volts)> {
    let share = model.job.nominal.value() / FOR;
    PROFILE.into_iter().map(move |(at, volts)| (at, Volts::new(volts * share)))
}

/// The same in words.
fn remarks(model: &Model) -> Vec<(Time, String)> {
    let dips = profile(model).map(|(at, volts)| (at, format!("supply at {volts}")));
    dips.chain([(OVER, "supply at its usual voltage".to_string())]).collect()
}

pub fn ask(asker: &mut Asker) -> Vec<EngineStart> {
    let model = asker.solved.model;
    let mut script = vec![];
    for (at, volts) in profile(model) {
        let supplied = Variant::supplied(&asker.solved.assembly.circuit, volts);
        script.push((at, Deed::Supply(asker.replayed.level_of(&supplied, Corner::NOMINAL))));
    }
    script.push((OVER, Deed::Supply(asker.replayed.level(Corner::NOMINAL))));
    let mut all = vec![];
    for id in (0..model.screens.len()).map(ScreenId) {
        let subject = asker.screen(id);
        let mut asked: Vec<Shown> = vec![];
        for start in &subject.starts {
            let Some((_, shown)) = asker.wanted(id, &start.state) else { continue };
            // The simplest state of each picture, with the screen showing it: with the key off there is nothing to
            // interrupt.
            let known = asked.contains(&shown) || !matches!(shown, Shown::Source(_));
            if known || asker.flashes(&subject.concern, &start.positions) {
                continue;
            }
            if let Some(answer) = crank(asker, &script, id, shown, start) {
                asked.push(shown);
                all.push(answer);
            }
        }
    }
    all
}

fn crank(asker: &mut Asker, script: &[(Time, Deed)], id: ScreenId, shown: Shown, start: &Start) -> Option<EngineStart> {
    let case =
        Case { script: script.to_vec(), until: OVER + asker.horizon, ..asker.case(start, &[], &Setting::default()) };
    let mut machine = asker.play(&case);
    machine.record.remarks = remarks(asker.solved.model);
    let record = &machine.record;
    let lane = &record.screens[id.0];
    if !lane.points.first().is_some_and(|(_, display)| display.agrees(shown)) {
        return None;
    }
    let back = lane.points.last().filter(|(_, display)| display.agrees(shown)).map(|(at, _)| *at);
    let circuit = &asker.solved.assembly.circuit;
    let forgets = asker.memory().into_iter().filter(|actor| {
        let points = &record.actors[actor.index()].points;
        points.first().is_some_and(|(_, on)| *on) && points.last().is_some_and(|(_, on)| !*on)
    });
    let restarts = (asker.replayed.plan.starters.iter().zip(&record.parts)).filter(|(_, lane)| {
        let was = lane.points.first().is_some_and(|(_, stage)| *stage == Stage::Up);
        was && lane.points.iter().any(|(_, stage)| *stage == Stage::Starting)
    });
    Some(EngineStart {
        screen: id,
        shown,
        state: start.name.clone(),
        away: if lane.points.len() > 1 { back } else { Some(Time::ZERO) },
        restarts: restarts.map(|(starter, _)| starter.part).collect(),
        forgets: forgets.map(|actor| circuit.actors[actor.index()].name.clone()).collect(),
        evidence: asker.evidence_between(&machine, Time::ZERO, back.unwrap_or(OVER + AFTER)),
    })
}
