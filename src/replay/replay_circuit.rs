//! The harness ready for replay: its circuit, solved with every contact held. Each such moment is solved once and kept.
//! An hour of flashing repeats a few moments, and each then costs a look-up.

use super::plan::{Plan, plan};
use circuit::{ActorRule, Corner, Known, Logic, State, Variant};
use engine::Solver;
use model::{PartId, ScreenId};
use states::{Picture, Wiring, read_screen};
use std::collections::BTreeMap;

/// A harness ready for replay. Use it for many drives: moments that they share are solved once.
pub struct ReplayCircuit<'r> {
    /// The harness.
    pub wiring: &'r Wiring<'r>,
    /// The parts of it that take time.
    pub plan: Plan,
    levels: Vec<Level>,
    /// One solver for each corner, which takes the variant of the level that is asked for.
    solvers: Vec<(Corner, Solver<'r>)>,
}

/// One of the supply's levels, by its place in the replayed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct LevelId(usize);

/// The circuit, or a variant of it, at one corner.
struct Level {
    variant: Variant,
    corner: Corner,
    known: Known,
    /// By number of `known`: the moment, or why it can't be solved.
    moments: Vec<Result<usize, String>>,
    /// Moments, each with its state.
    stills: Vec<(State, Still)>,
    /// Whether a moment is the same at another level.
    alike: BTreeMap<(LevelId, usize), bool>,
}

/// What a timeline needs of the circuit at one moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Still {
    /// By actor.
    pub actors: Vec<Facts>,
    /// By starter of the plan: whether it has its supply.
    pub powered: Vec<bool>,
    /// By screen.
    pub screens: Vec<Sight>,
}

/// What an actor's rule asks for at one moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Facts {
    /// The position that a threshold actor moves to.
    pub wants: bool,
    /// Whether its start, or what sets it, holds.
    pub start: bool,
    /// Whether what resets it holds.
    pub reset: bool,
    /// Whether it has what it needs to be on or to remember.
    pub powered: bool,
}

/// A screen at one moment: what its rule picks, and the pictures that have an open video path to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Sight {
    pub powered: bool,
    pub rule: Option<usize>,
    /// Source and video path, by index in [`Wiring::pictures`].
    pub open: Vec<(PartId, usize)>,
    /// The lines that it picks in turn, if pulses make it change between them.
    pub flickers: Option<Picture>,
}

impl<'r> ReplayCircuit<'r> {
    /// Looks up what takes time; nothing is solved yet.
    pub fn new(wiring: &'r Wiring<'r>) -> ReplayCircuit<'r> {
        ReplayCircuit { wiring, plan: plan(wiring), levels: vec![], solvers: vec![] }
    }

    /// The harness at a corner.
    pub(super) fn level(&mut self, corner: Corner) -> LevelId {
        self.level_of(&Variant::NONE, corner)
    }

    /// A variant of the harness at a corner.
    pub(super) fn level_of(&mut self, variant: &Variant, corner: Corner) -> LevelId {
        let same = |level: &Level| level.variant == *variant && level.corner == corner;
        LevelId(self.levels.iter().position(same).unwrap_or_else(|| {
            let variant = variant.clone();
            let (known, alike) = (Known::default(), BTreeMap::new());
            self.levels.push(Level { variant, corner, known, moments: vec![], stills: vec![], alike });
            self.levels.len() - 1
        }))
    }

    /// The solver of a level.
    fn solver(&mut self, level: LevelId) -> &mut Solver<'r> {
        let Level { variant, corner, .. } = &self.levels[level.0];
        let at = self.solvers.iter().position(|(there, _)| there == corner).unwrap_or_else(|| {
            self.solvers.push((*corner, Solver::new(&self.wiring.assembly.circuit, *corner)));
            self.solvers.len() - 1
        });
        let solver = &mut self.solvers[at].1;
        solver.set_variant(variant);
        solver
    }

    /// The index of a state's moment; solves it if it is new.
    ///
    /// # Errors
    /// When it can't be solved: in words.
    pub(super) fn still(&mut self, level: LevelId, state: &State) -> Result<usize, String> {
        let (number, new) = self.levels[level.0].known.meet(state);
        if new {
            let made = self.solve(level, state);
            let Level { moments, stills, .. } = &mut self.levels[level.0];
            moments.push(made.map(|made| {
                stills.push((state.clone(), made));
                stills.len() - 1
            }));
        }
        self.levels[level.0].moments[number].clone()
    }

    pub(super) fn get(&self, level: LevelId, still: usize) -> &Still {
        &self.levels[level.0].stills[still].1
    }

    /// Whether the moments of one level are the same at another: every actor moves the same way there.
    pub(super) fn same(&mut self, moments: &[usize], here: LevelId, there: LevelId) -> bool {
        moments.iter().all(|still| {
            let key = (there, *still);
            let known = self.levels[here.0].alike.get(&key).copied();
            known.unwrap_or_else(|| {
                let state = self.levels[here.0].stills[*still].0.clone();
                let other = self.still(there, &state);
                let alike = other.is_ok_and(|other| self.get(here, *still) == self.get(there, other));
                self.levels[here.0].alike.insert(key, alike);
                alike
            })
        })
    }

    fn solve(&mut self, level: LevelId, state: &State) -> Result<Still, String> {
        let circuit = &self.wiring.assembly.circuit;
        let held = self.solver(level).hold(state).map_err(|unsolved| unsolved.why)?;
        let turns = held.solution.in_turn();
        // A pulse is enough to start or to set; what has to last must hold between pulses as well.
        let comes = |logic: &Logic| turns.iter().any(|state| state.holds(logic));
        let lasts = |logic: &Logic| turns.iter().all(|state| state.holds(logic));
        let actors = circuit.actors.iter().enumerate().map(|(i, actor)| {
            let (start, reset) = match &actor.rule {
                ActorRule::Threshold { .. } => (false, false),
                ActorRule::Latch { set, reset } => (comes(set), comes(reset)),
                ActorRule::Toggle { start } | ActorRule::Hold { start } | ActorRule::Pulse { start } => {
                    (comes(start), false)
                }
                ActorRule::Delay { start } => (lasts(start), false),
            };
            let wants = held.wants.on(circuit::ActorId(i as u32));
            Facts { wants, start, reset, powered: state.holds(&actor.powered) }
        });
        let wiring = self.wiring;
        let screens = (0..wiring.model.screens.len()).map(|i| {
            let reading = read_screen(wiring, &held.solution, ScreenId(i));
            Sight {
                powered: reading.picture != Picture::Dark,
                rule: reading.rule,
                open: reading.arrivals.iter().map(|a| (a.source, a.way)).collect(),
                flickers: Some(reading.picture).filter(|picture| matches!(picture, Picture::Flickers(_))),
            }
        });
        Ok(Still {
            actors: actors.collect(),
            powered: self.plan.starters.iter().map(|s| state.holds(&s.powered)).collect(),
            screens: screens.collect(),
        })
    }
}
