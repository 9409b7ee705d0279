//! The harness at the bench: a bench supply in the vehicle's place, and what its states read there.

mod build_faults;
mod faulty;
mod supply;

pub use build_faults::{BAD_CONTACT, BuildFault, build_faults};
pub use faulty::FaultyBench;
pub use supply::{at_bench, nominal_supply, stays_in_vehicle};

use catalogue::part_form::TimerKind;
use circuit::{ActorId, Corner, Solution, State};
use explore::Move;
use model::{ElementId, ElementKind, Model, SignalId, SignalKind};
use quantity::Amps;
use states::{Solved, StateTable, Walk, WalkStep, Wiring};

/// Most states of the table from which a timer is started.
const MOST_STATES: usize = 60;

/// The harness with a bench supply.
pub struct Bench<'m> {
    /// The harness at the bench.
    pub wiring: Wiring<'m>,
}

/// A state at the bench.
#[derive(Debug, Clone)]
pub struct BenchState {
    /// At the nominal corner.
    pub solution: Solution,
    /// With hot copper, and with parts at the ends of their tolerances.
    pub others: Vec<Solution>,
    /// The steps that lead there from rest; empty if they can't be made at the bench.
    pub changes: Vec<WalkStep>,
    /// Whether it is the state with every input at rest, which needs no step.
    pub is_rest: bool,
}

/// A timer that one step starts, and what changes when it runs out.
#[derive(Debug, Clone)]
pub struct TimerRun {
    /// The timer.
    pub signal: SignalId,
    /// The state from which it starts.
    pub from: BenchState,
    /// The step that starts it.
    pub start: WalkStep,
    /// While it runs.
    pub running: Solution,
    /// When it has run out.
    pub over: Solution,
}

/// The second press of something that toggles at each press.
#[derive(Debug, Clone)]
pub struct SecondPress {
    /// The press, and the release if that makes a difference.
    pub changes: Vec<WalkStep>,
    /// The circuit after that.
    pub solution: Solution,
}

impl<'m> Bench<'m> {
    /// Takes a model with a bench supply in the vehicle's place; see [`at_bench`].
    pub fn new(model: &'m Model) -> Bench<'m> {
        Bench { wiring: Wiring::new(model) }
    }

    fn walk(&self) -> Walk<'_> {
        Walk::new(self.wiring.solvers())
    }

    /// Every input at rest; `None` if that does not settle.
    pub fn rest(&self) -> Option<Solution> {
        self.walk().rest()
    }

    /// A state that `solved` explored, reached by the same steps. If these can't be made at the bench, it is what the
    /// state itself settles to there.
    pub fn state(&self, solved: &Solved, state: &State) -> Option<BenchState> {
        let moves = solved.exploration.way_to(state).unwrap_or_default();
        let mut walk = self.walk();
        let changes = walk.along(&moves);
        let last = match &changes {
            Some(changes) => match changes.last() {
                Some(change) => change.after.clone(),
                None => walk.rest()?.state,
            },
            None => state.clone(),
        };
        let solution = self.walk().settle(&last)?;
        let others = Corner::ALL.iter().filter(|corner| **corner != Corner::NOMINAL);
        let others = others.filter_map(|corner| self.wiring.solvers().settle(*corner, &solution.state).settled());
        let (others, changes) = (others.collect(), changes.unwrap_or_default());
        Some(BenchState { solution, others, changes, is_rest: moves.is_empty() })
    }

    /// What the whole harness draws from the bench supply.
    pub fn drawn(&self, solution: &Solution) -> Amps {
        let elements = self.wiring.model.elements.iter().enumerate();
        let batteries = elements.filter(|(_, element)| matches!(element.kind, ElementKind::Battery { .. }));
        batteries.map(|(i, _)| self.wiring.assembly.amps(solution, ElementId(i)).abs()).sum()
    }

    /// The steps back to rest, if putting every input to rest isn't enough; `None` if it is, or if no steps are found.
    pub fn way_back(&self, there: &BenchState, rest: &State) -> Option<Vec<WalkStep>> {
        let mut walk = self.walk();
        let here = &there.solution.state;
        if walk.back_to_rest(here).is_some_and(|at| at.state == *rest) {
            return None;
        }
        walk.between(here, rest)
    }

    /// A run of each timer that is set to a time and lies at the bench, from the simplest state in which one step
    /// starts it alone.
    pub fn timer_runs(&self, solved: &Solved, table: &StateTable) -> Vec<TimerRun> {
        let model = self.wiring.model;
        let timed = |id: &SignalId| {
            let signal = &model.signals[id.0];
            let timer = matches!(signal.kind, SignalKind::Timer { time, .. } if time.value() > 0.0);
            timer && !stays_in_vehicle(model, model.part(signal.part), signal.part)
        };
        let signals = (0..model.signals.len()).map(SignalId).filter(timed);
        signals.filter_map(|signal| self.timer_run(solved, table, signal)).collect()
    }

    fn timer_run(&self, solved: &Solved, table: &StateTable, signal: SignalId) -> Option<TimerRun> {
        let circuit = &self.wiring.assembly.circuit;
        let actor = self.wiring.assembly.actor(signal)?;
        let mut walk = self.walk();
        table.rows.iter().filter(|row| !row.passing).take(MOST_STATES).find_map(|row| {
            solved.exploration.way_to(&row.solution.state)?;
            let from = self.state(solved, &row.solution.state)?;
            let before = &from.solution.state;
            if !before.pending(circuit).is_empty() {
                return None;
            }
            let changes: Vec<WalkStep> =
                walk.inputs(before).into_iter().filter_map(|by| walk.change(before, by)).collect();
            let start = changes.into_iter().find(|change| change.after.pending(circuit) == [actor])?;
            let running = self.walk().settle(&start.after)?;
            let over = self.walk().step(&start.after, Move::Elapsed(actor))?;
            let over = self.walk().settle(&over.state)?;
            Some(TimerRun { signal, from, start, running, over })
        })
    }

    /// For each timer that a press toggled on the way to a state: the same press once more.
    pub fn second_presses(&self, there: &BenchState) -> Vec<SecondPress> {
        let signals = self.wiring.model.signals.iter().enumerate();
        let toggles = signals
            .filter(|(_, signal)| matches!(&signal.kind, SignalKind::Timer { kind: TimerKind::Toggle, .. }))
            .filter_map(|(i, _)| self.wiring.assembly.actor(SignalId(i)));
        toggles.filter_map(|actor| self.second_press(there, actor)).collect()
    }

    fn second_press(&self, there: &BenchState, actor: ActorId) -> Option<SecondPress> {
        let pressed = |change: &&WalkStep| !change.before.memory.on(actor) && change.after.memory.on(actor);
        let WalkStep { by: Move::Input(input, at), .. } = there.changes.iter().find(pressed)? else { return None };
        let mut walk = self.walk();
        let mut changes = vec![walk.change(&there.solution.state, Move::Input(*input, *at))?];
        changes.extend(walk.change(&changes[0].after, Move::Input(*input, 0)));
        let solution = self.walk().settle(&changes.last()?.after)?;
        (!solution.state.memory.on(actor)).then_some(SecondPress { changes, solution })
    }
}
