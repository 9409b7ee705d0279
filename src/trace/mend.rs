//! A repair as a step: mend what is most probable, and see whether it works now.
//!
//! The repair is needed anyway if the suspect is the right one, so its minutes count only where it is not.

use super::choice::GainOf;
use super::evidence::WRONG_MENDED;
use super::fault::Mending;
use super::group::SuspectGroup;
use super::observable::Observable;
use super::renewed::fuse_of;
use super::seen::Answered;
use super::step::{Chosen, EACH_STEP, LOOK, Steps};
use model::{ElementId, ElementKind, Model, PartKind};

/// From this probability on, a repair is compared with further measurements.
const WORTH: f64 = 0.85;

/// Minutes of a repair (typical: common practice, no source).
const MEND_FUSE: f64 = 2.0;
const MEND_GROUND: f64 = 8.0;
const MEND_PLUGS: f64 = 8.0;
const MEND_PART: f64 = 10.0;
const MEND_FORMAT: f64 = 4.0;
const MEND_WIRE: f64 = 15.0;

/// The repair in place of a measurement, where it brings more for its minutes or nothing else is left.
pub(crate) fn or_mend(steps: &Steps, groups: &[SuspectGroup], chosen: Option<Chosen>) -> Option<Chosen> {
    let Some((mending, probability)) = most_probable(steps, groups) else { return chosen };
    let is_wrong = 1.0 - probability;
    let minutes = minutes(steps.facts.model, mending);
    let gain = GainOf { probability, wrong: WRONG_MENDED }.bits();
    let rate = gain / (LOOK + EACH_STEP + is_wrong * minutes);
    let is_better = |other: &Chosen| probability >= WORTH && rate > other.gain / (other.minutes + EACH_STEP);
    match chosen {
        Some(other) if !is_better(&other) => Some(other),
        _ => Some(Chosen { at: 0, look: Observable::Mended(mending), minutes: LOOK + minutes, gain }),
    }
}

/// A look at the part where wires or plugs are exchanged, if the first suspect is such an exchange and it was not seen yet: what
/// can be seen is certain only when it is.
pub(crate) fn to_see(steps: &Steps, groups: &[SuspectGroup]) -> Option<Chosen> {
    let group = groups.first()?;
    let first = group.faults().max_by(|a, b| steps.belief.of_fault(*a).total_cmp(&steps.belief.of_fault(*b)))?;
    let part = steps.faults[first].harm.exchanged?;
    let was_seen = steps.observations.iter().any(|one| matches!(one.what, Answered::Plug(seen, _) if seen == part));
    let look = Observable::Plug(part);
    (!was_seen && !steps.skipped.holds_in(look, "")).then(|| steps.chosen(groups, 0, look))
}

/// Whether the repair that mends the first suspect was tried in vain.
pub(crate) fn was_in_vain(steps: &Steps, groups: &[SuspectGroup]) -> bool {
    let repairs = groups.first().into_iter().flat_map(SuspectGroup::faults).map(|fault| steps.faults[fault].repair);
    let in_vain = |repair: Mending| {
        let is_it = |one: &Answered| matches!(one, Answered::Mended(tried, false) if repair.is_mended_by(*tried));
        steps.observations.iter().any(|one| is_it(&one.what))
    };
    let mut repairs = repairs.peekable();
    repairs.peek().is_some() && repairs.all(in_vain)
}

/// What mends most of the suspects and was not mended yet, with its probability.
fn most_probable(steps: &Steps, groups: &[SuspectGroup]) -> Option<(Mending, f64)> {
    let was_tried = |mending: Mending| {
        steps
            .observations
            .iter()
            .any(|one| matches!(one.what, Answered::Mended(tried, _) if mending.is_mended_by(tried)))
            || steps.observations.iter().filter_map(fuse_of).any(|fuse| mending == new_fuse(steps, fuse))
    };
    let mut all: Vec<(Mending, f64)> = Vec::new();
    for fault in groups.iter().flat_map(SuspectGroup::faults) {
        let (mending, more) = (steps.faults[fault].repair, steps.belief.of_fault(fault));
        match all.iter_mut().find(|(known, _)| known.is_mended_by(mending)) {
            Some((_, sum)) => *sum += more,
            None => all.push((mending, more)),
        }
    }
    all.retain(|(mending, _)| !was_tried(*mending));
    all.into_iter().reduce(|best, one| if one.1 > best.1 { one } else { best })
}

/// The repair that a new fuse is.
fn new_fuse(steps: &Steps, fuse: ElementId) -> Mending {
    Mending::Part(steps.facts.model.element(fuse).part)
}

fn minutes(model: &Model, mending: Mending) -> f64 {
    match mending {
        Mending::Wire(_) | Mending::Wires(..) => MEND_WIRE,
        Mending::Plugs(_) => MEND_PLUGS,
        Mending::Format(_) => MEND_FORMAT,
        Mending::Part(part) if model.part(part).kind == PartKind::Ground => MEND_GROUND,
        Mending::Part(part) => {
            let mut elements = model.part(part).elements.iter();
            let is_fuse = elements.any(|id| matches!(model.element(*id).kind, ElementKind::Fuse { .. }));
            if is_fuse { MEND_FUSE } else { MEND_PART }
        }
    }
}
