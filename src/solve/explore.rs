//! Every state that can be reached from rest, one change at a time.

use super::circuit::{ActorId, BranchId, Circuit, InputId, Logic, NodeId};
use super::corner::Corner;
use super::plan::Plan;
use super::reach::{Interrupted, Reach, Watch, reach};
use super::settle::{End, Solver};
use super::state::{Chatter, Positions, Solution, State, Unsolved};
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::Arc;

/// One change, after which everything settles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Move {
    /// The battery is connected, every input at rest.
    Connect,
    /// An input goes to a position. Inputs that need its old position fall to rest with it.
    Input(InputId, u8),
    /// The time of a pending hold, delay or pulse runs out.
    Elapsed(ActorId),
    /// The supply goes and comes back, the inputs staying where they are.
    PowerLoss,
}

/// One combination of positions in which the circuit stands differently, depending on how it got there.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// Where the inputs are.
    pub positions: Positions,
    /// The states, at least two.
    pub states: Vec<State>,
    /// The actors that differ between them although no latch, toggle or timer does. Empty: the memory is declared.
    pub undeclared: Vec<ActorId>,
}

/// Combinations of positions that the spec excludes, by what excludes them.
#[derive(Debug, Clone, PartialEq)]
pub struct Excluded {
    /// The input that may not be away from rest there.
    pub input: InputId,
    /// The input that excludes it; none where it is what the input needs.
    pub by: Option<InputId>,
}

/// Every state that can be reached from rest at one corner.
#[derive(Debug, Clone)]
pub struct Exploration {
    /// At which corner.
    pub corner: Corner,
    /// What doesn't come to rest, or where a race decides: one for each round.
    pub chatter: Vec<Chatter>,
    /// States that could not be solved.
    pub unsolved: Vec<Unsolved>,
    /// Combinations of positions with more than one state.
    pub history: Vec<History>,
    /// What the spec excludes.
    pub excluded: Vec<Excluded>,
    plan: Arc<Plan>,
    reach: Reach,
}

/// What a question is about, for [`Exploration::visit_about`].
#[derive(Debug, Clone, Default)]
pub struct About {
    /// Inputs whose positions the question names.
    pub inputs: Vec<InputId>,
    /// Actors that it asks whether they are on.
    pub actors: Vec<ActorId>,
    /// Nodes whose voltage it asks for.
    pub nodes: Vec<NodeId>,
    /// Branches whose current or voltage it asks for.
    pub branches: Vec<BranchId>,
}

/// Finds every state that can be reached from every input at rest, one change at a time.
pub fn explore(circuit: &Circuit, corner: Corner) -> Exploration {
    let plan = Arc::new(Plan::new(circuit));
    match explore_one(circuit, &plan, corner, &|_| ControlFlow::Continue(())) {
        Ok(exploration) => exploration,
        // OK because this watch never breaks.
        Err(Interrupted) => unreachable!("nobody interrupts"),
    }
}

/// Explores at several corners, two at a time, with a watch that is told how far it is and may end it.
///
/// # Errors
/// When the watch breaks.
pub fn explore_all(circuit: &Circuit, corners: &[Corner], watch: Watch) -> Result<Vec<Exploration>, Interrupted> {
    let plan = Arc::new(Plan::new(circuit));
    let threads = std::thread::available_parallelism().map_or(1, usize::from).min(corners.len()).max(1);
    let one = |corner: &Corner| explore_one(circuit, &plan, *corner, watch);
    let each = |thread: usize| corners.iter().skip(thread).step_by(threads).map(one).collect::<Vec<_>>();
    let mut by_thread: Vec<_> = std::thread::scope(|scope| {
        let each = &each;
        let handles: Vec<_> = (1..threads).map(|thread| scope.spawn(move || each(thread))).collect();
        let first = each(0);
        let rest = handles.into_iter().map(|handle| handle.join().unwrap_or_default());
        std::iter::once(first).chain(rest).map(Vec::into_iter).collect()
    });
    // In the order of the corners, whichever thread they were on.
    (0..corners.len()).map(|n| by_thread[n % threads].next().unwrap_or(Err(Interrupted))).collect()
}

fn explore_one(circuit: &Circuit, plan: &Arc<Plan>, corner: Corner, watch: Watch) -> Result<Exploration, Interrupted> {
    let mut reach = reach(circuit, plan, corner, 0.0, watch)?;
    Ok(Exploration {
        corner,
        chatter: std::mem::take(&mut reach.chatter),
        unsolved: std::mem::take(&mut reach.unsolved),
        history: history(circuit, &reach),
        excluded: excluded(circuit),
        plan: plan.clone(),
        reach,
    })
}

fn excluded(circuit: &Circuit) -> Vec<Excluded> {
    let mut all = vec![];
    for (i, input) in circuit.inputs.iter().enumerate() {
        let id = InputId(i as u32);
        if input.needs != Logic::Always {
            all.push(Excluded { input: id, by: None });
        }
        all.extend(input.excludes.iter().map(|other| Excluded { input: id, by: Some(*other) }));
    }
    all
}

/// Groups states by positions, and tells meant memory from the other.
fn history(circuit: &Circuit, reach: &Reach) -> Vec<History> {
    let mut groups: BTreeMap<&Positions, Vec<&State>> = BTreeMap::new();
    for reached in &reach.states {
        groups.entry(&reached.state.positions).or_default().push(&reached.state);
    }
    groups.retain(|_, states| states.len() > 1);
    let each = groups.into_iter().map(|(positions, mut states)| {
        states.sort_unstable();
        let undeclared = undeclared(circuit, &states);
        History { positions: positions.clone(), undeclared, states: states.into_iter().cloned().collect() }
    });
    each.collect()
}

/// Actors that differ between states whose declared memory is the same.
fn undeclared(circuit: &Circuit, states: &[&State]) -> Vec<ActorId> {
    let actors = || (0..circuit.actors.len() as u32).map(ActorId);
    let declared = |id: &ActorId| circuit.actors[id.index()].rule.is_memory();
    let meant = |state: &State| -> Vec<(bool, bool)> {
        actors().filter(declared).map(|a| (state.memory.on(a), state.memory.was(a))).collect()
    };
    let mut first_with: BTreeMap<Vec<(bool, bool)>, &State> = BTreeMap::new();
    let mut differ = vec![false; circuit.actors.len()];
    for state in states {
        let first = *first_with.entry(meant(state)).or_insert(state);
        actors().for_each(|a| differ[a.index()] |= first.memory.on(a) != state.memory.on(a));
    }
    actors().filter(|a| differ[a.index()]).collect()
}

impl Exploration {
    /// How many states can be reached.
    pub fn count(&self) -> u128 {
        self.reach.states.len() as u128
    }

    /// Every input at rest, settled.
    pub fn first(&self) -> &State {
        &self.reach.states[0].state
    }

    /// Shows solved, reachable states of the whole circuit in a steady order.
    ///
    /// Where the circuit doesn't split into parts these are all of them. Where it does, each part is shown in all of its
    /// own states, with the rest of the circuit at its least and at its greatest draw: so whatever is asked of one node,
    /// branch or actor, its worst is among what is shown. A question about several at once goes through
    /// [`visit_about`](Self::visit_about).
    pub fn visit(&self, circuit: &Circuit, each: &mut dyn FnMut(&Solution)) {
        let mut solver = Solver::with_plan(circuit, self.plan.clone(), self.corner);
        let mut solution = None;
        for reached in &self.reach.states {
            // A state caught in a chatter is reachable, but has no solution.
            if solver.run(&reached.state) == End::Settled && solver.state == reached.state {
                let solution = solution.get_or_insert_with(|| solver.solution());
                solver.solution_into(solution);
                each(solution);
            }
        }
    }

    /// Like [`visit`](Self::visit), for a question about several things at once: every combination of states that the
    /// parts with these things in them can be in together is shown.
    pub fn visit_about(&self, circuit: &Circuit, about: &About, each: &mut dyn FnMut(&Solution)) {
        let _ = about; // One part: it has everything.
        self.visit(circuit, each);
    }

    /// A shortest way from rest to a reachable state: the changes, in order, each after all has settled. Empty for the
    /// first state; `None` if it can't be reached.
    pub fn way_to(&self, state: &State) -> Option<Vec<Move>> {
        self.reach.known.number(state).map(|number| self.reach.way_to(number))
    }
}
