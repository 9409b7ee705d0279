//! What the screens show in every state at every corner, where it isn't what it should be.

use super::worst::{Moment, Worst};
use model::{PartId, ScreenId};
use solve::{About, Exploration, Solution};
use states::{Picture, Solved, read_screen};
use std::collections::{BTreeMap, BTreeSet};

/// A fault with a state that proves it.
#[derive(Debug, Clone)]
pub struct Proof {
    /// The simplest state in which it shows, nominal supply before other corners.
    pub moment: Moment,
    /// How many states of that corner show it.
    pub states: usize,
    away: usize,
}

/// Faults of the screens.
#[derive(Debug, Default)]
pub struct ScreenFaults {
    /// A line of the views that something else is shown for: screen, line, what is shown.
    pub differs: BTreeMap<(ScreenId, usize, Picture), Proof>,
    /// Several sources at once on the input that the screen picks.
    pub clashes: BTreeMap<(ScreenId, Vec<PartId>), Proof>,
    /// Lines of the views that count in some state.
    pub reached: BTreeSet<(ScreenId, usize)>,
}

impl ScreenFaults {
    /// Looks at every state of every corner. States that time alone will end are left to the rules about time.
    pub fn new(solved: &Solved, worst: &Worst) -> ScreenFaults {
        let mut faults = ScreenFaults::default();
        for screen in (0..solved.model.screens.len()).map(ScreenId) {
            let mut about = About::default();
            solved.about_screen(screen, &mut about);
            for exploration in std::iter::once(&solved.exploration).chain(worst.explorations()) {
                faults.look(solved, exploration, &about, screen);
            }
        }
        faults
    }

    fn look(&mut self, solved: &Solved, exploration: &Exploration, about: &About, screen: ScreenId) {
        let circuit = &solved.assembly.circuit;
        exploration.visit_about(circuit, about, &mut |solution| {
            let reading = read_screen(solved, solution, screen);
            self.reached.extend(reading.view.map(|view| (screen, view)));
            if !solution.state.pending(circuit).is_empty() {
                return;
            }
            if let Picture::Clash(sources) = &reading.picture {
                note(&mut self.clashes, (screen, sources.clone()), solution);
            }
            if let Some(view) = reading.view.filter(|_| !reading.agrees) {
                note(&mut self.differs, (screen, view, reading.picture), solution);
            }
        });
    }
}

/// How many inputs are away from rest.
pub(super) fn away(solution: &Solution) -> usize {
    solution.state.positions.away()
}

/// Counts a state, and keeps it as proof where it is simpler than the one that is there.
fn note<K: Ord>(all: &mut BTreeMap<K, Proof>, key: K, solution: &Solution) {
    let away = away(solution);
    let moment = || Moment::of(solution);
    let proof = all.entry(key).or_insert_with(|| Proof { moment: moment(), states: 0, away });
    if proof.moment.corner != solution.corner {
        return;
    }
    proof.states += 1;
    if away < proof.away {
        (proof.moment, proof.away) = (moment(), away);
    }
}
