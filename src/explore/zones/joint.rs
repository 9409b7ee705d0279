//! States of the whole, combined from states of its zones.

use super::apart::Zone;
use super::search::{ExploredZone, Zoned};
use crate::question::About;
use crate::reach::Move;
use circuit::{ActorId, Circuit, Position, State};
use engine::{Ending, Settler};
use std::collections::{BTreeMap, BTreeSet};

/// What a question distinguishes in a zone: positions and actors that it names; the number of the state if it asks for
/// voltages or currents.
type Aspect = (Vec<Position>, Vec<bool>, Option<u32>);

impl Zoned {
    /// A state of one zone, with the others as they are at rest with the same master positions.
    pub(crate) fn with_others(&self, circuit: &Circuit, at: usize, own: &State) -> State {
        let positions = &own.positions.0[..self.zones.masters.len()];
        let combination = self.zones.combinations.number(positions);
        let mut numbers: Vec<u32> =
            self.explored.iter().map(|one| one.by_combination[combination].first().copied().unwrap_or(0)).collect();
        if let Some(number) = self.explored[at].reach.known.number(own) {
            numbers[at] = number as u32;
        }
        let mut whole = self.whole_state(circuit, &numbers);
        let zone = &self.zones.zones[at];
        for (id, position) in zone.inputs.iter().zip(&own.positions.0) {
            whole.positions.0[id.index()] = *position;
        }
        for (local, id) in zone.actors.iter().enumerate() {
            whole.memory.set_on(*id, own.memory.on(ActorId(local as u32)));
            whole.memory.set_was(*id, own.memory.was(ActorId(local as u32)));
        }
        whole
    }

    /// The states that a state with decisions in doubt may be: as they would be taken now, and as they may have been
    /// before.
    pub(crate) fn both_ways(&self, state: &State) -> [State; 2] {
        let off = |actors: &[ActorId]| {
            let mut state = state.clone();
            actors.iter().for_each(|id| state.memory.set_on(*id, false));
            state
        };
        [off(&self.doubtful), off(&self.never)]
    }

    /// The actors in doubt that don't come on by themselves in any state that is shown: being held on once
    /// they are on does not count.
    pub(crate) fn never_come_on(&self, circuit: &Circuit, settler: &mut Settler) -> Vec<ActorId> {
        let mut never = self.doubtful.clone();
        if never.is_empty() {
            return never;
        }
        for state in self.worst(circuit) {
            if settler.run(&self.both_ways(&state)[0]) == Ending::Settled {
                never.retain(|id| !settler.state().memory.on(*id));
            }
        }
        never
    }

    /// For each trunk node, the states in which the zones lower its voltage least and most.
    pub(crate) fn extremes(&self, combination: usize) -> Vec<[Vec<u32>; 2]> {
        let nodes = 0..self.zones.trunk.len();
        let each = nodes.map(|node| {
            let weights = self.trunks[combination].weights(node, &self.hold[combination]);
            [false, true].map(|most| self.extreme(combination, &weights, most))
        });
        each.collect()
    }

    /// The states of the whole among which everything is at its worst: the extremes of each trunk branch and node, and
    /// each zone in each of its states with the others at the extremes for its own terminals.
    pub(crate) fn worst(&self, circuit: &Circuit) -> Vec<State> {
        let mut all = vec![self.first.clone()];
        let mut picks: BTreeSet<Vec<u32>> = BTreeSet::new();
        for combination in (0..self.trunks.len()).filter(|c| !self.empty(*c)) {
            let extremes = self.extremes(combination);
            picks.extend(extremes.iter().flatten().cloned());
            picks.extend(self.branch_extremes(circuit, combination));
            for (at, zone) in self.zones.zones.iter().enumerate() {
                for number in &self.explored[at].by_combination[combination] {
                    for (_, node) in &zone.terminals {
                        for rest in &extremes[*node] {
                            let mut pick = rest.clone();
                            pick[at] = *number;
                            picks.insert(pick);
                        }
                    }
                    if zone.terminals.is_empty() {
                        let mut pick = extremes.first().map_or_else(|| vec![0; self.explored.len()], |e| e[0].clone());
                        pick[at] = *number;
                        picks.insert(pick);
                    }
                }
            }
        }
        all.extend(picks.iter().map(|pick| self.whole_state(circuit, pick)));
        all.dedup();
        all
    }

    /// For each branch of the trunk the states in which it carries least and most. Its current is a weighted sum of the
    /// zones' currents, so each zone is taken at its own extreme; the sum also moves the trunk, which changes it by
    /// less than the bounds within which the zones were explored.
    fn branch_extremes(&self, circuit: &Circuit, combination: usize) -> Vec<Vec<u32>> {
        let (trunk, least) = (&self.trunks[combination], &self.hold[combination]);
        let weights = |node: circuit::NodeId| match self.zones.trunk.binary_search(&node) {
            Ok(at) => trunk.weights(at, least),
            Err(_) => match self.zones.inner.binary_search(&node) {
                Ok(at) => trunk.inner_weights(at, least),
                Err(_) => vec![0.0; self.zones.trunk.len()],
            },
        };
        let mut picks = vec![];
        for id in &self.zones.trunk_branches {
            let branch = &circuit.branches[id.index()];
            let (from, to) = (weights(branch.from), weights(branch.to));
            let across: Vec<f64> = from.iter().zip(&to).map(|(a, b)| a - b).collect();
            picks.extend([false, true].map(|most| self.extreme(combination, &across, most)));
        }
        picks
    }

    /// The states of the whole that answer a question about several things.
    pub(crate) fn worst_about(&self, circuit: &Circuit, about: &About) -> Vec<State> {
        let mut picks: BTreeSet<Vec<u32>> = BTreeSet::new();
        for combination in (0..self.trunks.len()).filter(|c| !self.empty(*c)) {
            let choices: Vec<Vec<u32>> = self
                .zones
                .zones
                .iter()
                .zip(&self.explored)
                .map(|(zone, one)| choices(zone, one, combination, about))
                .collect();
            for rest in self.extremes(combination).iter().flatten() {
                combine(&choices, rest, &mut picks);
            }
        }
        picks.iter().map(|pick| self.whole_state(circuit, pick)).collect()
    }

    /// The states that answer a question about several things with the fewest inputs away from rest, at most `most`.
    pub(crate) fn simplest(&self, circuit: &Circuit, about: &About, most: usize) -> Vec<State> {
        let (mut picks, masters) = (vec![], self.zones.masters.len());
        let at = |combination: usize| -> (usize, Vec<Vec<(usize, u32)>>) {
            let zones = self.zones.zones.iter().zip(&self.explored).map(|(zone, one)| {
                let mut numbers = choices(zone, one, combination, about);
                if numbers.is_empty() {
                    numbers.push(one.by_combination[combination][0]);
                }
                let own = |number: u32| one.reach.states[number as usize].state.positions.0[masters..].iter();
                let away = |number: u32| (own(number).filter(|position| **position != 0).count(), number);
                numbers.into_iter().map(away).collect()
            });
            let shared = self.zones.combinations.positions(combination);
            (shared.iter().filter(|position| **position != 0).count(), zones.collect())
        };
        let all: Vec<_> = (0..self.trunks.len()).filter(|c| !self.empty(*c)).map(at).collect();
        for away in 0..=circuit.inputs.len() {
            for (shared, zones) in all.iter().filter(|(shared, _)| *shared <= away) {
                with_away(zones, away - shared, &mut vec![], most, &mut picks);
            }
        }
        picks.iter().map(|pick| self.whole_state(circuit, pick)).collect()
    }

    /// The changes that lead to a state of the whole: those of the masters with the first zone's, then zone by zone.
    pub(crate) fn way_to(&self, state: &State) -> Option<Vec<Move>> {
        let mut moves = vec![];
        let mut ways = vec![];
        for (zone, one) in self.zones.zones.iter().zip(&self.explored) {
            let number = one.reach.known.number(&self.zone_state(zone, state))?;
            ways.push((zone, one.reach.way_to(number)));
        }
        let masters = self.zones.masters.len();
        let is_shared = |step: &Move| match step {
            Move::Input(id, _) => id.index() < masters,
            Move::Elapsed(_) => false,
            Move::Connect | Move::PowerLoss => true,
        };
        // The way with the most shared changes leads; the others' own changes follow the shared ones that they wait
        // for.
        let lead = (0..ways.len())
            .max_by_key(|i| (ways[*i].1.iter().filter(|step| is_shared(step)).count(), std::cmp::Reverse(*i)))?;
        let translate = |zone: &Zone, step: Move| match step {
            Move::Input(id, position) => Move::Input(zone.inputs[id.index()], position),
            Move::Elapsed(id) => Move::Elapsed(zone.actors[id.index()]),
            other => other,
        };
        let (zone, way) = &ways[lead];
        moves.extend(way.iter().map(|step| translate(zone, *step)));
        for (_, (zone, way)) in ways.iter().enumerate().filter(|(i, _)| *i != lead) {
            moves.extend(way.iter().filter(|step| !is_shared(step)).map(|step| translate(zone, *step)));
        }
        Some(moves)
    }
}

/// The states of a zone that a question distinguishes; empty if it isn't about the zone.
fn choices(zone: &Zone, one: &ExploredZone, combination: usize, about: &About) -> Vec<u32> {
    let has_volts = about.nodes.iter().any(|node| zone.nodes[1..].contains(node))
        || about.branches.iter().any(|branch| zone.branches.contains(branch));
    let inputs: Vec<usize> = (0..zone.inputs.len()).filter(|i| about.inputs.contains(&zone.inputs[*i])).collect();
    let actors: Vec<usize> = (0..zone.actors.len()).filter(|i| about.actors.contains(&zone.actors[*i])).collect();
    if !has_volts && inputs.is_empty() && actors.is_empty() {
        return vec![];
    }
    let mut by_aspect: BTreeMap<Aspect, u32> = BTreeMap::new();
    for number in &one.by_combination[combination] {
        let state = &one.reach.states[*number as usize].state;
        let positions = inputs.iter().map(|i| state.positions.0[*i]).collect();
        let on = actors.iter().map(|i| state.memory.on(ActorId(*i as u32))).collect();
        by_aspect.entry((positions, on, has_volts.then_some(*number))).or_insert(*number);
    }
    by_aspect.into_values().collect()
}

/// Every choice of one state of each zone with `away` inputs away from rest in total; each state comes with its own
/// number.
fn with_away(zones: &[Vec<(usize, u32)>], away: usize, pick: &mut Vec<u32>, most: usize, picks: &mut Vec<Vec<u32>>) {
    let Some((first, others)) = zones.split_first() else {
        if away == 0 && picks.len() < most {
            picks.push(pick.clone());
        }
        return;
    };
    let rest: usize = others.iter().map(|zone| zone.iter().map(|one| one.0).max().unwrap_or(0)).sum();
    for (own, number) in first.iter().filter(|(own, _)| *own <= away && away - *own <= rest) {
        if picks.len() >= most {
            return;
        }
        pick.push(*number);
        with_away(others, away - own, pick, most, picks);
        pick.pop();
    }
}

/// Every choice of every zone that has one, the others as in `rest`.
fn combine(choices: &[Vec<u32>], rest: &[u32], picks: &mut BTreeSet<Vec<u32>>) {
    let mut pick = rest.to_vec();
    let free: Vec<usize> = (0..choices.len()).filter(|i| !choices[*i].is_empty()).collect();
    let mut digits = vec![0; free.len()];
    loop {
        for (digit, at) in digits.iter().zip(&free) {
            pick[*at] = choices[*at][*digit];
        }
        picks.insert(pick.clone());
        let Some(turn) = (0..free.len()).find(|i| digits[*i] + 1 < choices[free[*i]].len()) else { return };
        digits[turn] += 1;
        digits[..turn].fill(0);
    }
}
