//! Whether a new fuse that holds has ended the trace: the complaint is looked at once more.

use super::belief::is_usual;
use super::evidence::TraceEvidence;
use super::fault::Mending;
use super::group::SuspectGroup;
use super::observable::Observable;
use super::renewed::{fuse_of, since};
use super::seen::{Answered, Observation};
use super::step::{Chosen, Steps};

/// The look at the complaint once more, if a new fuse holds and nobody looked since.
pub(crate) fn to_confirm(steps: &Steps, groups: &[SuspectGroup], evidence: &[TraceEvidence]) -> Option<Chosen> {
    let since = since(steps.observations);
    let complaint = evidence.first().filter(|_| since > 0)?;
    let look = complaint.observation.what.look();
    let is_seen = matches!(look, Observable::Screen(_) | Observable::Works(_));
    let was_seen = steps.observations[since..].iter().any(|one| is_same(one, complaint.observation));
    let is_skipped = steps.skipped.holds_in(look, &complaint.observation.setting.name);
    let can_be_asked = is_seen && !was_seen && !is_skipped && !complaint.observation.now_and_then;
    can_be_asked.then(|| steps.chosen(groups, complaint.setting, look))
}

/// The repair after which it works again: the last step, or a new fuse.
pub(crate) fn repaired(steps: &Steps, evidence: &[TraceEvidence]) -> Option<Mending> {
    match steps.observations.last().map(|one| one.what) {
        Some(Answered::Mended(mending, true)) => Some(mending),
        _ => by_new_fuse(steps, evidence),
    }
}

/// The repair that a new fuse was, if the complaint is gone with it and the blown fuse is the first suspect.
fn by_new_fuse(steps: &Steps, evidence: &[TraceEvidence]) -> Option<Mending> {
    let observations = steps.observations;
    let since = since(observations);
    let fuse = observations.get(since.checked_sub(1)?).and_then(fuse_of)?;
    let repair = Mending::Part(steps.facts.model.element(fuse).part);
    let complaint = observations.first()?;
    let is_gone = match complaint.what {
        Answered::Fuse(blown, true) | Answered::NewFuse(blown, true) => blown == fuse,
        _ => {
            let again = observations[since..].iter().rev().find(|one| is_same(one, complaint))?;
            is_usual(again, steps.dictionary.whole(evidence.first()?.setting))
        }
    };
    let is_first = steps.belief.first().is_some_and(|first| {
        steps.faults[first].repair.is_mended_by(repair) && steps.faults[first].harm.blown.contains(&fuse)
    });
    (is_gone && is_first && !complaint.now_and_then).then_some(repair)
}

fn is_same(one: &Observation, other: &Observation) -> bool {
    one.what.look() == other.what.look() && one.setting.name == other.setting.name
}
