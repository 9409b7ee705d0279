//! What changes the picture: single moves of an input that lead from one band of the chart to another, at once or when a
//! timer that they start has run.

use super::bands::{Band, pictures_of};
use model::{InputId, SignalId, SignalKind};
use solve::{ActorId, Corner, Positions, Solution, Solver, State, position};
use states::{Solved, StateRow, StateTable, read_screen};
use std::collections::BTreeMap;

/// From one band to another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Change {
    /// Index of the band that is left.
    pub from: usize,
    /// Index of the band that is come to.
    pub to: usize,
    /// The moves that can do it, such as `reverse on`, the most frequent first.
    pub moves: Vec<String>,
}

/// An input that is moved, where to, and the timer that then runs before the picture changes.
type Cause = (usize, usize, Option<SignalId>);

/// Makes every single move in every state that lasts, and lets time pass after it as long as nothing else is seen.
pub(super) fn changes(solved: &Solved, table: &StateTable, bands: &[Band]) -> Vec<Change> {
    if bands.len() < 2 {
        return vec![]; // No move leads to another picture.
    }
    let lasting: Vec<bool> = bands.iter().map(|band| band.lines.iter().any(|line| !line.passing)).collect();
    let solver = Solver::new(&solved.assembly.circuit, Corner::NOMINAL);
    let mut after = After { solved, bands, solver, settled: settled_rows(solved, table) };
    let mut counts: BTreeMap<(usize, usize), BTreeMap<Cause, usize>> = BTreeMap::new();
    for row in &table.rows {
        // Transient states are left out, unless nothing else leaves that picture.
        let Some(from) = after.band(&row.solution).filter(|&band| !row.passing || !lasting[band]) else { continue };
        for (input, described) in solved.model.inputs.iter().enumerate() {
            for position in (0..described.positions.len()).filter(|&p| p != row.positions[input]) {
                if let Some((to, timer)) = after.moved(row, from, InputId(input), position) {
                    *counts.entry((from, to)).or_default().entry((input, position, timer)).or_default() += 1;
                }
            }
        }
    }
    let told = |((from, to), causes): ((usize, usize), BTreeMap<Cause, usize>)| {
        let mut causes: Vec<(Cause, usize)> = causes.into_iter().collect();
        // At once before after a while, then the most frequent.
        causes.sort_by_key(|&((input, position, timer), count)| (timer, std::cmp::Reverse(count), input, position));
        Change { from, to, moves: causes.iter().map(|(cause, _)| words(solved, *cause)).collect() }
    };
    counts.into_iter().map(told).collect()
}

fn words(solved: &Solved, (input, position, timer): Cause) -> String {
    let (input, model) = (&solved.model.inputs[input], solved.model);
    let moved = format!("{} {}", input.name, input.positions[position]);
    match timer {
        Some(timer) => format!("{moved}, when {} has run", model.part(model.signals[timer.0].part).name),
        None => moved,
    }
}

/// Most timers that run out one after the other before it is given up.
const MOST_TIMERS: usize = 64;

/// The states of a table by their positions, where positions alone decide: one state for each, every change
/// settles, and the table has them all. A move then comes to the state of its positions. Otherwise none.
fn settled_rows<'t>(solved: &Solved, table: &'t StateTable) -> BTreeMap<&'t Positions, &'t Solution> {
    let exploration = &solved.exploration;
    let all_rest = exploration.chatter.is_empty() && exploration.unsolved.is_empty();
    let decided = all_rest && exploration.history.is_empty() && exploration.doubtful().is_empty();
    if !decided || table.cut_short {
        return BTreeMap::new();
    }
    table.rows.iter().map(|row| (&row.solution.state.positions, &row.solution)).collect()
}

/// Works out what comes after a move.
struct After<'a, 'm> {
    solved: &'a Solved<'m>,
    bands: &'a [Band],
    solver: Solver<'a>,
    /// States that need no solving.
    settled: BTreeMap<&'a Positions, &'a Solution>,
}

impl After<'_, '_> {
    /// The band of what is seen.
    fn band(&self, solution: &Solution) -> Option<usize> {
        let screens = (0..self.solved.model.screens.len()).map(model::ScreenId);
        let readings: Vec<_> = screens.map(|screen| read_screen(self.solved, solution, screen)).collect();
        let seen = pictures_of(self.solved.model, &readings);
        self.bands.iter().position(|band| band.pictures == seen)
    }

    /// The next picture after a move, and the timer that had to run before; none where it stays the same.
    fn moved(&mut self, row: &StateRow, from: usize, input: InputId, to: usize) -> Option<(usize, Option<SignalId>)> {
        let (circuit, input) = (&self.solved.assembly.circuit, self.solved.assembly.input(input));
        let position = position(to);
        let positions = row.solution.state.positions.moved(circuit, input, position)?;
        let mut solution = match self.settled.get(&positions) {
            Some(settled) => (*settled).clone(),
            None => self.solver.settle(&State { positions, ..row.solution.state.clone() }).settled()?,
        };
        let mut timer = None;
        for _ in 0..MOST_TIMERS {
            match self.band(&solution)? {
                band if band != from => return Some((band, timer)),
                _ => {
                    let actor = *solution.state.pending(circuit).first()?;
                    timer = self.timer(actor).or(timer);
                    let mut next = solution.state.clone();
                    next.elapse(actor);
                    solution = self.solver.settle(&next).settled()?;
                }
            }
        }
        None
    }

    fn timer(&self, actor: ActorId) -> Option<SignalId> {
        let model = self.solved.model;
        let is_timer = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Timer { .. });
        (0..model.signals.len())
            .map(SignalId)
            .filter(is_timer)
            .find(|id| self.solved.assembly.actor(*id) == Some(actor))
    }
}
