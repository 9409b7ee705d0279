//! How many relays any logic for a wish needs at least, whatever the arrangement of its pictures and however many inputs.
//!
//! First lemma. Let two combinations differ in one signal alone, which is off in the first and on in the second, let every
//! switch and module that it could feed be off in both, and let a trigger have to be live in the first and not in the
//! second. Then a relay's coil is on the signal. Proof: without such a coil, turning the signal on opens no contact and
//! takes no net its feed, so what is live in the first is live in the second.
//!
//! Second lemma. Let two signals be on in a combination in which a trigger has to be live, let it not be live without the
//! one, nor without the other, and let every switch and module that either could feed be off. Then a coil is on one of
//! them. Proof: a net that is live in the combination has one root. Without a coil on the first signal, it is dead without
//! that signal only if it is its root; the same holds for the second, and a root is one signal only.
//!
//! Each relay has one coil. So there are as many relays as signals of the first lemma, and as a cover of the pairs of the
//! second by further signals has at least.

use crate::combos::Set;
use crate::logic::LogicPlan;
use crate::signals::OfferedSignal;
use crate::targets::{ScreenWish, Wanted};
use std::collections::BTreeSet;

/// The least number of coils.
pub fn coils(plan: &LogicPlan, signals: &[OfferedSignal]) -> usize {
    let screens = plan.screens.iter().flat_map(|(screen, ..)| wishes_of(screen));
    let loads = plan.loads.iter().map(|(load, _)| (load.target.on.clone(), load.target.off.clone()));
    let targets: Vec<(Set, Set)> = screens.chain(loads).collect();
    let keys: Vec<u128> = (0..targets.first().map_or(0, |(on, _)| on.len())).map(|combo| key(signals, combo)).collect();
    let of = |set: &Set| keys.iter().zip(set).filter(|(_, is_in)| **is_in).map(|(key, _)| *key).collect();
    let targets: Vec<(Keys, Keys)> = targets.iter().map(|(on, off)| (of(on), of(off))).collect();
    let fed: Vec<u128> = (0..signals.len()).map(|signal| could_feed(signals, signal)).collect();
    let sure = |signal: usize| targets.iter().any(|(on, off)| opens(on, off, 1 << signal, fed[signal]));
    let (sure, others): (Vec<usize>, Vec<usize>) = (0..signals.len()).partition(|signal| sure(*signal));
    let pairs = others.iter().flat_map(|a| others.iter().filter(move |b| a < b).map(move |b| (*a, *b)));
    let one_of =
        |(a, b): &(usize, usize)| targets.iter().any(|(on, off)| meets(on, off, [1 << *a, 1 << *b], fed[*a] | fed[*b]));
    sure.len() + cover_size(&pairs.filter(one_of).collect::<Vec<_>>())
}

/// Combinations, each as the signals that are on in it, a bit for each.
type Keys = BTreeSet<u128>;

/// The first lemma.
fn opens(on: &Keys, off: &Keys, bit: u128, fed: u128) -> bool {
    on.iter().any(|key| key & (bit | fed) == 0 && off.contains(&(key | bit)))
}

/// The second lemma.
fn meets(on: &Keys, off: &Keys, [a, b]: [u128; 2], fed: u128) -> bool {
    let both = |key: &&u128| *key & (a | b) == a | b && *key & fed == 0;
    on.iter().filter(both).any(|key| off.contains(&(key & !a)) && off.contains(&(key & !b)))
}

/// The least number of signals that hold one of each pair.
fn cover_size(pairs: &[(usize, usize)]) -> usize {
    let Some((a, b)) = pairs.first() else { return 0 };
    // Of many pairs, as many as share no signal.
    let without = |gone: &[usize]| {
        pairs.iter().filter(|(x, y)| !gone.contains(x) && !gone.contains(y)).copied().collect::<Vec<_>>()
    };
    if pairs.len() > MOST_PAIRS {
        return 1 + cover_size(&without(&[*a, *b]));
    }
    1 + cover_size(&without(&[*a])).min(cover_size(&without(&[*b])))
}

/// Most pairs for a least cover; with more, each signal is counted once.
const MOST_PAIRS: usize = 24;

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

/// The switches and modules that a signal could feed.
fn could_feed(signals: &[OfferedSignal], signal: usize) -> u128 {
    let own = &signals[signal].nature;
    let can = |other: &OfferedSignal| other.nature.gated && other.nature.rank > own.rank;
    (0..signals.len()).filter(|s| can(&signals[*s])).fold(0u128, |mask, s| mask | 1 << s)
}

#[cfg(test)]
mod tests {
    use super::{Keys, cover_size, meets, opens};

    #[test]
    fn a_condition_of_two_needs_one_coil_and_its_opposite_too() {
        // Both on: one of the two needs a coil. The first without the second: the second does.
        let (both, others): (Keys, Keys) = ([3].into(), [0, 1, 2].into());
        assert!(meets(&both, &others, [1, 2], 0) && !opens(&both, &others, 1, 0) && !opens(&both, &others, 2, 0));
        assert!(opens(&[1].into(), &[0, 2, 3].into(), 2, 0));
        // What it could feed may do without.
        assert!(!meets(&both, &others, [1, 2], 2));
    }

    #[test]
    fn a_cover_holds_one_of_each_pair() {
        assert_eq!(cover_size(&[]), 0);
        assert_eq!(cover_size(&[(0, 1), (0, 2), (0, 3)]), 1);
        assert_eq!(cover_size(&[(0, 1), (1, 2), (0, 2)]), 2);
    }
}
