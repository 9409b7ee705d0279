//! Every reachable state: what each screen shows and should show, which relays are in, what each
//! fuse carries. In comes the model with its explored circuit; out goes a table that documents and checks read.

mod asked;
mod held;
mod left_out;
mod live;
mod name;
mod picture;
mod reached;
mod walk;

pub use asked::{Asked, NoState, asked};
pub use held::held;
pub use left_out::{left_out, left_out_line};
pub use live::{LIT_FROM, Live, Liveness};
pub use name::{listed, state_name, state_words};
pub use picture::{
    ArrivingPicture, Picture, ScreenReading, alternates_words, alternating, arriving, comes_in, picture_without,
    read_screen, shown_words, takes,
};
pub use reached::Reached;
pub use walk::{MOST_WAITS, Walk, WalkStep};

use circuit::{Assembly, Corner, Reading, Solution, State, assemble};
use engine::Solvers;
use explore::{About, Exploration, Interrupted, Watch, explore_all, unwatched};
use graph::{PicturePath, SignalGraph, picture_paths, signal_graph};
use model::{ElementId, ElementKind, Model, PinId, ScreenId, SignalId, SignalKind, StateCondition, WorksPromise};
use quantity::Amps;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::ops::Deref;
use std::sync::{Arc, OnceLock};

/// Maximum number of rows in a table. If a harness has more, the table says so.
pub const MOST_ROWS: usize = 4096;

/// A harness with its circuit assembled: enough to solve any one moment, before its states are explored.
#[derive(Debug, Clone)]
pub struct Wiring<'m> {
    /// The harness.
    pub model: &'m Model,
    /// Its signal graph.
    pub graph: SignalGraph,
    /// Its circuit.
    pub assembly: Assembly,
    /// For each video pin that a screen can show, the video paths that lead to it.
    pub pictures: BTreeMap<PinId, Vec<PicturePath>>,
    solvers: OnceLock<Arc<Solvers>>,
}

/// A harness with its circuit explored at one corner: what findings, tables and documents read from.
#[derive(Debug, Clone)]
pub struct Solved<'m> {
    wiring: Wiring<'m>,
    /// Every reachable state at the nominal corner.
    pub exploration: Exploration,
    /// The same at other corners, if they were explored together with the nominal one.
    pub others: Vec<Exploration>,
}

impl<'m> Deref for Solved<'m> {
    type Target = Wiring<'m>;
    fn deref(&self) -> &Wiring<'m> {
        &self.wiring
    }
}

/// One state.
#[derive(Debug, Clone)]
pub struct StateRow {
    /// Its name: inputs away from rest, latches that are set, and relays that hold themselves if the inputs alone
    /// don't decide.
    pub name: String,
    /// The position of each input.
    pub positions: Vec<usize>,
    /// Memory that is on: latching relays and timers.
    pub memory: Vec<SignalId>,
    /// Relays that hold themselves, which depend on how the state was reached, and whether each is in. Empty if
    /// positions and memory decide everything.
    pub held: Vec<(SignalId, bool)>,
    /// Whether this state ends by itself: a hold that runs, a delay that waits.
    pub passing: bool,
    /// What each screen shows, in the order of the model's screens.
    pub screens: Vec<ScreenReading>,
    /// Relays that are in, or set.
    pub relays: Vec<SignalId>,
    /// Current through each fuse.
    pub fuses: Vec<(ElementId, Amps)>,
    /// The whole circuit in this state.
    pub solution: Solution,
}

/// The table of states.
#[derive(Debug, Clone)]
pub struct StateTable {
    /// The corner that it was solved at.
    pub corner: Corner,
    /// The states, every input at rest first.
    pub rows: Vec<StateRow>,
    /// Whether there are more states than the table holds.
    pub cut_short: bool,
}

impl<'m> Wiring<'m> {
    /// Puts the circuit together.
    pub fn new(model: &'m Model) -> Wiring<'m> {
        let graph = signal_graph(model);
        let assembly = assemble(model);
        let mut pictures = BTreeMap::new();
        for screen in &model.screens {
            for show in &screen.shows {
                pictures.entry(show.input).or_insert_with(|| picture_paths(model, &graph, show.input));
            }
        }
        Wiring { model, graph, assembly, pictures, solvers: OnceLock::new() }
    }

    /// The kept solvers of its circuit, for questions about single states and variants.
    pub fn solvers(&self) -> &Solvers {
        self.solvers.get_or_init(|| Arc::new(Solvers::new(self.assembly.circuit.clone())))
    }
}

impl<'m> Solved<'m> {
    /// Puts the circuit together and explores it at the nominal corner.
    pub fn new(model: &'m Model) -> Solved<'m> {
        match Solved::watched(model, &unwatched) {
            Ok(solved) => solved,
            // OK because this watch never breaks.
            Err(Interrupted) => unreachable!("nobody interrupts"),
        }
    }

    /// Like [`Solved::new`], with a watch that gets the progress.
    ///
    /// # Errors
    /// When the watch breaks.
    pub fn watched(model: &'m Model, watch: Watch) -> Result<Solved<'m>, Interrupted> {
        Solved::explore(Wiring::new(model), watch)
    }

    /// Explores a circuit that is put together already.
    ///
    /// # Errors
    /// When the watch breaks.
    pub fn explore(wiring: Wiring<'m>, watch: Watch) -> Result<Solved<'m>, Interrupted> {
        Solved::explore_with(wiring, &[], watch)
    }

    /// Explores a circuit that is put together already at the nominal corner and at others, side by side.
    ///
    /// # Errors
    /// When the watch breaks.
    pub fn explore_with(wiring: Wiring<'m>, others: &[Corner], watch: Watch) -> Result<Solved<'m>, Interrupted> {
        let corners: Vec<Corner> = std::iter::once(Corner::NOMINAL).chain(others.iter().copied()).collect();
        let mut found = explore_all(&wiring.assembly.circuit, &corners, watch)?.into_iter();
        Ok(Solved { exploration: found.next().ok_or(Interrupted)?, others: found.collect(), wiring })
    }

    /// The table of states at the nominal corner.
    pub fn table(&self) -> StateTable {
        let mut rows: Vec<StateRow> = Vec::new();
        let mut cut_short = self.exploration.together.is_some();
        let (circuit, about) = (&self.assembly.circuit, self.about_everything());
        self.exploration.visit_simplest(circuit, &about, MOST_ROWS + 1, &mut |solution| {
            if rows.len() < MOST_ROWS {
                rows.push(self.row(solution));
            } else {
                cut_short = true;
            }
        });
        // By inputs away from rest, fewest first, so that the simple states lead.
        rows.sort_by_cached_key(|r| {
            let away = r.solution.state.positions.away();
            let order: Vec<usize> = r.positions.iter().map(|p| usize::MAX - p).collect();
            (away, order, r.passing, r.memory.clone())
        });
        StateTable { corner: self.exploration.corner, rows, cut_short }
    }

    /// A state's name in the table: as [`state_name`], with relays that hold themselves if that makes a difference.
    pub fn state_words(&self, state: &State) -> String {
        state_words(self, state, &held(self, [&self.exploration], state))
    }

    fn row(&self, solution: &Solution) -> StateRow {
        let model = self.model;
        let positions: Vec<usize> =
            (0..model.inputs.len()).map(|i| usize::from(solution.state.positions.0[i])).collect();
        let on = |id: SignalId| self.assembly.reading(model, solution, id) == Reading::On;
        let signals = || (0..model.signals.len()).map(SignalId);
        let relays =
            signals().filter(|id| matches!(model.signals[id.0].kind, SignalKind::Relay { .. }) && on(*id)).collect();
        let memory = signals().filter(|id| is_memory(model, *id) && on(*id)).collect();
        let fuses = model
            .elements
            .iter()
            .enumerate()
            .filter(|(_, e)| matches!(e.kind, ElementKind::Fuse { .. }))
            .map(|(i, _)| (ElementId(i), self.assembly.amps(solution, ElementId(i)).abs()))
            .collect();
        let held = held(self, [&self.exploration], &solution.state);
        StateRow {
            name: state_words(self, &solution.state, &held),
            passing: !solution.state.pending(&self.assembly.circuit).is_empty(),
            screens: (0..model.screens.len()).map(|i| read_screen(self, solution, ScreenId(i))).collect(),
            positions,
            memory,
            held,
            relays,
            fuses,
            solution: solution.clone(),
        }
    }

    /// Everything that decides what the screens show and should show.
    pub fn about_everything(&self) -> About {
        let mut about = About::default();
        for screen in 0..self.model.screens.len() {
            self.about_screen(ScreenId(screen), &mut about);
        }
        about.inputs = (0..self.model.inputs.len()).map(|i| self.assembly.input(model::InputId(i))).collect();
        let signals = (0..self.model.signals.len()).map(SignalId);
        about.actors = signals.filter_map(|id| self.assembly.actor(id)).collect();
        about
    }

    /// Everything that decides what one screen shows and should show.
    pub fn about_screen(&self, id: ScreenId, about: &mut About) {
        let screen = &self.model.screens[id.0];
        let own = screen.shows.iter().map(|s| &s.when).chain(screen.views.iter().map(|v| &v.when));
        let mut logics: Vec<Cow<StateCondition>> = own.map(Cow::Borrowed).collect();
        for show in &screen.shows {
            for path in &self.pictures[&show.input] {
                logics.extend(picture::conditions(self.model, path));
            }
        }
        let power = self.model.signals.iter().filter(|s| s.part == screen.part);
        let pins: Vec<PinId> = power.flat_map(|s| signal_pins(&s.kind)).collect();
        self.about_conditions(logics.iter().map(AsRef::as_ref), about);
        self.about_pins(pins, about);
    }

    /// Everything that decides whether a part works when it should.
    pub fn about_works(&self, promise: &WorksPromise) -> About {
        let mut about = About::default();
        self.about_conditions([&promise.when, &promise.all_work], &mut about);
        about
    }

    /// Adds everything that decides some conditions.
    pub fn about_conditions<'c>(&self, conditions: impl IntoIterator<Item = &'c StateCondition>, about: &mut About) {
        let mut pins: Vec<PinId> = vec![];
        for condition in conditions {
            condition.leaves(&mut |leaf| match leaf {
                StateCondition::InputIs(input, _) => about.inputs.push(self.assembly.input(*input)),
                StateCondition::Signal(signal) => {
                    about.actors.extend(self.assembly.actor(*signal));
                    pins.extend(signal_pins(&self.model.signals[signal.0].kind));
                }
                _ => {}
            });
        }
        self.about_pins(pins, about);
    }

    /// Adds the nodes of some pins, and puts all in order.
    pub fn about_pins(&self, pins: impl IntoIterator<Item = PinId>, about: &mut About) {
        about.nodes.extend(pins.into_iter().filter_map(|pin| self.assembly.pin(pin)));
        about.inputs.sort();
        about.inputs.dedup();
        about.actors.sort();
        about.actors.dedup();
        about.nodes.sort();
        about.nodes.dedup();
    }
}

fn signal_pins(kind: &SignalKind) -> Vec<PinId> {
    match kind {
        SignalKind::Sense { pin, ground, .. } => vec![*pin, *ground],
        SignalKind::Working { feed, ground, .. } => vec![*feed, *ground],
        _ => Vec::new(),
    }
}

/// Whether a signal remembers on purpose: a latching relay or a timer.
pub fn is_memory(model: &Model, id: SignalId) -> bool {
    matches!(model.signals[id.0].kind, SignalKind::Relay { latching: true, .. } | SignalKind::Timer { .. })
}
