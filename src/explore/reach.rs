//! The search itself: from rest, one change at a time, breadth first, so that the way to every state is a shortest one.

use circuit::{ActorId, Chatter, Corner, InputId, Known, Memory, Outcome, Position, State, Unsolved};
use engine::{CircuitRef, Ending, Observer, Settler, settle};
use std::ops::ControlFlow;

/// One change, after which everything settles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Move {
    /// The battery is connected, every input at rest.
    Connect,
    /// An input goes to a position. Inputs that need its old position go to rest with it.
    Input(InputId, Position),
    /// The time of a pending hold, delay or pulse runs out.
    Elapsed(ActorId),
    /// The supply goes and comes back, the inputs staying where they are.
    PowerLoss,
}

/// Called now and then with the progress of a long search; breaking ends it.
pub type Watch<'w> = &'w (dyn Fn(Progress) -> ControlFlow<()> + Sync);

/// How far a search is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// The corner.
    pub corner: Corner,
    /// Changes solved so far, at this corner.
    pub solved: u64,
    /// States found so far.
    pub found: u64,
    /// States found whose changes are still to be solved.
    pub waiting: u64,
}

/// The search was ended by its watch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interrupted;

/// Changes between two calls of a watch; some milliseconds.
const WATCHED_EVERY: u64 = 1024;

/// A reachable state.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Reached {
    pub state: State,
    /// The state before it on a shortest way from rest; `None` for the first.
    pub from: Option<u32>,
    pub by: Move,
    /// Whether it is settled, and no moment of a chatter.
    pub stands: bool,
}

/// The result of a search.
#[derive(Debug, Clone, Default)]
pub(super) struct Reach {
    pub states: Vec<Reached>,
    pub known: Known,
    pub chatter: Vec<Chatter>,
    pub unsolved: Vec<Unsolved>,
    /// Whether there are more states than were asked for.
    pub cut: bool,
}

/// The other states of a circuit that is one zone of a larger one.
pub(super) trait Alternatives: Observer {
    /// Of the states visited since the last call: a state that could come next instead, and those that may be settled,
    /// with decisions in doubt taken the other way.
    fn take(&mut self) -> (Option<State>, Vec<State>);
}

/// A circuit that is not a zone.
pub(super) struct Alone;

impl Observer for Alone {}

impl Alternatives for Alone {
    fn take(&mut self) -> (Option<State>, Vec<State>) {
        (None, vec![])
    }
}

/// Ends a run at the first state that was tried before.
struct UntilTried<'t> {
    tried: &'t mut Known,
    alternatives: &'t mut dyn Alternatives,
}

impl Observer for UntilTried<'_> {
    fn stepped(&mut self, settler: &mut Settler) {
        self.alternatives.stepped(settler);
    }

    fn goes_on(&mut self, state: &State) -> bool {
        self.tried.insert(state)
    }
}

struct Search<'c, 's, 'w> {
    circuit: CircuitRef<'c>,
    settler: &'s mut Settler<'c>,
    alternatives: &'s mut dyn Alternatives,
    tried: Known,
    watch: Watch<'w>,
    solved: u64,
    most: usize,
    reach: Reach,
}

/// Finds every reachable state of a settler's circuit at its corner, the alternatives included. Of more than `most` it
/// keeps the first, which take the fewest changes.
pub(super) fn reach(
    settler: &mut Settler,
    alternatives: &mut dyn Alternatives,
    most: usize,
    watch: Watch,
) -> Result<Reach, Interrupted> {
    let circuit = settler.circuit_ref();
    let rest = State::at_rest(&circuit);
    let (tried, reach) = (Known::default(), Reach::default());
    let mut search = Search { circuit, settler, alternatives, tried, watch, solved: 0, most, reach };
    search.try_from(&rest, None, Move::Connect)?;
    search.run()?;
    Ok(search.reach)
}

impl Search<'_, '_, '_> {
    fn run(&mut self) -> Result<(), Interrupted> {
        let mut next = 0;
        while next < self.reach.states.len() && !self.reach.cut {
            self.leave(next as u32)?;
            next += 1;
        }
        Ok(())
    }

    /// All changes out of one state.
    fn leave(&mut self, from: u32) -> Result<(), Interrupted> {
        let state = self.reach.states[from as usize].state.clone();
        let mut start = state.clone();
        let circuit = self.circuit.clone();
        for (i, input) in circuit.inputs.iter().enumerate() {
            let id = InputId(i as u32);
            for position in input.each_position().filter(|p| *p != state.positions.of(id)) {
                if let Some(positions) = state.positions.moved(&circuit, id, position) {
                    start.positions = positions;
                    self.try_from(&start, Some(from), Move::Input(id, position))?;
                }
            }
        }
        if circuit.actors.iter().any(|actor| actor.rule.is_timed()) {
            for id in state.pending(&circuit) {
                let mut start = state.clone();
                start.elapse(id);
                self.try_from(&start, Some(from), Move::Elapsed(id))?;
            }
        }
        if self.settler.run_dark(&state) == Ending::Settled {
            let start = self.settler.state().clone();
            self.try_from(&start, Some(from), Move::PowerLoss)?;
        }
        Ok(())
    }

    /// Settles from `start` and notes the settled state; both ways, where a decision is in doubt.
    fn try_from(&mut self, start: &State, from: Option<u32>, by: Move) -> Result<(), Interrupted> {
        self.try_one_way(start, from, by)?;
        loop {
            let (next, settled) = self.alternatives.take();
            settled.into_iter().for_each(|state| self.note(state, from, by, true));
            let Some(next) = next else { return Ok(()) };
            self.try_one_way(&next, from, by)?;
        }
    }

    fn try_one_way(&mut self, start: &State, from: Option<u32>, by: Move) -> Result<(), Interrupted> {
        if self.reach.cut || !self.tried.insert(start) {
            return Ok(());
        }
        self.solved += 1;
        if self.solved.is_multiple_of(WATCHED_EVERY) {
            let found = self.reach.states.len() as u64;
            let waiting = found - u64::from(from.unwrap_or(0)) - 1;
            if (self.watch)(Progress { corner: self.settler.corner(), solved: self.solved, found, waiting }).is_break()
            {
                return Err(Interrupted);
            }
        }
        // Runs from different states soon meet, and from there on one of them is enough.
        let mut observer = UntilTried { tried: &mut self.tried, alternatives: self.alternatives };
        match self.settler.run_observed(start, &mut observer) {
            Ending::Met => {}
            Ending::Settled => {
                // A settled state settles to itself.
                let state = self.settler.state().clone();
                self.tried.insert(&state);
                self.note(state, from, by, true);
            }
            Ending::Round | Ending::Unsolved(..) => match settle(self.settler, start, &mut *self.alternatives) {
                Outcome::Settled(solution) => self.note(solution.state, from, by, true),
                Outcome::Unsolved(unsolved) => {
                    if !self.reach.unsolved.iter().any(|one| one.state == unsolved.state) {
                        self.reach.unsolved.push(*unsolved);
                    }
                }
                Outcome::Chatter(chatter) => self.note_chatter(*chatter, from, by),
            },
        }
        Ok(())
    }

    fn note_chatter(&mut self, chatter: Chatter, from: Option<u32>, by: Move) {
        // The next change may come while the actors are in any of these positions.
        let positions = &chatter.started.positions;
        let stands = !chatter.rests.is_empty();
        let caught: Vec<Memory> = match chatter.rests.is_empty() {
            true => chatter.round.iter().map(|one| one.state.memory.clone()).collect(),
            false => chatter.rests.clone(),
        };
        for memory in caught {
            self.note(State { positions: positions.clone(), memory }, from, by, stands);
        }
        let same = |one: &Chatter| {
            one.started.positions == *positions && one.round.iter().any(|s| s.state == chatter.round[0].state)
        };
        if !self.reach.chatter.iter().any(same) {
            self.reach.chatter.push(chatter);
        }
    }

    fn note(&mut self, state: State, from: Option<u32>, by: Move, stands: bool) {
        if self.reach.states.len() >= self.most {
            self.reach.cut |= self.reach.known.number(&state).is_none();
        } else if self.reach.known.insert(&state) {
            self.reach.states.push(Reached { state, from, by, stands });
        }
    }
}

impl Reach {
    /// The changes from rest to a state, in order.
    pub(super) fn way_to(&self, number: usize) -> Vec<Move> {
        let mut moves = vec![];
        let mut at = &self.states[number];
        while let Some(from) = at.from {
            moves.push(at.by);
            at = &self.states[from as usize];
        }
        moves.reverse();
        moves
    }
}
