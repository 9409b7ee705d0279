//! Large circuits: explored zone by zone instead of in every combination of all inputs.
//!
//! 1. `cut` and `apart` take out the **trunk**: the linear network of battery, fuses, feeds and chassis, of little resistance.
//!    The rest falls into **zones** that share nothing but the trunk and a few master inputs (the key).
//! 2. `trunk` bounds its voltages: they stay between low and high **levels**, at which the zones draw so much or so little
//!    in every state that the trunk can't be lower or higher (the trunk lemma).
//! 3. `search` explores each zone by itself, its terminals held in the middle between the levels. `falling` bounds its
//!    voltages without solving it again (the falling lemma); where that isn't enough, `ends` solves it at both levels (the
//!    zone lemma). `around` asks whether every relay, trigger input and load decides the same within these bounds. Then the
//!    states of the whole are all combinations of the zones' states.
//! 4. Where a decision is in doubt, the levels are first brought as close as possible. If that isn't enough, the trunk node
//!    that sags most there is taken out of the trunk, which joins the zones behind it into one.
//! 5. If a decision is still in doubt, the circuit is solved as a whole, up to 65,536 combinations. With more, the decision
//!    is taken both ways: all states that can be reached are among those found, and the decisions in doubt are reported.
//! 6. `joint` combines states of zones into states of the whole: those in which a voltage or current is lowest or highest.

mod apart;
mod around;
mod combinations;
mod cut;
mod ends;
mod falling;
mod first;
mod in_doubt;
mod joint;
mod search;
mod trunk;

pub(crate) use apart::Zone;
#[cfg(test)]
pub(crate) use apart::take_apart;
pub(crate) use around::Around;
pub(crate) use cut::{Loosened, TrunkCut};
pub(crate) use ends::{Ends, EndsPlan};
#[cfg(test)]
pub(crate) use falling::FallingLoads;
pub(crate) use search::{Doubts, NoZones, Zoned, explore_zones};
pub(crate) use trunk::Levels;
