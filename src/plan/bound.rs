//! How many relays any logic for a wish needs at least, whatever the arrangement of its pictures and however many inputs.
//!
//! Lemma. Let two combinations differ in one signal alone, let every switch and module that this signal could feed be off in
//! both, and let a trigger have to be live in the first and not in the second. If no net of the signal itself can serve that
//! trigger, a relay's coil is on the signal. Proof: without such a coil, a net other than the signal's own is live in the
//! first only if it is in the second. Each relay has one coil, so there are as many relays as such signals.

use crate::combos::Set;
use crate::logic::LogicPlan;
use crate::signals::OfferedSignal;
use crate::targets::{ScreenWish, Wanted};
use std::collections::BTreeSet;

/// The number of signals that need a coil.
pub fn coils(plan: &LogicPlan, signals: &[OfferedSignal]) -> usize {
    let screens = plan.screens.iter().flat_map(|(screen, ..)| wishes_of(screen));
    let loads = plan.loads.iter().map(|(load, _)| (load.target.on.clone(), load.target.off.clone()));
    let targets: Vec<(Set, Set)> = screens.chain(loads).collect();
    let keys: Vec<u128> = (0..targets.first().map_or(0, |(on, _)| on.len())).map(|combo| key(signals, combo)).collect();
    (0..signals.len()).filter(|s| targets.iter().any(|target| needs_coil(signals, &keys, *s, target))).count()
}

/// For each picture, where it must show, and where the home page must: its trigger is live in the first and not in the
/// second, wherever it is connected.
fn wishes_of(screen: &ScreenWish) -> Vec<(Set, Set)> {
    let set = |what: Wanted| screen.wanted.iter().map(|(wanted, _)| *wanted == what).collect::<Set>();
    (0..screen.pictures.len()).map(|picture| (set(Wanted::Picture(picture)), set(Wanted::Home))).collect()
}

/// The signals of a combination, a bit for each.
fn key(signals: &[OfferedSignal], combo: usize) -> u128 {
    signals.iter().enumerate().filter(|(_, signal)| signal.set[combo]).fold(0, |key, (s, _)| key | 1 << s)
}

fn needs_coil(signals: &[OfferedSignal], keys: &[u128], signal: usize, (on, off): &(Set, Set)) -> bool {
    let own = &signals[signal];
    let can_feed = |other: &OfferedSignal| other.nature.gated && other.nature.rank > own.nature.rank;
    let fed = (0..signals.len()).filter(|s| can_feed(&signals[*s])).fold(0u128, |mask, s| mask | 1 << s);
    let bit = 1u128 << signal;
    // Of a signal that is on in the first, a net of its own serves if it is off wherever it must be, with some feed.
    let feeds = (0..signals.len()).filter(|s| signals[*s].nature.rank < own.nature.rank && own.nature.gated);
    let harms =
        |feed: Option<usize>| (0..keys.len()).any(|c| off[c] && own.set[c] && feed.is_none_or(|f| signals[f].set[c]));
    let unusable = harms(None) && feeds.into_iter().all(|feed| harms(Some(feed)));
    let quiet = |combo: &usize| keys[*combo] & fed == 0;
    let with = |set: &Set, is_on: bool| -> BTreeSet<u128> {
        let combos = (0..keys.len()).filter(|c| set[*c] && (keys[*c] & bit != 0) == is_on);
        combos.filter(quiet).map(|c| keys[c] & !bit).collect()
    };
    let meet = |a: BTreeSet<u128>, b: BTreeSet<u128>| a.intersection(&b).next().is_some();
    meet(with(on, false), with(off, true)) || unusable && meet(with(on, true), with(off, false))
}
