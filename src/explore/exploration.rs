//! Every state that can be reached from rest, one change at a time.

use super::limits::{FEW_STATES, MOST_STATES, Together, combinations_of, is_too_many};
use super::reach::{Alone, Interrupted, Move, Progress, Reach, Watch, reach};
use super::zones::{Doubts, NoZones, Zoned, explore_zones};
use circuit::{ActorId, Chatter, Circuit, Corner, InputId, Logic, Outcome, Positions, Solution, State, Unsolved};
use engine::{EliminationPlan, Ending, Settler, Unobserved, settle};
use std::collections::BTreeMap;
use std::ops::ControlFlow;
use std::sync::{Arc, OnceLock};

/// One combination of positions in which the circuit has several states, depending on how it got there.
#[derive(Debug, Clone, PartialEq)]
pub struct History {
    /// The positions of the inputs.
    pub positions: Positions,
    /// The inputs that count: all, or those of one zone; the others may be in any position.
    pub inputs: Vec<InputId>,
    /// The states, at least two.
    pub states: Vec<State>,
    /// The actors that differ between them although no latch, toggle or timer does. If empty, the memory is declared.
    pub undeclared: Vec<ActorId>,
}

/// Combinations of positions that the spec excludes, each with the reason.
#[derive(Debug, Clone, PartialEq)]
pub struct Excluded {
    /// The input that may not be away from rest there.
    pub input: InputId,
    /// The input that excludes it; `None` if the input lacks what it needs.
    pub by: Option<InputId>,
}

/// Every state that can be reached from rest at one corner.
#[derive(Debug, Clone)]
pub struct Exploration {
    /// The corner.
    pub corner: Corner,
    /// Actors that don't settle, or settle by a race: one for each round.
    pub chatter: Vec<Chatter>,
    /// States that could not be solved.
    pub unsolved: Vec<Unsolved>,
    /// Combinations of positions with more than one state.
    pub history: Vec<History>,
    /// Combinations that the spec excludes.
    pub excluded: Vec<Excluded>,
    /// If there are too many states to solve: what keeps the circuit in one zone. The states here are then only those
    /// with the fewest changes from rest.
    pub together: Option<Together>,
    pub(super) plan: Arc<EliminationPlan>,
    pub(super) inside: Inside,
    /// Every input at rest, nothing settled yet.
    pub(super) rest: State,
    /// The solutions of all states of a small circuit, once they have been shown.
    pub(super) shown: OnceLock<Arc<Vec<Solution>>>,
}

/// The states of a circuit that stays whole, or of its zones.
#[derive(Debug, Clone)]
pub(super) enum Inside {
    Whole(Reach),
    Zones(Box<Zoned>),
}

/// Most combinations of positions of a circuit that is explored as a whole, which shows each of its states.
const WHOLE_COMBINATIONS: f64 = 4096.0;

/// Finds every state that can be reached from every input at rest, one change at a time.
pub fn explore(circuit: &Circuit, corner: Corner) -> Exploration {
    let plan = Arc::new(EliminationPlan::new(circuit));
    match explore_one(circuit, &plan, corner, &unwatched) {
        Ok(exploration) => exploration,
        // OK because this watch never breaks.
        Err(Interrupted) => unreachable!("nobody interrupts"),
    }
}

/// A watch that lets every search go on.
pub fn unwatched(_: Progress) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// Explores at several corners side by side, with a watch that follows the progress and may end it.
///
/// # Errors
/// When the watch breaks.
pub fn explore_all(circuit: &Circuit, corners: &[Corner], watch: Watch) -> Result<Vec<Exploration>, Interrupted> {
    let plan = Arc::new(EliminationPlan::new(circuit));
    threads::each(corners, |corner| explore_one(circuit, &plan, *corner, watch)).into_iter().collect()
}

fn explore_one(
    circuit: &Circuit,
    plan: &Arc<EliminationPlan>,
    corner: Corner,
    watch: Watch,
) -> Result<Exploration, Interrupted> {
    let mut no_zones = NoZones::OneZone(vec![false; circuit.inputs.len()]);
    if combinations_of(circuit) > WHOLE_COMBINATIONS {
        match explore_zones(circuit, corner, doubts(circuit), watch)? {
            Ok(zoned) => return Ok(by_zones(circuit, plan, corner, zoned)),
            Err(why) => no_zones = why,
        }
    }
    whole(circuit, plan, corner, no_zones, watch)
}

/// A circuit that can be solved as a whole is solved so, not known within bounds only.
pub(super) fn doubts(circuit: &Circuit) -> Doubts {
    if is_too_many(circuit) { Doubts::BothWays } else { Doubts::Refused }
}

/// Explores zone by zone, however small the circuit; `None` if that can't be done.
#[cfg(test)]
pub(super) fn in_zones(
    circuit: &Circuit,
    plan: &Arc<EliminationPlan>,
    corner: Corner,
    doubts: Doubts,
) -> Result<Option<Exploration>, Interrupted> {
    Ok(explore_zones(circuit, corner, doubts, &unwatched)?.ok().map(|zoned| by_zones(circuit, plan, corner, zoned)))
}

/// Explores in one piece; if the circuit is too large, only the simplest states.
fn whole(
    circuit: &Circuit,
    plan: &Arc<EliminationPlan>,
    corner: Corner,
    no_zones: NoZones,
    watch: Watch,
) -> Result<Exploration, Interrupted> {
    let mut settler = Settler::new(circuit, plan, corner);
    let most = if is_too_many(circuit) { FEW_STATES } else { MOST_STATES };
    let mut found = reach(&mut settler, &mut Alone, most, watch)?;
    if found.cut && most > FEW_STATES {
        found = reach(&mut settler, &mut Alone, FEW_STATES, watch)?;
    }
    let together = found.cut.then(|| match no_zones {
        NoZones::OneZone(masters) => Together::new(circuit, &masters),
        NoZones::Together(doubtful) => Together::of_zones(circuit, doubtful),
    });
    let states: Vec<&State> = found.states.iter().map(|reached| &reached.state).collect();
    Ok(Exploration {
        corner,
        history: history(circuit, &(0..circuit.inputs.len() as u32).map(InputId).collect::<Vec<_>>(), &states),
        chatter: std::mem::take(&mut found.chatter),
        unsolved: std::mem::take(&mut found.unsolved),
        excluded: excluded(circuit),
        together,
        plan: plan.clone(),
        inside: Inside::Whole(found),
        rest: State::at_rest(circuit),
        shown: OnceLock::new(),
    })
}

/// The results of the zones as results of the whole: each zone with the others at rest.
fn by_zones(circuit: &Circuit, plan: &Arc<EliminationPlan>, corner: Corner, zoned: Zoned) -> Exploration {
    let mut out = Exploration {
        corner,
        chatter: vec![],
        unsolved: vec![],
        history: vec![],
        excluded: excluded(circuit),
        together: None,
        plan: plan.clone(),
        inside: Inside::Whole(Reach::default()),
        rest: State::at_rest(circuit),
        shown: OnceLock::new(),
    };
    let mut settler = Settler::new(circuit, plan, corner);
    for (at, one) in zoned.explored.iter().enumerate() {
        let started = one.reach.chatter.iter().map(|chatter| &chatter.started);
        let starts = started.chain(one.reach.unsolved.iter().map(|unsolved| &unsolved.state));
        for start in starts {
            match settle(&mut settler, &zoned.with_others(circuit, at, start), &mut Unobserved) {
                Outcome::Chatter(chatter) => out.chatter.push(*chatter),
                Outcome::Unsolved(unsolved) => out.unsolved.push(*unsolved),
                Outcome::Settled(_) => {}
            }
        }
        let with_others = one.reach.states.iter().map(|reached| zoned.with_others(circuit, at, &reached.state));
        // Of states that were taken both ways, only those that settle to themselves.
        let mut stands = |state: &State| {
            one.doubted.is_empty() || (settler.run(state) == Ending::Settled && settler.state() == state)
        };
        let states: Vec<State> = with_others.filter(|state| stands(state)).collect();
        let inputs = &zoned.zones.zones[at].inputs;
        out.history.extend(history(circuit, inputs, &states.iter().collect::<Vec<_>>()));
    }
    let mut zoned = Box::new(zoned);
    zoned.never = zoned.never_come_on(circuit, &mut settler);
    out.inside = Inside::Zones(zoned);
    out
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

/// Groups states by positions, and separates declared memory from undeclared.
fn history(circuit: &Circuit, inputs: &[InputId], states: &[&State]) -> Vec<History> {
    let mut groups: BTreeMap<&Positions, Vec<&State>> = BTreeMap::new();
    for state in states {
        groups.entry(&state.positions).or_default().push(state);
    }
    groups.retain(|_, states| states.len() > 1);
    let each = groups.into_iter().map(|(positions, mut states)| {
        states.sort_unstable();
        let undeclared = undeclared(circuit, &states);
        let states = states.into_iter().cloned().collect();
        History { positions: positions.clone(), inputs: inputs.to_vec(), undeclared, states }
    });
    each.collect()
}

impl History {
    /// Whether it is about the positions of a state.
    fn is_about(&self, state: &State) -> bool {
        self.inputs.iter().all(|input| self.positions.of(*input) == state.positions.of(*input))
    }

    /// The undeclared actors that differ between those of its states whose declared memory is as in `state`.
    fn otherwise(&self, circuit: &Circuit, state: &State) -> Vec<ActorId> {
        let on = |other: &State, id: ActorId| other.memory.on(id);
        let varies = |states: &[&State], id: ActorId| states.iter().any(|one| on(one, id) != on(states[0], id));
        let all: Vec<&State> = self.states.iter().collect();
        let actors = (0..circuit.actors.len() as u32).map(ActorId);
        // Actors that don't vary among them belong to other zones, which may be in any state.
        let declared: Vec<ActorId> =
            actors.filter(|id| circuit.actors[id.index()].rule.is_memory() && varies(&all, *id)).collect();
        let alike = |one: &&State| declared.iter().all(|id| on(one, *id) == on(state, *id));
        let alike: Vec<&State> = all.into_iter().filter(alike).collect();
        self.undeclared.iter().copied().filter(|id| !alike.is_empty() && varies(&alike, *id)).collect()
    }
}

/// Actors that differ between states whose declared memory is the same.
fn undeclared(circuit: &Circuit, states: &[&State]) -> Vec<ActorId> {
    let actors = || (0..circuit.actors.len() as u32).map(ActorId);
    let declared = |id: &ActorId| circuit.actors[id.index()].rule.is_memory();
    // Whether a trigger was on follows from its input.
    let meant = |state: &State| -> Vec<bool> { actors().filter(declared).map(|a| state.memory.on(a)).collect() };
    let mut first_with: BTreeMap<Vec<bool>, &State> = BTreeMap::new();
    let mut differ = vec![false; circuit.actors.len()];
    for state in states {
        let first = *first_with.entry(meant(state)).or_insert(state);
        actors().for_each(|a| differ[a.index()] |= first.memory.on(a) != state.memory.on(a));
    }
    actors().filter(|a| differ[a.index()]).collect()
}

impl Exploration {
    /// The actors, no latch or timer among them, that differ in another state with the same positions and the same
    /// declared memory.
    pub fn otherwise(&self, circuit: &Circuit, state: &State) -> Vec<ActorId> {
        let histories = self.history.iter().filter(|history| !history.undeclared.is_empty() && history.is_about(state));
        histories.flat_map(|history| history.otherwise(circuit, state)).collect()
    }

    /// How many settled states can be reached. If several zones remember, every combination of their memories counts.
    pub fn count(&self) -> u128 {
        match &self.inside {
            Inside::Whole(reach) => reach.states.iter().filter(|reached| reached.stands).count() as u128,
            Inside::Zones(zoned) => zoned.count(),
        }
    }

    /// States that are reached and never settle: each is a round of steps, which follow each other without end.
    pub fn endless(&self) -> impl Iterator<Item = &Chatter> {
        self.chatter.iter().filter(|chatter| chatter.is_endless())
    }

    /// How many zones it was explored in; 1 for the whole.
    pub fn zones(&self) -> usize {
        match &self.inside {
            Inside::Whole(_) => 1,
            Inside::Zones(zoned) => zoned.explored.len(),
        }
    }

    /// How many times zones were joined because a decision in one depended on another.
    pub fn joins(&self) -> usize {
        match &self.inside {
            Inside::Whole(_) => 0,
            Inside::Zones(zoned) => zoned.joined,
        }
    }

    /// How many states its zones have, each counted by itself.
    pub fn states_of_zones(&self) -> usize {
        match &self.inside {
            Inside::Whole(reach) => reach.states.len(),
            Inside::Zones(zoned) => zoned.explored.iter().map(|one| one.reach.states.len()).sum(),
        }
    }

    /// Whether the worst currents are known within bounds only: in zones, with loads of constant power that may reach
    /// their lowest voltage, where they draw most, or with actors [in doubt](Self::doubtful).
    pub fn is_bounded(&self) -> bool {
        matches!(&self.inside, Inside::Zones(zoned) if zoned.bounded || !zoned.doubtful.is_empty())
    }

    /// Actors whose decision may depend on the current of the other zones, if there are too many states to solve the
    /// whole in each. Every state in which they might be then counts, although some of them can't be reached together.
    pub fn doubtful(&self) -> &[ActorId] {
        match &self.inside {
            Inside::Zones(zoned) => &zoned.doubtful,
            Inside::Whole(_) => &[],
        }
    }

    /// Every input at rest, settled; before the battery is connected if it has no solution then.
    pub fn first(&self) -> &State {
        match &self.inside {
            Inside::Whole(reach) => reach.states.first().map_or(&self.rest, |first| &first.state),
            Inside::Zones(zoned) => &zoned.first,
        }
    }

    /// A shortest way from rest to a reachable state: the changes, in order, each after the circuit has settled. Empty
    /// for the first state; `None` if it can't be reached. In a circuit of several zones the way goes zone by zone.
    pub fn way_to(&self, state: &State) -> Option<Vec<Move>> {
        match &self.inside {
            Inside::Whole(reach) => reach.known.number(state).map(|number| reach.way_to(number)),
            Inside::Zones(zoned) => zoned.way_to(state),
        }
    }
}
