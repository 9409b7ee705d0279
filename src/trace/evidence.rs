//! An answer against what would show: how well the one explains the other, where some answers are wrong.

use super::dictionary::moves;
use super::fault::{Harm, PictureHarm};
use super::measure::MeterValue;
use super::resistance::BySize;
use super::seen::{Answered, Observation, ScreenSeen, WorksSeen};
use super::shown::ShownFault;
use facts::Facts;
use model::ElementId;

/// One answer in ten may be wrong: a wrong pin, a slipped probe, the wrong state.
pub(crate) const WRONG: f64 = 0.1;

/// The complaint, which comes first, is wrong less often.
const WRONG_COMPLAINT: f64 = 0.001;

/// How often the look after a repair misleads: what is moved for a repair may make contact for a while (typical, common
/// practice, no source).
pub(crate) const WRONG_MENDED: f64 = 0.02;

/// How well any fault explains a circuit that does not settle, which may show anything.
pub(crate) const ANYTHING: f64 = 0.25;

/// How well a lamp that glows is described as off.
const HARDLY_GLOWS: f64 = 0.5;

/// An observation with the place of its setting in the dictionary, and what a meter would show with each fault and, last,
/// without one. Empty where nothing was measured.
pub(crate) struct TraceEvidence<'o> {
    pub observation: &'o Observation,
    pub setting: usize,
    pub values: Vec<Option<MeterValue>>,
    /// The same with each size of a resistance.
    pub sized: BySize<MeterValue>,
    /// By fault, whether a new fuse blows in this state; empty for other observations.
    pub blows: Vec<bool>,
    /// Fuses that were replaced before and hold.
    pub new_fuses: Vec<ElementId>,
}

/// How often an answer is wrong. The first is the complaint.
pub(crate) fn wrong_at(at: usize) -> f64 {
    if at == 0 { WRONG_COMPLAINT } else { WRONG }
}

/// How well what would show explains an answer: about 1 for just that, little for anything else. The first
/// answer is the complaint.
pub(crate) fn fit(
    shown: Option<&ShownFault>,
    value: Option<MeterValue>,
    harm: &Harm,
    at: usize,
    observation: &Observation,
    facts: &Facts,
) -> f64 {
    let wrong = wrong_at(at);
    let agrees = match (observation.what, shown) {
        (Answered::Fuse(fuse, is_blown), _) => harm.blown.contains(&fuse) == is_blown,
        (Answered::Input(pin, shows), _) => harm.pictures.contains(&PictureHarm::DeadInput(pin)) != shows,
        (Answered::Plug(part, exchanged), _) => (harm.exchanged == Some(part)) == exchanged,
        (Answered::NewFuse(fuse, blows), _) => harm.blows_again(fuse) == blows,
        (Answered::Cable(wire, seen), _) => harm.cable_seen(wire) == seen,
        (Answered::Wiggle(place, changes), _) => moves(facts, harm, place) == changes,
        // Of two faults, one is left after a repair.
        (Answered::Mended(_, works), _) => return if works { WRONG_MENDED } else { 1.0 - WRONG_MENDED },
        // The dictionary knows them.
        (Answered::Flat | Answered::Drain(_), _) | (_, None) => return ANYTHING,
        (Answered::Screen(screen, ScreenSeen::Disturbed), Some(shown)) if shown.disturbed[screen.0] => true,
        (Answered::Screen(screen, seen), Some(shown)) => shown.screens[screen.0] == seen,
        (Answered::Works(promise, WorksSeen::Off), Some(shown)) if shown.works[promise] == WorksSeen::Glows => {
            return HARDLY_GLOWS;
        }
        (Answered::Works(promise, seen), Some(shown)) => shown.works[promise] == seen,
        (Answered::Meter(_, read), Some(_)) => {
            let Some(expected) = value else { return ANYTHING };
            let fit = read.fit(expected, facts.model.job.nominal);
            return (1.0 - wrong) * fit + wrong * read.slips(facts.model.job.nominal) * (1.0 - fit);
        }
    };
    match (agrees, observation.what) {
        (true, _) => 1.0 - wrong,
        // A wrong answer is one of several.
        (false, Answered::Screen(..) | Answered::Cable(..)) => wrong / 2.0,
        (false, _) => wrong,
    }
}
