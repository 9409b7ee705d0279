//! What a map names in place of an arrow: an origin whose arrows would fill the map.

use super::causes::{Cause, Origin};
use crate::connection::PinAt;
use std::collections::{BTreeMap, BTreeSet};

/// The map names what powers more boxes than this, or switches more pins.
const MOST_ARROWS: usize = 4;

/// Arrows, and what the map names.
pub(super) struct Told {
    pub arrows: Vec<(Cause, PinAt)>,
    /// Each pin with a word and the origin that acts on it.
    pub names: Vec<(PinAt, &'static str, Origin)>,
    /// The origins that have no arrows somewhere.
    pub origins: BTreeSet<Origin>,
}

/// The one thing that switches, where there is only one and it does so by going on.
fn sole(causes: &BTreeSet<Cause>) -> Option<Origin> {
    match causes.iter().collect::<Vec<_>>()[..] {
        [&(origin, false)] => Some(origin),
        _ => None,
    }
}

impl Told {
    /// Of pins with what causes each; some of them are for power. `box_of` is the box that an origin is.
    pub fn of(caused: &[(PinAt, BTreeSet<Cause>)], powers: &BTreeSet<PinAt>, box_of: &BTreeMap<Origin, usize>) -> Self {
        let power = |(to, causes): &&(PinAt, BTreeSet<Cause>)| sole(causes).filter(|_| powers.contains(to));
        let common = many(caused.iter().filter_map(|caused| power(&caused)));
        let by_power = |caused: &(PinAt, BTreeSet<Cause>)| power(&caused).filter(|origin| common.contains(origin));
        let left = caused.iter().filter(|caused| by_power(caused).is_none());
        let left: Vec<(Cause, PinAt, bool)> =
            left.flat_map(|(to, causes)| causes.iter().map(|cause| (*cause, *to, causes.len() == 1))).collect();
        let drawn = left.iter().filter(|((origin, _), to, _)| box_of.get(origin).is_some_and(|own| *own != to.part));
        let named = many(drawn.map(|((origin, _), ..)| *origin));
        let mut names: Vec<(PinAt, &'static str, Origin)> =
            caused.iter().filter_map(|caused| Some((caused.0, "from", by_power(caused)?))).collect();
        for ((origin, off), to, alone) in left.iter().filter(|((origin, _), ..)| named.contains(origin)) {
            let word = match (off, alone) {
                (true, _) => "not",
                (false, true) => "from",
                (false, false) => "with",
            };
            // What holds itself names itself nowhere.
            if box_of.get(origin) != Some(&to.part) {
                names.push((*to, word, *origin));
            }
        }
        let arrows = left.into_iter().filter(|((origin, _), ..)| !named.contains(origin));
        let arrows = arrows.map(|(cause, to, _)| (cause, to)).collect();
        Self { arrows, names, origins: common.union(&named).copied().collect() }
    }
}

/// What comes up more often than arrows can show clearly.
fn many(origins: impl Iterator<Item = Origin>) -> BTreeSet<Origin> {
    let mut counts: BTreeMap<Origin, usize> = BTreeMap::new();
    origins.for_each(|origin| *counts.entry(origin).or_default() += 1);
    counts.into_iter().filter(|(_, count)| *count > MOST_ARROWS).map(|(origin, _)| origin).collect()
}
