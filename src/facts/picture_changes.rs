//! What changes the picture: single moves of an input that lead from one set of pictures to another, at once or when a
//! timer that they start has run out.

use circuit::{ActorId, Positions, Solution, State, position};
use model::{InputId, ScreenId, SignalId, SignalKind};
use states::{MOST_WAITS, Picture, Solved, StateRow, StateTable, Walk, read_screen};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

/// From one set of pictures to another, a picture for each screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureChange {
    /// What is on the screens before.
    pub from: Vec<Picture>,
    /// What is on them after.
    pub to: Vec<Picture>,
    /// The moves that can do it: immediate ones before those with a timer, then the most frequent first.
    pub causes: Vec<CausedIn>,
}

/// A move that changes the picture, and in which states it does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CausedIn {
    /// The move.
    pub cause: Cause,
    /// The rows of the table in which it leads there, in their order.
    pub rows: Vec<usize>,
    /// The rows with the same pictures in which the input can be moved so, but the change is another one or none.
    pub others: Vec<usize>,
}

/// A move that changes the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Cause {
    /// The input that is moved.
    pub input: InputId,
    /// Where it is moved to.
    pub position: usize,
    /// The timer that then runs out before the picture changes.
    pub timer: Option<SignalId>,
}

/// The rows in which each move is made.
type Causes = BTreeMap<Cause, Vec<usize>>;

/// Makes every single move in every state of the table that lasts, and lets timers run out as long as the pictures stay
/// the same. A state that ends by itself counts only if no other state shows its pictures.
pub(super) fn picture_changes(solved: &Solved, table: &StateTable) -> Vec<PictureChange> {
    let shown = |row: &StateRow| row.screens.iter().map(|reading| reading.picture.clone()).collect::<Vec<Picture>>();
    let known: BTreeSet<Vec<Picture>> = table.rows.iter().map(shown).collect();
    let lasting: BTreeSet<Vec<Picture>> = table.rows.iter().filter(|row| !row.passing).map(shown).collect();
    if known.len() < 2 {
        return Vec::new(); // No move leads to other pictures.
    }
    let settled = settled_rows(solved, table);
    let mut search = Search { solved, known: &known, walk: Walk::new(solved.solvers()), settled };
    let mut found: BTreeMap<(Vec<Picture>, Vec<Picture>), Causes> = BTreeMap::new();
    // By pictures and move: the rows in which it can be made.
    let mut tried: BTreeMap<(Vec<Picture>, InputId, usize), Vec<usize>> = BTreeMap::new();
    for (index, row) in table.rows.iter().enumerate() {
        let from = shown(row);
        if row.passing && lasting.contains(&from) {
            continue;
        }
        for (input, described) in solved.model.inputs.iter().enumerate() {
            for position in (0..described.positions.len()).filter(|&p| p != row.positions[input]) {
                let input = InputId(input);
                if search.can_move(row, input, position) {
                    tried.entry((from.clone(), input, position)).or_default().push(index);
                }
                if let Some((to, timer)) = search.after(row, &from, input, position) {
                    let causes = found.entry((from.clone(), to)).or_default();
                    causes.entry(Cause { input, position, timer }).or_default().push(index);
                }
            }
        }
    }
    let change = |((from, to), causes): ((Vec<Picture>, Vec<Picture>), Causes)| {
        let with_others = |(cause, rows): (Cause, Vec<usize>)| {
            let all = &tried[&(from.clone(), cause.input, cause.position)];
            let others = all.iter().copied().filter(|row| rows.binary_search(row).is_err()).collect();
            CausedIn { cause, rows, others }
        };
        let mut causes: Vec<CausedIn> = causes.into_iter().map(with_others).collect();
        causes.sort_by_key(|caused| {
            let Cause { input, position, timer } = caused.cause;
            (timer, Reverse(caused.rows.len()), input, position)
        });
        PictureChange { from, to, causes }
    };
    found.into_iter().map(change).collect()
}

/// The states of a table by their positions, if positions alone decide: one state for each, every change settles, and
/// the table has them all. A move then leads to the state of its positions. Otherwise empty.
fn settled_rows<'t>(solved: &Solved, table: &'t StateTable) -> BTreeMap<&'t Positions, &'t Solution> {
    let exploration = &solved.exploration;
    let all_settle = exploration.chatter.is_empty() && exploration.unsolved.is_empty();
    let decided = all_settle && exploration.history.is_empty() && exploration.doubtful().is_empty();
    if !decided || table.cut_short {
        return BTreeMap::new();
    }
    table.rows.iter().map(|row| (&row.solution.state.positions, &row.solution)).collect()
}

struct Search<'a, 'm> {
    solved: &'a Solved<'m>,
    /// The pictures of the table.
    known: &'a BTreeSet<Vec<Picture>>,
    walk: Walk<'a>,
    /// States that need no solving.
    settled: BTreeMap<&'a Positions, &'a Solution>,
}

impl Search<'_, '_> {
    /// What is on the screens; `None` if no state of the table shows it.
    fn pictures(&self, solution: &Solution) -> Option<Vec<Picture>> {
        let screens = (0..self.solved.model.screens.len()).map(ScreenId);
        let shown: Vec<Picture> = screens.map(|screen| read_screen(self.solved, solution, screen).picture).collect();
        self.known.contains(&shown).then_some(shown)
    }

    /// Whether the spec allows a move in a state.
    fn can_move(&self, row: &StateRow, input: InputId, to: usize) -> bool {
        let (positions, moved) = (&row.solution.state.positions, self.solved.assembly.input(input));
        positions.moved(&self.solved.assembly.circuit, moved, position(to)).is_some()
    }

    /// The next pictures after a move, and the timer that had to run out before; `None` if they stay the same.
    fn after(
        &mut self,
        row: &StateRow,
        from: &[Picture],
        input: InputId,
        to: usize,
    ) -> Option<(Vec<Picture>, Option<SignalId>)> {
        let (here, moved) = (&row.solution.state, self.solved.assembly.input(input));
        let positions = here.positions.moved(&self.solved.assembly.circuit, moved, position(to))?;
        let mut solution = match self.settled.get(&positions) {
            Some(settled) => (*settled).clone(),
            None => self.walk.settle(&State { positions, ..here.clone() })?,
        };
        let mut timer = None;
        for _ in 0..MOST_WAITS {
            let shown = self.pictures(&solution)?;
            if shown != from {
                return Some((shown, timer));
            }
            let (actor, next) = self.walk.wait_once(&solution.state)?;
            timer = self.timer(actor).or(timer);
            solution = next;
        }
        None
    }

    fn timer(&self, actor: ActorId) -> Option<SignalId> {
        let model = self.solved.model;
        let is_timer = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Timer { .. });
        let mut timers = (0..model.signals.len()).map(SignalId).filter(is_timer);
        timers.find(|id| self.solved.assembly.actor(*id) == Some(actor))
    }
}
