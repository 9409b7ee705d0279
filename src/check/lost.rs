//! What the loss of a ground does: every ground opened in turn, every state solved again.

use super::Context;
use super::braid::{Braids, Carried};
use super::breaks::Break;
use super::metal::Metal;
use super::screens::away;
use super::tables;
use super::worst::Moment;
use model::{ElementId, ElementKind, PinId, SignalId, SignalKind, WireId};
use quantity::{Amps, Volts};
use solve::{ActorId, BranchId, Chatter, NodeId, Outcome, Reading, Solution, Solver, State, Supply, Without};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

/// What happens when a ground is lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Effect {
    /// A relay comes in or a trigger input comes on.
    Comes(SignalId),
    /// Current goes backwards through a load or a coil.
    Backwards(ElementId),
    /// A relay, a trigger input or a timer finds no rest.
    Chatters(ActorId),
    /// The screen of a coaxial cable carries more than it is made for.
    Screen(WireId),
    /// All that hangs on it goes on working, over the screen of this cable before others.
    Works(WireId),
}

/// Share of what a screen may carry that must come of the loss.
const OF_THE_LOSS: f64 = 0.1;

/// An effect in the simplest state that shows it.
pub struct Shown {
    /// When it shows.
    pub moment: Moment,
    /// The circuit without the ground.
    pub solution: Solution,
    /// Backwards.
    pub amps: Amps,
    /// What goes over the screen of a cable.
    pub screen: Option<Carried>,
}

impl Shown {
    /// By which the simpler of two states is told.
    fn weight(&self) -> (usize, &State) {
        (away(&self.solution), &self.moment.state)
    }
}

/// All that the loss of one ground does.
#[derive(Default)]
pub struct Loss {
    /// What is then otherwise.
    pub effects: BTreeMap<Effect, Shown>,
    /// States that could not be solved without it.
    pub unsolved: usize,
}

/// States are shared out among so many threads.
const THREADS: usize = 2;

impl Loss {
    /// With what another thread found; the simpler state shows an effect.
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

    /// Whether all that comes of it is that nothing shows it.
    pub fn is_hidden(&self) -> bool {
        self.unsolved == 0
            && !self.effects.is_empty()
            && self.effects.keys().all(|effect| matches!(effect, Effect::Works(_)))
    }
}

/// Every ground that may break, with what its loss does.
pub fn losses(context: &Context, braids: Option<&Braids>) -> Vec<(Break, Loss)> {
    let breaks = context.breaks();
    let metal = Metal::new(context.model, &context.solved.assembly);
    let through: Vec<&Break> = breaks.iter().filter(|one| !one.is_dead_end).collect();
    let mut found = std::thread::scope(|scope| {
        let other = scope.spawn(|| of_breaks(context, &metal, &through, 1));
        let one = of_breaks(context, &metal, &through, 0);
        let other = other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
        one.into_iter().zip(other).map(|(one, other)| one.with(other)).collect::<Vec<Loss>>().into_iter()
    });
    let loss = |one: &Break| if one.is_dead_end { Loss::default() } else { found.next().unwrap_or_default() };
    let losses: Vec<Loss> = breaks.iter().map(loss).collect();
    let mut all: Vec<(Break, Loss)> = breaks.into_iter().zip(losses).collect();
    if let Some(braids) = braids {
        all.iter_mut().for_each(|(one, loss)| over_screens(context, braids, one, &mut loss.effects));
    }
    all
}

/// Notes what goes over the screens of cables in the state in which this ground carries most, and in the simplest in
/// which it carries more than a screen may.
fn over_screens(context: &Context, braids: &Braids, one: &Break, effects: &mut BTreeMap<Effect, Shown>) {
    let most = tables::screen_carries();
    let Some(peak) = context.worst.amps(one.branch) else { return };
    for moment in context.worst.amps_over(one.branch, most).into_iter().chain([peak]).map(|peak| &peak.moment) {
        let Some(lost) = braids.lost(one.branch, moment) else { continue };
        let shown = |screen: &Carried| {
            let (solution, screen) = (lost.solution.clone(), Some(*screen));
            Shown { moment: moment.clone(), solution, amps: Amps::default(), screen }
        };
        for screen in lost.carried.iter().filter(|screen| screen.amps > most && screen.more > most * OF_THE_LOSS) {
            effects.entry(Effect::Screen(screen.wire)).or_insert_with(|| shown(screen));
        }
        // A camera with its own wire loose shows nothing but on its cable; a whole point is worth knowing.
        if one.is_point
            && moment == &peak.moment
            && braids.hides(context, one.branch, moment, &lost)
            && let Some(screen) = lost.carried.first()
        {
            effects.entry(Effect::Works(screen.wire)).or_insert_with(|| shown(screen));
        }
    }
}

/// What each of these breaks does, over a thread's share of all states.
fn of_breaks(context: &Context, metal: &Metal, breaks: &[&Break], thread: usize) -> Vec<Loss> {
    let mut losses: Vec<Loss> = breaks.iter().map(|_| Loss::default()).collect();
    let branches: Vec<BranchId> = breaks.iter().map(|one| one.branch).collect();
    let circuit = &context.solved.assembly.circuit;
    // What comes back is most at the greatest supply, and coils pull in there at their least.
    for exploration in context.explorations().filter(|one| one.corner.supply == Supply::Greatest) {
        exploration.visit_without(circuit, &branches, [thread, THREADS], &mut |at, intact, without| {
            let (seen, loss) = (Seen { context, metal, one: breaks[at], intact }, &mut losses[at]);
            let effects = &mut loss.effects;
            match without {
                Without::Within { lost, most, off } => return seen.may_show(lost, most, off, effects),
                Without::Solved(Outcome::Settled(lost), _) => seen.compare(*lost, effects),
                Without::Solved(Outcome::Chatter(chatter), solver) => seen.chatters(*chatter, solver, effects),
                Without::Solved(Outcome::Unsolved(_), _) => loss.unsolved += 1,
            }
            false
        });
    }
    losses
}

/// A state with its ground whole, to be compared with.
#[derive(Clone, Copy)]
struct Seen<'a> {
    context: &'a Context<'a>,
    metal: &'a Metal,
    one: &'a Break,
    intact: &'a Solution,
}

impl Seen<'_> {
    fn shown(self, solution: &Solution, amps: Amps) -> Shown {
        let moment = Moment::of(self.intact);
        Shown { moment, solution: solution.clone(), amps, screen: None }
    }

    /// Notes what chatters, or what a race comes to.
    fn chatters(self, chatter: Chatter, solver: &mut Solver, effects: &mut BTreeMap<Effect, Shown>) {
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
            effects.entry(Effect::Chatters(*actor)).or_insert_with(|| self.shown(solution, Amps::new(0.0)));
        }
    }

    /// Whether no more than leakage comes to what is without ground, whatever its voltages do: it is off.
    fn is_faint(self, chatter: &Chatter) -> bool {
        !chatter.round.iter().any(|step| self.carries(step, &self.island(&step.state)))
    }

    /// All that metal joins to what lost its ground, and what converters there feed.
    fn island(self, state: &State) -> BTreeSet<NodeId> {
        let (model, assembly) = (self.context.model, &self.context.solved.assembly);
        let joined = |node| self.metal.joined(assembly, state, node, self.one.branch);
        let converters = model.elements.iter().filter_map(|element| match element.kind {
            ElementKind::Converter { output, ground, .. } => Some((assembly.pin(ground)?, assembly.pin(output)?)),
            _ => None,
        });
        let mut converters: Vec<(NodeId, NodeId)> = converters.collect();
        let mut island = joined(self.one.left);
        while let Some(next) = converters.iter().position(|(ground, _)| island.contains(ground)) {
            island.extend(joined(converters.swap_remove(next).1));
        }
        island
    }

    /// Notes what the lost ground does: only what comes of current that finds its way back through something else. What
    /// drops out for want of its ground, and what its rest contact then makes, is as if its trigger had not come.
    fn compare(self, lost: Solution, effects: &mut BTreeMap<Effect, Shown>) {
        let (come, backwards) = (self.come(&lost), self.backwards(&lost));
        if come.is_empty() && backwards.is_empty() {
            return;
        }
        let (context, assembly) = (self.context, &self.context.solved.assembly);
        let island = self.island(&lost.state);
        let over_island = |id: &SignalId| {
            let way = context.way_of_signal(&lost, *id);
            let pins = way.start.into_iter().chain(way.steps.iter().filter_map(|step| step.pin));
            pins.filter_map(|pin| assembly.pin(pin)).any(|node| island.contains(&node))
        };
        let direct: Vec<SignalId> = come.iter().copied().filter(over_island).collect();
        let is_relay = |id: &SignalId| matches!(context.model.signals[id.0].kind, SignalKind::Relay { .. });
        // What a relay that came in so switches belongs to it.
        let come = if direct.iter().any(is_relay) { come } else { direct };
        for id in come {
            effects.entry(Effect::Comes(id)).or_insert_with(|| self.shown(&lost, Amps::new(0.0)));
        }
        if self.carries(&lost, &island) {
            for (id, amps) in backwards {
                effects.entry(Effect::Backwards(id)).or_insert_with(|| self.shown(&lost, amps));
            }
        }
    }

    /// Whether an effect that isn't known yet may be seen with voltages `most` off, or no further than `off` finds.
    fn may_show(
        self,
        lost: &Solution,
        most: Volts,
        off: &mut dyn FnMut(NodeId, NodeId) -> Volts,
        known: &BTreeMap<Effect, Shown>,
    ) -> bool {
        let (model, assembly) = (self.context.model, &self.context.solved.assembly);
        let mut off = |a: PinId, b: PinId| {
            assembly.pin(a).zip(assembly.pin(b)).map_or(Volts::new(f64::INFINITY), |(a, b)| off(a, b))
        };
        let sure = |id: SignalId| match &model.signals[id.0].kind {
            SignalKind::Sense { pin, ground, on_above, .. } => {
                let volts = assembly.volts(self.intact, *pin) - assembly.volts(self.intact, *ground);
                volts - most >= *on_above
            }
            _ => true,
        };
        let on = |solution: &Solution, id| solution.state.holds(assembly.signal(id));
        let new = |effect| !known.contains_key(&effect);
        let comes = |id| on(lost, id) && new(Effect::Comes(id)) && !(on(self.intact, id) && sure(id));
        let backwards = |(id, feed, ground)| {
            let volts = assembly.volts(lost, ground) - assembly.volts(lost, feed);
            let sneak = model.limits.sneak_voltage;
            new(Effect::Backwards(id)) && volts + most > sneak && volts + off(ground, feed) > sneak
        };
        self.movers().any(comes) || self.fed().any(backwards)
    }

    /// Relays and trigger inputs.
    fn movers(self) -> impl Iterator<Item = SignalId> {
        let signals = &self.context.model.signals;
        let moved = |id: &SignalId| matches!(signals[id.0].kind, SignalKind::Relay { .. } | SignalKind::Sense { .. });
        (0..signals.len()).map(SignalId).filter(moved)
    }

    /// Loads and coils, with their feeds and grounds.
    fn fed(self) -> impl Iterator<Item = (ElementId, PinId, PinId)> {
        self.context.model.elements.iter().enumerate().filter_map(|(i, element)| match &element.kind {
            ElementKind::Load(load) => Some((ElementId(i), load.feed, load.ground)),
            ElementKind::Coil(coil) => Some((ElementId(i), coil.feed, coil.ground)),
            _ => None,
        })
    }

    /// Relays that come in and trigger inputs that come on.
    fn come(self, lost: &Solution) -> Vec<SignalId> {
        let (model, assembly) = (self.context.model, &self.context.solved.assembly);
        let on = |solution, id| assembly.reading(model, solution, id) == Reading::On;
        self.movers().filter(|id| on(lost, *id) && !on(self.intact, *id)).collect()
    }

    /// Loads and coils that are fed backwards and weren't. Both voltage and current count: a filament takes a milliamp
    /// backwards at the millivolts that any shared ground has.
    fn backwards(self, lost: &Solution) -> Vec<(ElementId, Amps)> {
        let (model, assembly) = (self.context.model, &self.context.solved.assembly);
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

    /// Whether more than leakage goes through what is without ground.
    fn carries(self, lost: &Solution, island: &BTreeSet<NodeId>) -> bool {
        let branches = self.context.solved.assembly.circuit.branches.iter().enumerate();
        let crossing = branches.filter(|(_, branch)| island.contains(&branch.from) != island.contains(&branch.to));
        // What goes in comes out again.
        let amps = crossing.map(|(i, _)| lost.amps(BranchId(i as u32)).abs()).sum::<Amps>();
        amps * 0.5 > self.context.model.limits.sneak_current
    }
}
