//! What the loss of a ground does: every ground opened in turn, every state at the highest supply solved again.

mod grounds;
mod shields;

pub use grounds::{Ground, GroundKind};
pub(crate) use shields::ground_by_shield;
pub use shields::{Lost, ShieldBranches, ShieldCurrent};

use super::conductors::Conductors;
use super::connectivity::Connectivity;
use super::moment::Moment;
use super::unsettled::signals_of;
use super::{Explored, Paths, WorstValues, figures};
use circuit::{ActorId, BranchId, Chatter, NodeId, Outcome, Reading, Solution, Spot, State, Supply, Variant};
use engine::Solver;
use explore::{Exploration, Without};
use model::{ElementId, ElementKind, PinId, SignalId, SignalKind, WireId};
use quantity::{Amps, Volts};
use states::Solved;
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

/// What happens when a ground is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LossEffect {
    /// A relay comes in or a trigger input comes on.
    Comes(SignalId),
    /// Current goes backwards through a load or a coil.
    Backwards(ElementId),
    /// A relay, a trigger input or a timer goes on and off without end.
    Chatters(ActorId),
    /// The shield of a coaxial cable carries more than it is made for.
    Shield(WireId),
    /// Its loads keep working, mainly through the shield of this cable.
    Works(WireId),
}

/// An effect in the simplest state that shows it.
#[derive(Debug)]
pub struct ShownEffect {
    /// When it shows, the ground still whole.
    pub moment: Moment,
    /// The circuit without the ground.
    pub solution: Solution,
    /// The current backwards through a load or a coil; zero for other effects.
    pub amps: Amps,
    /// The current through the shield of a cable.
    pub shield: Option<ShieldCurrent>,
}

impl ShownEffect {
    /// How many inputs are away from rest.
    pub fn away(&self) -> usize {
        self.solution.state.positions.away()
    }

    /// Sort key: fewer inputs away from rest first.
    fn weight(&self) -> (usize, &State) {
        (self.away(), &self.moment.state)
    }
}

/// Every effect of the loss of one ground.
#[derive(Debug, Default)]
pub struct Loss {
    /// What changes, and which currents flow through shields.
    pub effects: BTreeMap<LossEffect, ShownEffect>,
    /// States that could not be solved without it.
    pub unsolved: usize,
}

/// Number of threads that share the states.
const THREADS: usize = 2;

impl Loss {
    /// Merges another thread's effects; keeps the simpler state of each.
    fn with(mut self, other: Loss) -> Loss {
        self.unsolved += other.unsolved;
        for (effect, shown) in other.effects {
            match self.effects.entry(effect) {
                Entry::Vacant(entry) => _ = entry.insert(shown),
                Entry::Occupied(mut entry) if shown.weight() < entry.get().weight() => _ = entry.insert(shown),
                Entry::Occupied(_) => {}
            }
        }
        self
    }

    /// Whether the loss stays hidden: loads keep working through shields, and nothing else happens.
    pub fn is_hidden(&self) -> bool {
        self.unsolved == 0
            && !self.effects.is_empty()
            && self.effects.keys().all(|effect| matches!(effect, LossEffect::Works(_)))
    }
}

/// Every ground that may break, with what its loss does.
#[derive(Debug)]
pub struct LostGrounds {
    /// Grounds, each with what its loss does.
    pub all: Vec<(Ground, Loss)>,
    /// The shields that take over; `None` if no cable's shield joins anything.
    pub shields: Option<ShieldBranches>,
}

/// What the search reads.
#[derive(Clone, Copy)]
pub(super) struct Search<'f> {
    pub solved: &'f Solved<'f>,
    pub explored: &'f Explored<'f>,
    pub worst: &'f WorstValues,
    pub connectivity: &'f Connectivity<'f>,
    pub paths: &'f Paths<'f>,
}

impl LostGrounds {
    pub(super) fn new(search: Search) -> LostGrounds {
        let (solved, connectivity) = (search.solved, search.connectivity);
        let grounds = grounds::Search { solved, connectivity }.grounds();
        let conductors = Conductors::new(solved.model, &solved.assembly);
        let through: Vec<Ground> = grounds.iter().copied().filter(|ground| !ground.is_dead_end).collect();
        let share = |thread| of_grounds(search, &conductors, &through, thread);
        let (other, one) = threads::both(|| share(1), || share(0));
        let mut found = one.into_iter().zip(other).map(|(one, other)| one.with(other));
        let loss = |one: &Ground| if one.is_dead_end { Loss::default() } else { found.next().unwrap_or_default() };
        let losses: Vec<Loss> = grounds.iter().map(loss).collect();
        let mut all: Vec<(Ground, Loss)> = grounds.into_iter().zip(losses).collect();
        let shields = ShieldBranches::new(solved);
        if let Some(shields) = &shields {
            all.iter_mut().for_each(|(ground, loss)| over_shields(search, shields, ground, &mut loss.effects));
        }
        LostGrounds { all, shields }
    }
}

/// Notes the currents over the shields of cables in the state in which this ground carries most, and in the simplest in
/// which it carries more than a shield may.
fn over_shields(
    search: Search,
    shields: &ShieldBranches,
    ground: &Ground,
    effects: &mut BTreeMap<LossEffect, ShownEffect>,
) {
    let most = figures::shield_carries();
    let Some(peak) = search.worst.amps(ground.branch) else { return };
    for moment in search.worst.amps_over(ground.branch, most).into_iter().chain([peak]).map(|peak| &peak.moment) {
        let Some(lost) = shields.lost(search.solved, ground.branch, moment) else { continue };
        let shown = |carried: &ShieldCurrent| {
            let (solution, shield) = (lost.solution.clone(), Some(*carried));
            ShownEffect { moment: moment.clone(), solution, amps: Amps::default(), shield }
        };
        // A shield that carries too much with every ground in place has a finding of its own.
        for carried in lost.carried.iter().filter(|one| one.amps > most && one.before <= most) {
            effects.entry(LossEffect::Shield(carried.wire)).or_insert_with(|| shown(carried));
        }
        // A camera whose own wire is loose shows only on its cable; the loss of a whole point is worth knowing.
        if matches!(ground.kind, GroundKind::Point(_))
            && moment == &peak.moment
            && shields.hides(search.solved, ground.branch, moment, &lost)
            && let Some(carried) = lost.carried.first()
        {
            effects.entry(LossEffect::Works(carried.wire)).or_insert_with(|| shown(carried));
        }
    }
}

/// What the loss of each of these grounds does, over a thread's share of all states.
fn of_grounds(search: Search, conductors: &Conductors, grounds: &[Ground], thread: usize) -> Vec<Loss> {
    let mut losses: Vec<Loss> = grounds.iter().map(|_| Loss::default()).collect();
    let branches: Vec<BranchId> = grounds.iter().map(|one| one.branch).collect();
    let circuit = &search.solved.assembly.circuit;
    // At the highest supply most current comes back, and coils there pull in at their least.
    for exploration in search.explored.all().filter(|one| one.corner.supply == Supply::Greatest) {
        exploration.visit_without(circuit, &branches, [thread, THREADS], &mut |at, intact, without| {
            let seen = Seen { search, conductors, ground: &grounds[at], intact, alternating: &[] };
            let loss = &mut losses[at];
            let effects = &mut loss.effects;
            match without {
                Without::Within { lost, most } => return seen.may_show(lost, most, effects),
                Without::Solved(Outcome::Settled(lost), _) => seen.compare(*lost, effects),
                Without::Solved(Outcome::Chatter(chatter), solver) => seen.chatters(*chatter, solver, effects),
                Without::Solved(Outcome::Unsolved(_), _) => loss.unsolved += 1,
            }
            false
        });
        if thread == 0 {
            in_rounds(search, exploration, conductors, grounds, &mut losses);
        }
    }
    losses
}

/// Most states that never settle in which lost grounds are tried.
const MOST_ROUNDS: usize = 64;

/// The same in states that never settle. What takes part there alternates with and without the ground, so it is left out.
fn in_rounds(
    search: Search,
    exploration: &Exploration,
    conductors: &Conductors,
    grounds: &[Ground],
    losses: &mut [Loss],
) {
    for chatter in exploration.endless().take(MOST_ROUNDS) {
        let Some(intact) = chatter.round.first() else { continue };
        let alternating = signals_of(search.solved, &chatter.actors);
        for (ground, loss) in grounds.iter().zip(&mut *losses) {
            let seen = Seen { search, conductors, ground, intact, alternating: &alternating };
            let open = Variant::open([ground.branch]);
            match search.solved.solvers().settle_variant(exploration.corner, &intact.state, &open) {
                Outcome::Settled(lost) => seen.compare(*lost, &mut loss.effects),
                Outcome::Chatter(without) => {
                    // The step without the ground in which the same is on.
                    let step = without.round.iter().find(|step| step.state == intact.state).or(without.round.first());
                    step.into_iter().for_each(|lost| seen.compare(lost.clone(), &mut loss.effects));
                }
                Outcome::Unsolved(_) => loss.unsolved += 1,
            }
        }
    }
}

/// A state with its ground whole, to be compared with.
#[derive(Clone, Copy)]
struct Seen<'a> {
    search: Search<'a>,
    conductors: &'a Conductors,
    ground: &'a Ground,
    intact: &'a Solution,
    /// Signals that alternate without end while the ground is whole.
    alternating: &'a [SignalId],
}

impl Seen<'_> {
    fn shown(self, solution: &Solution, amps: Amps) -> ShownEffect {
        let moment = Moment::of(self.intact);
        ShownEffect { moment, solution: solution.clone(), amps, shield: None }
    }

    /// Notes what chatters, or what a race ends in.
    fn chatters(self, chatter: Chatter, solver: &mut Solver, effects: &mut BTreeMap<LossEffect, ShownEffect>) {
        for memory in &chatter.rests {
            let state = State { positions: self.intact.state.positions.clone(), memory: memory.clone() };
            if let Some(lost) = solver.settle(&state).settled() {
                self.compare(lost, effects);
            }
        }
        let (Some(solution), true) = (chatter.round.first(), chatter.rests.is_empty()) else { return };
        if self.is_faint(&chatter) {
            return self.compare(solution.clone(), effects);
        }
        for actor in &chatter.actors {
            effects.entry(LossEffect::Chatters(*actor)).or_insert_with(|| self.shown(solution, Amps::new(0.0)));
        }
    }

    /// Whether only leakage reaches the parts without ground, at any of their voltages: they are off.
    fn is_faint(self, chatter: &Chatter) -> bool {
        !chatter.round.iter().any(|step| self.carries(step, &self.island(&step.state)))
    }

    /// Everything that conductors join to the lost ground, and what converters there feed.
    fn island(self, state: &State) -> BTreeSet<NodeId> {
        let (model, assembly) = (self.search.solved.model, &self.search.solved.assembly);
        let joined = |node| self.conductors.joined(assembly, state, node, self.ground.branch);
        let converters = model.elements.iter().filter_map(|element| match element.kind {
            ElementKind::Converter { output, ground, .. } => Some((assembly.pin(ground)?, assembly.pin(output)?)),
            _ => None,
        });
        let mut converters: Vec<(NodeId, NodeId)> = converters.collect();
        let mut island = joined(self.ground.left);
        while let Some(next) = converters.iter().position(|(ground, _)| island.contains(ground)) {
            island.extend(joined(converters.swap_remove(next).1));
        }
        island
    }

    /// Notes the effects of current that returns through something else. A relay that merely drops out without its
    /// ground, and what its rest contact then makes, is left out: it is as if its trigger had not come.
    fn compare(self, lost: Solution, effects: &mut BTreeMap<LossEffect, ShownEffect>) {
        let (come, backwards) = (self.come(&lost), self.backwards(&lost));
        if come.is_empty() && backwards.is_empty() {
            return;
        }
        let (model, assembly) = (self.search.solved.model, &self.search.solved.assembly);
        let island = self.island(&lost.state);
        let over_island = |id: &SignalId| {
            let path = self.search.paths.of_signal(&lost, *id);
            let spots = std::iter::once(path.start).chain(path.steps.iter().map(|step| step.to));
            spots.filter_map(Spot::pin).filter_map(|pin| assembly.pin(pin)).any(|node| island.contains(&node))
        };
        let direct: Vec<SignalId> = come.iter().copied().filter(over_island).collect();
        let is_relay = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Relay { .. });
        // What such a relay switches belongs to it.
        let come = if direct.iter().any(is_relay) { come } else { direct };
        for id in come {
            effects.entry(LossEffect::Comes(id)).or_insert_with(|| self.shown(&lost, Amps::new(0.0)));
        }
        if self.carries(&lost, &island) {
            for (id, amps) in backwards {
                effects.entry(LossEffect::Backwards(id)).or_insert_with(|| self.shown(&lost, amps));
            }
        }
    }

    /// Whether a new effect may show while voltages are up to `most` off.
    fn may_show(self, lost: &Solution, most: Volts, known: &BTreeMap<LossEffect, ShownEffect>) -> bool {
        let (model, assembly) = (self.search.solved.model, &self.search.solved.assembly);
        let sure = |id: SignalId| match &model.signals[id.0].kind {
            SignalKind::Sense { pin, ground, on_above, .. } => {
                let volts = assembly.volts(self.intact, *pin) - assembly.volts(self.intact, *ground);
                volts - most >= *on_above
            }
            _ => true,
        };
        let on = |solution: &Solution, id| solution.state.holds(assembly.signal(id));
        let new = |effect| !known.contains_key(&effect);
        let comes = |id| on(lost, id) && new(LossEffect::Comes(id)) && !(on(self.intact, id) && sure(id));
        let backwards = |(id, feed, ground)| {
            let volts = assembly.volts(lost, ground) - assembly.volts(lost, feed);
            let sneak = model.limits.sneak_voltage;
            new(LossEffect::Backwards(id)) && volts + most > sneak
        };
        self.movers().any(comes) || self.fed().any(backwards)
    }

    /// Relays and trigger inputs.
    fn movers(self) -> impl Iterator<Item = SignalId> {
        let signals = &self.search.solved.model.signals;
        let moved = |id: &SignalId| matches!(signals[id.0].kind, SignalKind::Relay { .. } | SignalKind::Sense { .. });
        (0..signals.len()).map(SignalId).filter(moved)
    }

    /// Loads and coils, with their feeds and grounds.
    fn fed(self) -> impl Iterator<Item = (ElementId, PinId, PinId)> {
        self.search.solved.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
            ElementKind::Load(load) => Some((ElementId(i), load.feed, load.ground)),
            ElementKind::Coil(coil) => Some((ElementId(i), coil.feed, coil.ground)),
            _ => None,
        })
    }

    /// Relays that come in and trigger inputs that come on.
    fn come(self, lost: &Solution) -> Vec<SignalId> {
        let (model, assembly) = (self.search.solved.model, &self.search.solved.assembly);
        let on = |solution, id| assembly.reading(model, solution, id) == Reading::On;
        let steady = |id: &SignalId| !self.alternating.contains(id);
        self.movers().filter(|id| on(lost, *id) && !on(self.intact, *id) && steady(id)).collect()
    }

    /// Loads and coils that are fed backwards and weren't. Both voltage and current count: a filament takes a milliamp
    /// backwards at the millivolts that any shared ground has.
    fn backwards(self, lost: &Solution) -> Vec<(ElementId, Amps)> {
        let (model, assembly) = (self.search.solved.model, &self.search.solved.assembly);
        let (sneak, sneak_volts) = (model.limits.sneak_current, model.limits.sneak_voltage);
        let reversed = self.fed().filter_map(|(id, feed, ground)| {
            let back = |solution| {
                let volts = assembly.volts(solution, ground) - assembly.volts(solution, feed);
                let amps = -assembly.amps(solution, id);
                (volts > sneak_volts && amps > sneak).then_some(amps)
            };
            back(lost).filter(|_| back(self.intact).is_none()).map(|amps| (id, amps))
        });
        reversed.collect()
    }

    /// Whether more than leakage flows through the parts without ground.
    fn carries(self, lost: &Solution, island: &BTreeSet<NodeId>) -> bool {
        let branches = self.search.solved.assembly.circuit.branches.iter().enumerate();
        let crossing = branches.filter(|(_, branch)| island.contains(&branch.from) != island.contains(&branch.to));
        // What goes in comes out again.
        let amps = crossing.map(|(i, _)| lost.amps(BranchId(i as u32)).abs()).sum::<Amps>();
        amps * 0.5 > self.search.solved.model.limits.sneak_current
    }
}
