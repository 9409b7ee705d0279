//! What the screens show in every state at every corner, where it isn't what it should be.

mod dark;

use super::Explored;
pub use super::moment::Shows;
use super::moment::note;
use circuit::Chatter;
use dark::dark_lines;
use explore::{About, Exploration};
use model::{PartId, ScreenId};
use states::{Picture, Solved, read_screen};
use std::collections::{BTreeMap, BTreeSet};

/// Faults of the screens.
#[derive(Debug, Default)]
pub struct ScreenFaults {
    /// Lines of the views with a wrong picture: screen, line, picture.
    pub differs: BTreeMap<(ScreenId, usize, Picture), Shows>,
    /// Several sources at once on the input that the screen picks.
    pub clashes: BTreeMap<(ScreenId, Vec<PartId>), Shows>,
    /// Lines of the views that count in some state.
    pub reached: BTreeSet<(ScreenId, usize)>,
}

impl ScreenFaults {
    /// Checks every state of every corner. States that end by themselves are left to the rules about time.
    pub(super) fn new(solved: &Solved, explored: &Explored) -> ScreenFaults {
        let mut faults = ScreenFaults::default();
        for screen in (0..solved.model.screens.len()).map(ScreenId) {
            let mut about = About::default();
            solved.about_screen(screen, &mut about);
            for exploration in explored.all() {
                faults.look(solved, exploration, &about, screen);
            }
            for (view, shows) in dark_lines(solved, explored, &about, screen) {
                faults.differs.insert((screen, view, Picture::Dark), shows);
            }
        }
        faults
    }

    /// Whether a screen shows a picture that a line of its views doesn't ask for, in some state.
    pub fn differs_at(&self, screen: ScreenId, view: usize) -> bool {
        self.differs.keys().any(|(other, line, _)| (*other, *line) == (screen, view))
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
        exploration.endless().for_each(|chatter| self.look_at_round(solved, chatter, screen));
    }

    /// A state that never settles. A screen that takes part is left to the finding about what moves it; another one is
    /// judged as in any state.
    fn look_at_round(&mut self, solved: &Solved, chatter: &Chatter, screen: ScreenId) {
        let mut readings = chatter.round.iter().map(|step| (step, read_screen(solved, step, screen)));
        let Some((step, first)) = readings.next() else { return };
        self.reached.extend(first.view.map(|view| (screen, view)));
        let mut takes_part = false;
        for (_, reading) in readings {
            self.reached.extend(reading.view.map(|view| (screen, view)));
            takes_part |= (&reading.picture, reading.view) != (&first.picture, first.view);
        }
        if takes_part || !step.state.pending(&solved.assembly.circuit).is_empty() {
            return;
        }
        if let Picture::Clash(sources) = &first.picture {
            note(&mut self.clashes, (screen, sources.clone()), step);
        }
        if let Some(view) = first.view.filter(|_| !first.agrees) {
            note(&mut self.differs, (screen, view, first.picture), step);
        }
    }
}
