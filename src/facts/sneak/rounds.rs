//! Sneak paths in states that never settle: what every step of a round shows is there whatever alternates.

use super::{Found, Key, Probes, SneakPaths};
use circuit::{Chatter, Solution};
use states::Solved;

/// Voltages and currents that differ by at most this many steps of their keys are the same: what alternates moves the supply a little.
const STEPS_APART: i64 = 2;

impl SneakPaths {
    /// Adds a state that never settles.
    pub(super) fn look_at_round(&mut self, solved: &Solved, probes: &Probes, chatter: &Chatter) {
        let of_step = |step: &Solution| {
            let mut found = SneakPaths::default();
            found.look(solved, probes, step);
            found
        };
        let Some(always) = chatter.round.iter().map(of_step).reduce(SneakPaths::both) else { return };
        for (what, found) in always.found {
            let known = self.found.entry(what).or_insert_with(|| found.clone());
            // What shows in a state that settles, or in a simpler one, is shown there.
            if known.moment.corner == found.moment.corner && found.away < known.away {
                *known = Found { most_volts: known.most_volts, most_amps: known.most_amps, ..found };
            }
        }
        for (mine, theirs) in [(&mut self.lifted, always.lifted), (&mut self.taken, always.taken)] {
            for (element, all) in theirs {
                let known = mine.entry(element).or_default();
                all.into_iter().for_each(|(key, lifted)| _ = known.entry(key).or_insert(lifted));
            }
        }
    }

    /// What two steps both show, with the smaller current: the rest of it alternates.
    fn both(mut self, other: SneakPaths) -> SneakPaths {
        self.found.retain(|what, _| other.found.contains_key(what));
        for (what, found) in &other.found {
            if let Some(mine) = self.found.get_mut(what).filter(|mine| found.amps < mine.amps) {
                *mine = found.clone();
            }
        }
        for (mine, theirs) in [(&mut self.lifted, other.lifted), (&mut self.taken, other.taken)] {
            for (element, all) in mine {
                let their = theirs.get(element).into_iter().flatten();
                let is_near = |(corner, step, on, into_dead): Key, other: Key| {
                    (corner, on, into_dead) == (other.0, other.2, other.3) && (step - other.1).abs() <= STEPS_APART
                };
                all.retain(|key, _| their.clone().any(|(other, _)| is_near(*key, *other)));
            }
        }
        self
    }
}
