//! Limits of the search, and what keeps a circuit together that is beyond them.

use super::zones::{Loosened, TrunkCut};
use circuit::{ActorId, Circuit, InputId, Logic, NodeId, Positions};

/// Most combinations of positions that are all solved in one piece: some tens of seconds at one corner.
pub(super) const MOST_PROVED: usize = 65_536;

/// Most states in one piece, memory counted: some tens of megabytes.
pub(super) const MOST_STATES: usize = 4 * MOST_PROVED;

/// Most combinations of positions of zones that are joined because decisions depend on both.
pub(super) const MOST_MERGED: f64 = 4096.0;

/// Most states of a zone whose decisions in doubt are taken both ways.
pub(super) const MOST_BOTH_WAYS: usize = 4096;

/// States that are solved of a larger circuit: those with the fewest changes from rest.
pub(super) const FEW_STATES: usize = 512;

/// Steps after which a count is given up; the search then finds the states.
const MOST_COUNTED: usize = 4_000_000;

/// The reason why a circuit is one zone, too large to be solved in every state.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Together {
    /// The inputs of that zone.
    pub inputs: Vec<InputId>,
    /// The actors of that zone.
    pub actors: Vec<ActorId>,
    /// A node with too much resistance to its feed: with a low-resistance feed of its own it would leave smaller zones.
    pub soft: Option<NodeId>,
    /// An actor without which there would be smaller zones.
    pub joint: Option<ActorId>,
    /// There are zones, but the voltage that they share sags so far that no decision in one is sure without the others.
    pub sags: bool,
}

/// How many combinations of positions the inputs have.
pub(super) fn combinations_of(circuit: &Circuit) -> f64 {
    circuit.inputs.iter().map(|input| input.positions.len() as f64).product()
}

/// Whether there are more allowed combinations of positions than can be proved.
pub(super) fn is_too_many(circuit: &Circuit) -> bool {
    combinations_of(circuit) > MOST_PROVED as f64 && {
        let mut count = Count { circuit, positions: Positions::at_rest(circuit), found: 0, steps: 0 };
        count.from(0);
        count.found > MOST_PROVED
    }
}

/// Counting combinations, input by input.
struct Count<'c> {
    circuit: &'c Circuit,
    positions: Positions,
    found: usize,
    steps: usize,
}

impl Count<'_> {
    fn from(&mut self, input: usize) {
        self.steps += 1;
        if self.found > MOST_PROVED || self.steps > MOST_COUNTED {
            return;
        }
        let Some(here) = self.circuit.inputs.get(input) else {
            self.found += usize::from(self.positions.allowed(self.circuit));
            return;
        };
        for position in here.each_position() {
            self.positions.0[input] = position;
            if position == 0 || self.may_stand(input) {
                self.from(input + 1);
            }
        }
        self.positions.0[input] = 0;
    }

    /// Whether no input before this one keeps it at rest.
    fn may_stand(&self, input: usize) -> bool {
        let here = &self.circuit.inputs[input];
        let mut before = here.needs != Logic::Always;
        here.needs.visit(&mut |id| before &= id.index() < input, &mut |_| {});
        let excluded = here.excludes.iter().any(|other| other.index() < input && self.positions.of(*other) != 0);
        !excluded && (!before || here.needs.holds(&|id| self.positions.of(id), &|_| false))
    }
}

impl Together {
    /// What keeps the largest zone of a circuit together.
    pub(super) fn new(circuit: &Circuit, masters: &[bool]) -> Together {
        let cut = TrunkCut::new(circuit, masters);
        let (inputs, actors) = cut.greatest();
        let size = |loosened| TrunkCut::loosened(circuit, masters, &vec![false; circuit.nodes.len()], loosened).size();
        let nodes = (1..circuit.nodes.len() as u32).map(NodeId).filter(|node| !cut.trunk[node.index()]);
        let soft = nodes.map(|node| (size(Loosened::Stiff(node)), node)).min();
        let joint = actors.iter().map(|id| (size(Loosened::Without(*id)), *id)).min();
        let helps = |smaller: usize| smaller < cut.size();
        Together {
            soft: soft.filter(|(size, _)| helps(*size)).map(|(_, node)| node),
            joint: joint.filter(|(size, _)| helps(*size)).map(|(_, id)| id),
            inputs,
            actors,
            sags: false,
        }
    }

    /// What keeps zones together whose decisions depend on each other: a connection between them, or the trunk.
    pub(super) fn of_zones(circuit: &Circuit, actors: Vec<ActorId>) -> Together {
        let joined = Together::new(circuit, &vec![false; circuit.inputs.len()]);
        if actors.is_empty() && (joined.soft.is_some() || joined.joint.is_some()) {
            return joined;
        }
        let inputs = (0..circuit.inputs.len() as u32).map(InputId).collect();
        Together { inputs, actors, sags: true, ..Together::default() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Combinations of inputs that exclude each other, or need an input that comes later, are counted correctly.
    #[test]
    fn only_what_is_allowed_counts() {
        let mut circuit = Circuit::new();
        let all: Vec<InputId> = (0..24).map(|i| circuit.input(format!("i{i}"), &["off", "on"])).collect();
        assert!(is_too_many(&circuit));
        for (i, id) in all.iter().enumerate() {
            circuit.inputs[id.index()].excludes = all[..i].to_vec();
        }
        assert!(!is_too_many(&circuit));
        circuit.inputs.iter_mut().for_each(|input| input.excludes.clear());
        circuit.inputs[..8].iter_mut().for_each(|input| input.needs = Logic::At(all[23], 1));
        assert!(is_too_many(&circuit));
        circuit.inputs.truncate(16);
        circuit.inputs.iter_mut().for_each(|input| input.needs = Logic::Always);
        assert!(!is_too_many(&circuit));
    }
}
