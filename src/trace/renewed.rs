//! New fuses in place of blown ones. Once a new fuse holds, the circuit that is read has a whole fuse: what was read before is
//! judged with the old one, what is read later with the new one.

use super::fault::Harm;
use super::observable::Observable;
use super::seen::{Answered, Observation};
use model::ElementId;

/// The fuse that an answer says was replaced and holds.
pub(crate) fn fuse_of(observation: &Observation) -> Option<ElementId> {
    match observation.what {
        Answered::NewFuse(fuse, false) => Some(fuse),
        _ => None,
    }
}

/// The place of the first observation after the last new fuse that holds; 0 where none was put in.
pub(crate) fn since(observations: &[Observation]) -> usize {
    observations.iter().rposition(|one| fuse_of(one).is_some()).map_or(0, |at| at + 1)
}

/// Whether a new fuse mends a fault: the old fuse had blown, and nothing blows the new one.
pub(crate) fn mends(harm: &Harm, fuses: &[ElementId]) -> bool {
    harm.blown.iter().any(|fuse| fuses.contains(fuse) && !harm.blows_again(*fuse))
}

/// Whether an observation asks about the fuse that is no longer there.
pub(crate) fn is_of_old_fuse(look: Observable, observations: &[Observation]) -> bool {
    match look {
        Observable::Fuse(fuse) | Observable::NewFuse(fuse) => observations.iter().any(|one| fuse_of(one) == Some(fuse)),
        _ => false,
    }
}
