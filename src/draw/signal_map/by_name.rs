//! Origins whose arrows would fill the map: the map names them at the pins instead.

use super::causes::{Cause, Origin};
use crate::connection::PinAt;
use std::collections::{BTreeMap, BTreeSet};

/// An origin that powers more boxes than this, or switches more pins, is named.
const MOST_ARROWS: usize = 4;

/// Arrows, and names in place of arrows.
pub(super) struct ArrowsAndNames {
    pub arrows: Vec<(Cause, PinAt)>,
    /// Each pin with a word and the origin that acts on it.
    pub names: Vec<(PinAt, &'static str, Origin)>,
    /// The origins that are named somewhere.
    pub origins: BTreeSet<Origin>,
}

/// The one thing that switches, where there is only one and it does so by going on.
fn sole(causes: &BTreeSet<Cause>) -> Option<Origin> {
    match causes.iter().collect::<Vec<_>>()[..] {
        [&(origin, false)] => Some(origin),
        _ => None,
    }
}

impl ArrowsAndNames {
    /// From pins with their causes, some of them for power. `box_of` gives the box of each origin.
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
            // A box that holds itself on is not named at its own pin.
            if box_of.get(origin) != Some(&to.part) {
                names.push((*to, word, *origin));
            }
        }
        let arrows = left.into_iter().filter(|((origin, _), ..)| !named.contains(origin));
        let arrows = arrows.map(|(cause, to, _)| (cause, to)).collect();
        Self { arrows, names, origins: common.union(&named).copied().collect() }
    }
}

/// Origins with more arrows than a map can show clearly.
fn many(origins: impl Iterator<Item = Origin>) -> BTreeSet<Origin> {
    let mut counts: BTreeMap<Origin, usize> = BTreeMap::new();
    origins.for_each(|origin| *counts.entry(origin).or_default() += 1);
    counts.into_iter().filter(|(_, count)| *count > MOST_ARROWS).map(|(origin, _)| origin).collect()
}
