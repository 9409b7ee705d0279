//! Exploring a circuit zone by zone: finding levels, looking for doubts, joining zones. The head of `mod.rs` explains
//! how.

use super::apart::{Zone, Zones, take_apart};
use super::around::Around;
use super::ends::{Ends, EndsPlan};
use super::first::first_levels;
use super::trunk::{Levels, Trunk, TrunkDraw};
use crate::limits::{MOST_BOTH_WAYS, MOST_MERGED, MOST_STATES, combinations_of, is_too_many};
use crate::reach::{Interrupted, Reach, Watch, reach};
use circuit::{ActorId, Circuit, Corner, InputId, Memory, Positions, State};
use engine::{EliminationPlan, Settler};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Tries to find levels before the search for them is given up.
const TRIES: usize = 12;

/// Currents up to this are rounding, in amperes.
const ROUNDING_AMPS: f64 = 1e-6;

/// How decisions that stay in doubt are handled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Doubts {
    /// The circuit is solved as a whole, which is exact.
    Refused,
    /// They are taken both ways, so that worst values are known within bounds.
    BothWays,
}

/// Why a circuit is not explored zone by zone.
#[derive(Debug)]
pub(crate) enum NoZones {
    /// It is one zone, or one of them is as hard as the whole; with these masters.
    OneZone(Vec<bool>),
    /// The zones decide too much about each other; with the actors in doubt, if it is those.
    Together(Vec<ActorId>),
}

/// A circuit explored zone by zone.
#[derive(Debug, Clone)]
pub(crate) struct Zoned {
    pub zones: Zones,
    /// The states of each zone.
    pub explored: Vec<ExploredZone>,
    /// The trunk, the levels of its voltages, and the least conductances of the zones at its floating nodes, by
    /// combination of the masters.
    pub trunks: Vec<Trunk>,
    pub levels: Vec<Levels>,
    pub hold: Vec<Vec<f64>>,
    /// Whether worst currents are known within bounds only, because of loads near their lowest voltage.
    pub bounded: bool,
    /// Actors whose decisions were taken both ways, so that not all of the states can be reached.
    pub doubtful: Vec<ActorId>,
    /// Those of them that don't come on in any state of the whole that is shown.
    pub never: Vec<ActorId>,
    pub first: State,
    /// How many times zones were joined because a decision was in doubt.
    pub joined: usize,
}

/// One zone explored.
#[derive(Debug, Clone)]
pub(crate) struct ExploredZone {
    pub reach: Reach,
    /// Current into each terminal, the terminals held in the middle, by state and terminal.
    amps: Vec<f64>,
    terminals: usize,
    /// States by combination of the masters, and what the zone draws there, by terminal.
    pub by_combination: Vec<Vec<u32>>,
    draw: Vec<TrunkDraw>,
    pub doubted: Vec<ActorId>,
    turning_load: bool,
    /// Whether in some state the effect of the rest of the circuit is not known.
    unknown: bool,
}

/// The result of one try.
enum Tried {
    Sure(Box<Zoned>),
    /// With the actors in doubt, and the trunk nodes of their zones, those that sag most first.
    InDoubt(Option<Box<Zoned>>, Vec<ActorId>, Vec<usize>),
}

/// Explores zone by zone, or returns why the circuit stays whole.
pub(crate) fn explore_zones(
    circuit: &Circuit,
    corner: Corner,
    doubts: Doubts,
    watch: Watch,
) -> Result<Result<Zoned, NoZones>, Interrupted> {
    let mut soft = vec![false; circuit.nodes.len()];
    let Some(mut zones) = take_apart(circuit, &soft) else {
        return Ok(Err(NoZones::OneZone(vec![false; circuit.inputs.len()])));
    };
    if zones.zones.iter().any(|zone| is_too_many(&zone.circuit)) {
        let is_master = |i| zones.masters.contains(&InputId(i));
        return Ok(Err(NoZones::OneZone((0..circuit.inputs.len() as u32).map(is_master).collect())));
    }
    let mut best: Option<Box<Zoned>> = None;
    let mut first_actors = None;
    let mut joined = 0;
    loop {
        let trunk = zones.trunk.clone();
        match try_zones(circuit, corner, zones, doubts, watch)? {
            Tried::Sure(zoned) => return Ok(Ok(Zoned { joined, ..*zoned })),
            Tried::InDoubt(zoned, actors, sagging) => {
                first_actors.get_or_insert(actors);
                let fewest = best.as_ref().map_or(usize::MAX, |best| best.doubtful.len());
                if let Some(zoned) = zoned.filter(|zoned| zoned.doubtful.len() < fewest) {
                    best = Some(Box::new(Zoned { joined, ..*zoned }));
                }
                let merged = sagging.into_iter().find_map(|at| {
                    let mut soft = soft.clone();
                    soft[trunk[at].index()] = true;
                    let zones = take_apart(circuit, &soft)?;
                    let small = |zone: &Zone| combinations_of(&zone.circuit) <= MOST_MERGED;
                    zones.zones.iter().all(small).then_some((soft, zones))
                });
                let Some(merged) = merged else {
                    return Ok(best.map_or(Err(NoZones::Together(first_actors.unwrap_or_default())), |best| Ok(*best)));
                };
                (soft, zones) = merged;
                joined += 1;
            }
        }
    }
}

/// Explores these zones, with other levels until the trunk lemma holds for them.
fn try_zones(
    circuit: &Circuit,
    corner: Corner,
    zones: Zones,
    doubts: Doubts,
    watch: Watch,
) -> Result<Tried, Interrupted> {
    let trunks: Vec<Trunk> = (0..zones.combinations.count()).map(|c| Trunk::new(circuit, corner, &zones, c)).collect();
    let plans: Vec<(Arc<EliminationPlan>, EndsPlan)> = zones
        .zones
        .iter()
        .map(|zone| (Arc::new(EliminationPlan::new(&zone.circuit)), EndsPlan::new(zone.circuit.clone())))
        .collect();
    let middle_plans: Vec<Arc<EliminationPlan>> = plans.iter().map(|plans| plans.0.clone()).collect();
    let mut levels = first_levels(&zones, &trunks, &middle_plans, corner);
    let (mut actors, mut follow) = (vec![], false);
    for _ in 0..TRIES {
        let mut explored = vec![];
        for (zone, plans) in zones.zones.iter().zip(&plans) {
            let place = Place { zones: &zones, zone, plans, corner, trunks: &trunks, levels: &levels, follow };
            explored.push(place.explore(watch)?);
        }
        actors = doubtful(&zones, &explored);
        // Too many states, or none: a state at rest that can't be solved is reported by the whole.
        if explored.iter().any(|one| one.reach.cut || one.reach.states.is_empty()) {
            break;
        }
        let draws: Vec<TrunkDraw> = (0..trunks.len()).map(|c| total(&zones, &explored, c)).collect();
        let each = || trunks.iter().zip(&levels).zip(&draws);
        let holds = each().all(|((trunk, levels), draw)| trunk.holds(levels, draw));
        let closer: Option<Vec<Levels>> = each().map(|((trunk, levels), draw)| trunk.closer(levels, draw)).collect();
        let sure = explored.iter().all(ExploredZone::is_sure);
        // Most circuits have nothing in doubt between the first levels. Else they are first brought as close as
        // possible.
        let close = closer.as_ref().is_none_or(|closer| levels.iter().zip(closer).all(|(own, next)| next.is_near(own)));
        if holds && (sure || follow || close && doubts == Doubts::Refused) {
            let sagging = sagging(&zones, &explored, &levels);
            if !sure && (doubts == Doubts::Refused || explored.iter().any(|one| one.unknown)) {
                return Ok(Tried::InDoubt(None, actors, sagging));
            }
            let bounded = explored.iter().any(|one| one.turning_load);
            let hold = draws.into_iter().map(|draw| draw.hold).collect();
            let first = State::at_rest(circuit);
            let (doubtful, never) = (actors.clone(), vec![]);
            let mut zoned =
                Box::new(Zoned { zones, explored, trunks, levels, hold, bounded, doubtful, never, first, joined: 0 });
            zoned.first = zoned.whole_state(circuit, &vec![0; zoned.explored.len()]);
            return Ok(if sure { Tried::Sure(zoned) } else { Tried::InDoubt(Some(zoned), actors, sagging) });
        }
        follow |= holds && close;
        let Some(closer) = closer else { break };
        levels = closer;
    }
    let all: Vec<usize> = sorted_by_off(&levels, (0..zones.trunk.len()).collect());
    Ok(Tried::InDoubt(None, actors, all))
}

/// Actors of the whole whose decision is in doubt in some zone.
fn doubtful(zones: &Zones, explored: &[ExploredZone]) -> Vec<ActorId> {
    let each = zones.zones.iter().zip(explored);
    let all: BTreeSet<ActorId> =
        each.flat_map(|(zone, one)| one.doubted.iter().map(|id| zone.actors[id.index()])).collect();
    all.into_iter().collect()
}

/// The trunk nodes of zones with doubts, those whose voltage is least certain first.
fn sagging(zones: &Zones, explored: &[ExploredZone], levels: &[Levels]) -> Vec<usize> {
    let in_doubt = zones.zones.iter().zip(explored).filter(|(_, one)| !one.is_sure());
    let nodes: BTreeSet<usize> = in_doubt.flat_map(|(zone, _)| zone.terminals.iter().map(|(_, at)| *at)).collect();
    sorted_by_off(levels, nodes.into_iter().collect())
}

fn sorted_by_off(levels: &[Levels], mut nodes: Vec<usize>) -> Vec<usize> {
    let off = |at: &usize| levels.iter().map(|levels| levels.high[*at] - levels.low[*at]).fold(0.0, f64::max);
    nodes.sort_by(|a, b| off(b).total_cmp(&off(a)));
    nodes
}

/// What all zones draw together at one combination.
fn total(zones: &Zones, explored: &[ExploredZone], combination: usize) -> TrunkDraw {
    let mut total = TrunkDraw::none(zones.trunk.len());
    for (zone, one) in zones.zones.iter().zip(explored) {
        let draw = &one.draw[combination];
        for (terminal, (_, at)) in zone.terminals.iter().enumerate() {
            total.most_at_low[*at] += draw.most_at_low[terminal];
            total.least_at_high[*at] += draw.least_at_high[terminal];
            total.size[*at] += draw.size[terminal];
            total.hold[*at] += draw.hold[terminal];
        }
    }
    total
}

/// A zone in its surroundings.
struct Place<'z> {
    zones: &'z Zones,
    zone: &'z Zone,
    plans: &'z (Arc<EliminationPlan>, EndsPlan),
    corner: Corner,
    trunks: &'z [Trunk],
    levels: &'z [Levels],
    follow: bool,
}

impl Place<'_> {
    fn explore(&self, watch: Watch) -> Result<ExploredZone, Interrupted> {
        let ends = self.plans.1.held(self.zone, self.levels);
        let ends = Ends::new(self.zones, self.zone, &self.plans.1, &ends, self.corner);
        let middle: Vec<Vec<f64>> = self.levels.iter().map(Levels::middle).collect();
        let held = self.zone.held(self.zone.circuit.clone(), &middle);
        let mut middle = Settler::new(&held, &self.plans.0, self.corner);
        let mut around = Around::new(self.zones, self.zone, self.levels, ends, &self.plans.0, self.follow);
        let most = if self.follow { MOST_BOTH_WAYS } else { MOST_STATES };
        let mut found = reach(&mut middle, &mut around, most, watch)?;
        found.cut |= self.follow && around.found().too_many;
        Ok(self.draws(found, middle, around))
    }

    /// Solves each state again, in the middle and at both ends, for what the zone draws.
    fn draws(&self, found: Reach, mut middle: Settler, mut around: Around) -> ExploredZone {
        let (terminals, own) = (self.zone.terminals.len(), self.zone.branches.len());
        let columns: Vec<u32> =
            self.zone.terminals.iter().map(|(node, _)| self.plans.0.column_of[node.index()]).collect();
        let mut one = ExploredZone {
            amps: Vec::with_capacity(found.states.len() * terminals),
            terminals,
            by_combination: vec![vec![]; self.trunks.len()],
            draw: vec![],
            doubted: vec![],
            turning_load: false,
            unknown: false,
            reach: found,
        };
        let mut ranges: Vec<Option<TrunkDraw>> = vec![None; self.trunks.len()];
        for (number, reached) in one.reach.states.iter().enumerate() {
            let combination = self.zones.combinations.number(&reached.state.positions.0);
            one.by_combination[combination].push(number as u32);
            // Held, not settled: a state caught in a chatter draws its current too.
            middle.go_to(&reached.state);
            one.unknown |= middle.solve().is_err();
            one.amps.extend(middle.network_mut().drawn(&columns, &(own..usize::MAX)));
            let hold: Vec<f64> = (self.zone.terminals.iter().zip(&columns))
                .map(|((_, at), column)| match self.trunks[combination].floating[*at] {
                    true => middle.network().held_siemens(*column),
                    false => 0.0,
                })
                .collect();
            if let Some(drawn) = around.drawn(&mut middle) {
                ranges[combination].get_or_insert_with(|| TrunkDraw::unset(terminals)).take_up(&drawn, &hold);
            }
        }
        // What the zone passes through while it settles may draw more than when it has settled: a short that a relay
        // opens.
        for state in around.widest() {
            let range = &mut ranges[self.zones.combinations.number(&state.positions.0)];
            middle.go_to(&state);
            one.unknown |= middle.solve().is_err();
            if let (Some(range), Some(drawn)) = (range, around.drawn(&mut middle)) {
                range.take_up(&drawn, &vec![f64::INFINITY; terminals]);
            }
        }
        one.draw = ranges.into_iter().map(|range| range.unwrap_or_else(|| TrunkDraw::none(terminals))).collect();
        let found = around.found();
        one.doubted = found.doubted.iter().copied().collect();
        one.turning_load = found.turning_load;
        one.unknown |= found.unknown;
        one
    }
}

impl TrunkDraw {
    /// Without any current yet: the first one is both least and most.
    fn unset(terminals: usize) -> TrunkDraw {
        let all = |value: f64| vec![value; terminals];
        TrunkDraw {
            most_at_low: all(f64::NEG_INFINITY),
            least_at_high: all(f64::INFINITY),
            size: all(0.0),
            hold: all(f64::INFINITY),
        }
    }

    /// Takes up what one state draws at the low and at the high levels, in each phase.
    fn take_up(&mut self, [low, high]: &[Vec<Vec<f64>>; 2], hold: &[f64]) {
        for terminal in 0..hold.len() {
            for amps in low {
                self.most_at_low[terminal] = self.most_at_low[terminal].max(amps[terminal]);
                self.size[terminal] = self.size[terminal].max(amps[terminal].abs());
            }
            for amps in high {
                self.least_at_high[terminal] = self.least_at_high[terminal].min(amps[terminal]);
            }
            self.hold[terminal] = self.hold[terminal].min(hold[terminal]);
        }
    }
}

impl ExploredZone {
    /// Whether every decision is the same for all trunk voltages between the levels.
    fn is_sure(&self) -> bool {
        self.doubted.is_empty() && !self.turning_load && !self.unknown
    }

    /// Whether currents drawn at the low and the high levels are no more and no less than those that the trunk lemma
    /// was found to hold for.
    pub(crate) fn draws_as_much(&self, combination: usize, [low, high]: &[Vec<Vec<f64>>; 2]) -> bool {
        let draw = &self.draw[combination];
        (0..self.terminals).all(|t| {
            // The conductance that holds a floating node is so low that every current counts.
            let rounding = if draw.hold[t] > 0.0 { 1e-9 * draw.size[t] + 1e-12 } else { ROUNDING_AMPS };
            low.iter().all(|amps| amps[t] <= draw.most_at_low[t] + rounding)
                && high.iter().all(|amps| amps[t] >= draw.least_at_high[t] - rounding)
        })
    }

    /// Current into each terminal in a state, the terminals held in the middle.
    pub(crate) fn amps(&self, number: u32) -> &[f64] {
        let first = number as usize * self.terminals;
        &self.amps[first..first + self.terminals]
    }
}

impl Zoned {
    /// The state of the whole, from one of each zone.
    pub(crate) fn whole_state(&self, circuit: &Circuit, numbers: &[u32]) -> State {
        let mut state = State { positions: Positions::at_rest(circuit), memory: Memory::empty(circuit) };
        for ((zone, one), number) in self.zones.zones.iter().zip(&self.explored).zip(numbers) {
            let own = &one.reach.states[*number as usize].state;
            for (id, position) in zone.inputs.iter().zip(&own.positions.0) {
                state.positions.0[id.index()] = *position;
            }
            for (local, id) in zone.actors.iter().enumerate() {
                state.memory.set_place(*id, own.memory.place(ActorId(local as u32)));
            }
        }
        state
    }

    /// The zone's share of a state of the whole.
    pub(crate) fn zone_state(&self, zone: &Zone, whole: &State) -> State {
        let mut state = State::at_rest(&zone.circuit);
        for (local, id) in zone.inputs.iter().enumerate() {
            state.positions.0[local] = whole.positions.of(*id);
        }
        for (local, id) in zone.actors.iter().enumerate() {
            state.memory.set_place(ActorId(local as u32), whole.memory.place(*id));
        }
        state
    }

    /// How many states the whole can be in.
    pub(crate) fn count(&self) -> u128 {
        let stand = |one: &ExploredZone, c: usize| {
            one.by_combination[c].iter().filter(|number| one.reach.states[**number as usize].stands).count() as u128
        };
        let product = |c: usize| self.explored.iter().map(|one| stand(one, c)).product::<u128>();
        (0..self.trunks.len()).map(product).sum()
    }

    /// For each zone the state that draws least (or most) at one combination, weighted by trunk node.
    pub(crate) fn extreme(&self, combination: usize, weights: &[f64], most: bool) -> Vec<u32> {
        let sign = if most { -1.0 } else { 1.0 };
        let each = self.zones.zones.iter().zip(&self.explored).map(|(zone, one)| {
            let weigh = |number: &u32| -> f64 {
                let amps = one.amps(*number);
                sign * zone.terminals.iter().zip(amps).map(|((_, at), amps)| weights[*at] * amps).sum::<f64>()
            };
            let states = one.by_combination[combination].iter();
            states.copied().min_by(|a, b| weigh(a).total_cmp(&weigh(b))).unwrap_or(0)
        });
        each.collect()
    }

    /// Whether some zone has no state at a combination: then the whole has none.
    pub(crate) fn empty(&self, combination: usize) -> bool {
        self.explored.iter().any(|one| one.by_combination[combination].is_empty())
    }
}
