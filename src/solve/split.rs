//! Exploring a circuit part by part.
//!
//! Each part is explored with the trunk's voltages held where they are with half of all loads on. Then it is shown that
//! no state of the other parts moves the trunk so far that any relay, trigger input or load in this part would decide
//! otherwise: then the parts' states are all there is to the states of the whole, in every combination.

use super::bounds::{Answer, Bounds};
use super::circuit::{ActorId, Circuit, InputId, Law};
use super::corner::Corner;
use super::limits::{MOST_BOTH_WAYS, MOST_STATES, is_too_many};
use super::parts::{Part, Parts, take_apart};
use super::plan::Plan;
use super::reach::{Interrupted, Reach, Watch, reach};
use super::settle::Solver;
use super::state::{Memory, Positions, State};
use super::step::BothWays;
use super::trunk::Trunk;
use quantity::Volts;
use std::sync::Arc;

/// Times that the bounds are drawn anew before it is given up.
const TRIES: usize = 8;

/// First bounds: this share of a trunk node's voltage, and this much more.
const FIRST_OFF_SHARE: f64 = 0.03;
const FIRST_OFF_VOLTS: f64 = 0.06;

/// What becomes of decisions that hang on what the other parts draw.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Doubts {
    /// The circuit stays whole then, which is exact.
    Refused,
    /// They are taken both ways, so that worst values are known within bounds.
    BothWays,
}

/// Why a circuit is not explored part by part.
#[derive(Debug)]
pub(super) enum NoSplit {
    /// It is one part, or one of them is as hard as the whole; with these masters.
    OnePart(Vec<bool>),
    /// The parts can't be told apart; with the actors in doubt, if it is those.
    Together(Vec<ActorId>),
}

/// How many combinations of positions the inputs have.
pub(super) fn combinations_of(circuit: &Circuit) -> f64 {
    circuit.inputs.iter().map(|input| input.positions.len() as f64).product()
}

/// A circuit explored part by part.
#[derive(Debug, Clone)]
pub(super) struct Split {
    pub parts: Parts,
    /// What each part can be in.
    pub explored: Vec<Explored>,
    /// Trunk by combination of master positions.
    pub trunks: Vec<Trunk>,
    /// How far its voltages may be off from where they were held.
    pub off: Vec<Vec<f64>>,
    /// Least conductances that the parts have together, by combination and trunk node.
    pub least: Vec<Vec<f64>>,
    /// Whether worst currents are known within bounds only, because of loads near their least voltage.
    pub bounded: bool,
    /// Actors that may decide otherwise with what the other parts draw. Their decisions were taken both ways, so not all
    /// of the states can be reached.
    pub doubtful: Vec<ActorId>,
    /// Those of them that don't come on in any state of the whole that is shown.
    pub never: Vec<ActorId>,
    pub first: State,
}

/// One part.
#[derive(Debug, Clone)]
pub(super) struct Explored {
    pub reach: Reach,
    /// How each state answers, in the order of the states.
    pub answers: Vec<Answer>,
    /// The same in the phases of pulses after the first, by state.
    pub between_pulses: Vec<Vec<Answer>>,
    /// States by combination of master positions.
    pub by_combination: Vec<Vec<u32>>,
}

/// Sums over all parts at one combination, by trunk node.
struct Totals {
    least_amps: Vec<f64>,
    most_amps: Vec<f64>,
    least: Vec<f64>,
    greatest: Vec<f64>,
    bend: Vec<f64>,
}

/// Explores part by part, or tells why the circuit stays whole.
pub(super) fn split(
    circuit: &Circuit,
    corner: Corner,
    doubts: Doubts,
    watch: Watch,
) -> Result<Result<Split, NoSplit>, Interrupted> {
    let Some(mut parts) = take_apart(circuit) else {
        return Ok(Err(NoSplit::OnePart(vec![false; circuit.inputs.len()])));
    };
    let masters = || (0..circuit.inputs.len() as u32).map(|i| parts.masters.contains(&InputId(i))).collect();
    if parts.parts.iter().any(|part| is_too_many(&part.circuit)) {
        return Ok(Err(NoSplit::OnePart(masters())));
    }
    let combinations = parts.combinations(circuit);
    let trunks: Vec<Trunk> = (0..combinations).map(|c| Trunk::new(circuit, corner, &parts, c)).collect();
    let mut held: Vec<Vec<f64>> = trunks.iter().map(Trunk::unloaded).collect();
    let first_off = |volts: &f64| FIRST_OFF_SHARE * volts.abs() + FIRST_OFF_VOLTS;
    let mut off: Vec<Vec<f64>> = held.iter().map(|volts| volts.iter().map(first_off).collect()).collect();
    let plans: Vec<Arc<Plan>> = parts.parts.iter().map(|part| Arc::new(Plan::new(&part.circuit))).collect();
    let mut way = Way::Straight;
    for _ in 0..TRIES {
        let mut explored = vec![];
        for (part, plan) in parts.parts.iter_mut().zip(&plans) {
            hold(part, &held, combinations);
            let bounds = bounds(circuit, &parts.masters, part, plan, &off);
            let mut solver = Solver::with_plan(&part.circuit, plan.clone(), corner);
            solver.bound(bounds, part.branches.len());
            solver.both_ways = (way == Way::Both).then(BothWays::default);
            explored.push(explore_part(solver, combinations, watch)?);
            if explored.last().is_some_and(|one| one.reach.cut) {
                let parts = Parts { parts: parts.parts[..explored.len()].to_vec(), ..parts };
                return Ok(Err(NoSplit::Together(doubtful(&parts, &explored))));
            }
        }
        let all: Vec<Totals> = (0..combinations).map(|c| Totals::new(&parts, &explored, c)).collect();
        let Some(needed) = needed(&trunks, &held, &all) else { return Ok(Err(NoSplit::Together(vec![]))) };
        let is_inside = |c: usize| needed[c].iter().zip(&off[c]).all(|(needed, off)| needed <= off);
        if !(0..combinations).all(is_inside) {
            for c in (0..combinations).filter(|c| !is_inside(*c)).collect::<Vec<_>>() {
                // In the middle of what there is, half as far is far enough; a little more for the parts' own answer.
                held[c] = trunks[c].moved(&held[c], &all[c].middle(&trunks[c], &held[c]), &all[c].least);
                off[c] = needed[c].iter().map(|needed| 0.75 * needed + 1e-4).collect();
            }
            continue;
        }
        let doubtful = doubtful(&parts, &explored);
        // A load takes most just at its least voltage, which the extremes of the others may step over.
        let bounded = explored.iter().any(|one| one.reach.turning_load);
        let lost = explored.iter().any(|one| one.reach.doubtful_load);
        let accepted = !lost && (doubts == Doubts::BothWays || doubtful.is_empty() && !bounded);
        let next = match way {
            _ if doubtful.is_empty() && !bounded && !lost => None,
            // Bounds no wider than they need be leave less in doubt.
            Way::Straight => Some(Way::Close),
            Way::Close if accepted && !doubtful.is_empty() => Some(Way::Both),
            _ => None,
        };
        if let Some(next) = next {
            if next == Way::Close {
                let closer = |needed: &Vec<f64>| needed.iter().map(|needed| 1.02 * needed + 1e-4).collect();
                off = needed.iter().map(closer).collect();
            }
            way = next;
            continue;
        }
        if !accepted {
            return Ok(Err(NoSplit::Together(doubtful)));
        }
        let least = all.into_iter().map(|totals| totals.least).collect();
        let first = State::at_rest(circuit);
        let mut split = Split { parts, explored, trunks, off, least, bounded, doubtful, never: vec![], first };
        let states = split.at_rest();
        split.first = split.whole_state(circuit, &states);
        return Ok(Ok(split));
    }
    Ok(Err(NoSplit::Together(vec![])))
}

/// How parts are explored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Straight,
    /// With bounds as close as they may be.
    Close,
    /// With decisions in doubt taken both ways.
    Both,
}

/// How far the trunk may move at each combination; `None` if that isn't found.
fn needed(trunks: &[Trunk], held: &[Vec<f64>], all: &[Totals]) -> Option<Vec<Vec<f64>>> {
    let each = trunks.iter().zip(held).zip(all).map(|((trunk, held), totals)| {
        let left_over = [&totals.most_amps, &totals.least_amps].map(|amps| trunk.left_over(held, amps));
        let worst = left_over[0].iter().zip(&left_over[1]).zip(&totals.bend);
        let worst: Vec<f64> = worst.map(|((a, b), bend)| a.abs().max(b.abs()) + bend).collect();
        trunk.off(&worst, &totals.least, &totals.greatest)
    });
    each.collect()
}

/// Actors of the whole whose decision is in doubt in some part.
fn doubtful(parts: &Parts, explored: &[Explored]) -> Vec<ActorId> {
    let each = parts.parts.iter().zip(explored);
    let mut all: Vec<ActorId> =
        each.flat_map(|(part, one)| one.reach.doubtful.iter().map(|id| part.actors[id.index()])).collect();
    all.sort_unstable();
    all
}

/// Holds a part's terminals at the trunk's voltages.
fn hold(part: &mut Part, held: &[Vec<f64>], combinations: usize) {
    for terminal in 0..part.terminals.len() {
        let (_, at) = part.terminals[terminal];
        for (combination, volts) in held.iter().enumerate() {
            let source = part.source(terminal, combination, combinations);
            if let Law::Source { volts: held, .. } = &mut part.circuit.branches[source.index()].law {
                *held = [Volts::new(volts[at]); 3];
            }
        }
    }
}

pub(super) fn bounds(
    circuit: &Circuit,
    masters: &[super::InputId],
    part: &Part,
    plan: &Plan,
    off: &[Vec<f64>],
) -> Bounds {
    Bounds {
        terminals: part.terminals.iter().map(|(node, _)| plan.column_of[node.index()]).collect(),
        off: off.iter().map(|off| part.terminals.iter().map(|(_, at)| off[*at]).collect()).collect(),
        masters: masters.iter().map(|id| circuit.inputs[id.index()].positions.len()).collect(),
    }
}

fn explore_part(mut solver: Solver, combinations: usize, watch: Watch) -> Result<Explored, Interrupted> {
    let most = if solver.both_ways.is_some() { MOST_BOTH_WAYS } else { MOST_STATES };
    let mut reach = reach(&mut solver, most, watch)?;
    reach.cut |= solver.both_ways.as_ref().is_some_and(|ways| ways.too_many);
    solver.both_ways = None;
    let mut one = Explored {
        reach: Reach::default(),
        answers: Vec::with_capacity(reach.states.len()),
        between_pulses: vec![],
        by_combination: vec![vec![]; combinations],
    };
    for (number, reached) in reach.states.iter().enumerate() {
        let combination = solver.bounds.as_ref().map_or(0, |bounds| bounds.combination(&reached.state.positions.0));
        one.by_combination[combination].push(number as u32);
        // Held, not settled: a state caught in a chatter draws its current too.
        solver.go_to(&reached.state);
        reach.doubtful_load |= solver.solve().is_err();
        let mut loose = vec![];
        // OK because the solver of a part has bounds.
        let Some(spread) = solver.spread(&mut loose) else { continue };
        let answer = solver.answer(&spread, loose);
        one.answers.push(answer);
        one.between_pulses.push(solver.answers_in_phases());
    }
    let [doubtful, turning] = solver.loads_in_doubt();
    reach.doubtful_load |= doubtful;
    reach.turning_load |= turning;
    one.reach = reach;
    Ok(one)
}

impl Totals {
    /// What is left over in the middle between the parts' least and greatest draw.
    fn middle(&self, trunk: &Trunk, held: &[f64]) -> Vec<f64> {
        let [least, most] = [&self.most_amps, &self.least_amps].map(|amps| trunk.left_over(held, amps));
        least.iter().zip(&most).map(|(a, b)| 0.5 * (a + b)).collect()
    }

    fn new(parts: &Parts, explored: &[Explored], combination: usize) -> Totals {
        let n = parts.trunk.len();
        let zero = || vec![0.0; n];
        let mut totals =
            Totals { least_amps: zero(), most_amps: zero(), least: zero(), greatest: zero(), bend: zero() };
        for (part, one) in parts.parts.iter().zip(explored) {
            let numbers = || one.by_combination[combination].iter().map(|number| *number as usize);
            let answers = || numbers().flat_map(|n| one.between_pulses[n].iter().chain([&one.answers[n]]));
            let range = |pick: &dyn Fn(&Answer) -> f64| {
                answers().fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], answer| {
                    [low.min(pick(answer)), high.max(pick(answer))]
                })
            };
            if answers().next().is_none() {
                continue;
            }
            for (terminal, (_, at)) in part.terminals.iter().enumerate() {
                let [low, high] = range(&|answer| answer.amps[terminal]);
                totals.least_amps[*at] += low;
                totals.most_amps[*at] += high;
                totals.least[*at] += range(&|answer| answer.least[terminal])[0];
                totals.greatest[*at] += range(&|answer| answer.greatest[terminal])[1];
                totals.bend[*at] += range(&|answer| answer.bend[terminal])[1];
            }
        }
        totals
    }
}

impl Split {
    /// For each part the number of its state with everything at rest.
    pub(super) fn at_rest(&self) -> Vec<u32> {
        vec![0; self.parts.parts.len()]
    }

    /// The state of the whole, from one of each part.
    pub(super) fn whole_state(&self, circuit: &Circuit, numbers: &[u32]) -> State {
        let mut state = State { positions: Positions::at_rest(circuit), memory: Memory::empty(circuit) };
        for ((part, one), number) in self.parts.parts.iter().zip(&self.explored).zip(numbers) {
            let own = &one.reach.states[*number as usize].state;
            for (id, position) in part.inputs.iter().zip(&own.positions.0) {
                state.positions.0[id.index()] = *position;
            }
            for (local, id) in part.actors.iter().enumerate() {
                let local = ActorId(local as u32);
                state.memory.set_on(*id, own.memory.on(local));
                state.memory.set_was(*id, own.memory.was(local));
            }
        }
        state
    }

    /// The part's share of a state of the whole.
    pub(super) fn part_state(&self, part: &Part, whole: &State) -> State {
        let mut state = State::at_rest(&part.circuit);
        for (local, id) in part.inputs.iter().enumerate() {
            state.positions.0[local] = whole.positions.of(*id);
        }
        for (local, id) in part.actors.iter().enumerate() {
            let local = ActorId(local as u32);
            state.memory.set_on(local, whole.memory.on(*id));
            state.memory.set_was(local, whole.memory.was(*id));
        }
        state
    }

    /// How many states the whole can be in.
    pub(super) fn count(&self) -> u128 {
        let stand = |one: &Explored, c: usize| {
            one.by_combination[c].iter().filter(|number| one.reach.states[**number as usize].stands).count() as u128
        };
        let product = |c: usize| self.explored.iter().map(|one| stand(one, c)).product::<u128>();
        (0..self.trunks.len()).map(product).sum()
    }

    /// For each part the state that draws least (or most) at one combination, weighed by trunk node.
    pub(super) fn extreme(&self, combination: usize, weights: &[f64], most: bool) -> Vec<u32> {
        let sign = if most { -1.0 } else { 1.0 };
        let each = self.parts.parts.iter().zip(&self.explored).map(|(part, one)| {
            let weigh = |number: &u32| -> f64 {
                let amps = &one.answers[*number as usize].amps;
                sign * part.terminals.iter().zip(amps).map(|((_, at), amps)| weights[*at] * amps).sum::<f64>()
            };
            let states = one.by_combination[combination].iter();
            states.copied().min_by(|a, b| weigh(a).total_cmp(&weigh(b))).unwrap_or(0)
        });
        each.collect()
    }

    /// Whether some part has no state at a combination: then the whole has none.
    pub(super) fn empty(&self, combination: usize) -> bool {
        self.explored.iter().any(|one| one.by_combination[combination].is_empty())
    }
}
