//! The shields of coaxial cables as grounds: if the ground of a camera or a screen is lost, its current returns through
//! them.

use crate::WorstValues;
use crate::connectivity::Connectivity;
use crate::moment::{Moment, Peak};
use crate::paths::Paths;
use circuit::{BranchId, CurrentPath, NEGATIVE, NodeId, PathStep, Reading, Solution, Spot, Via};
use model::{PartId, PinId, SignalId, SignalKind, WireId};
use quantity::Amps;
use states::Wiring;
use std::collections::BTreeMap;

/// The shields of a circuit, and which branch is which cable's.
#[derive(Debug)]
pub struct ShieldBranches {
    cables: Vec<(WireId, BranchId)>,
    /// The branches of shields and of contacts between them, each with its ends.
    branches: Vec<(BranchId, [NodeId; 2])>,
    /// The pin of each node that is one.
    pins: BTreeMap<NodeId, PinId>,
    /// Nodes of shields that are no pin, each with a pin whose cable's shield it is.
    spots: BTreeMap<NodeId, PinId>,
}

/// The current through the shield of a cable.
#[derive(Debug, Clone, Copy)]
pub struct ShieldCurrent {
    /// The cable.
    pub wire: WireId,
    /// Through its shield.
    pub amps: Amps,
    /// Through it with the ground in place.
    pub before: Amps,
    branch: BranchId,
}

/// A circuit with a ground lost.
#[derive(Debug)]
pub struct Lost {
    /// Its voltages and currents.
    pub solution: Solution,
    /// The current through each cable's shield, what the loss changes most first.
    pub carried: Vec<ShieldCurrent>,
}

/// The cable on a part whose shield carries the highest current, if that is more than leakage.
pub(crate) fn ground_by_shield<'w>(
    wiring: &Wiring,
    connectivity: &Connectivity,
    worst: &'w WorstValues,
    part: PartId,
) -> Option<(WireId, &'w Peak<Amps>)> {
    let wires = wiring.model.part(part).pins.iter().flat_map(|pin| connectivity.wires_on(*pin));
    let carried = wires.filter_map(|wire| Some((*wire, worst.amps(wiring.assembly.shield(*wire)?)?)));
    let most = carried.max_by(|a, b| a.1.value.value().total_cmp(&b.1.value.value()))?;
    (most.1.value > wiring.model.limits.sneak_current).then_some(most)
}

impl ShieldBranches {
    /// `None` if the harness has no cable with a shield.
    pub(crate) fn new(wiring: &Wiring) -> Option<ShieldBranches> {
        let (model, assembly) = (wiring.model, &wiring.assembly);
        let cables: Vec<(WireId, BranchId)> =
            model.wire_ids().filter_map(|wire| Some((wire, assembly.shield(wire)?))).collect();
        let all = cables.iter().map(|(_, branch)| *branch).chain(assembly.shield_contacts().iter().copied());
        let branches: Vec<(BranchId, [NodeId; 2])> = all
            .map(|branch| {
                let one = &assembly.circuit.branches[branch.index()];
                (branch, [one.from, one.to])
            })
            .collect();
        let pins = model.pin_ids().filter_map(|pin| Some((assembly.pin(pin)?, pin))).collect();
        let spots = assembly.shield_spots().iter().copied().collect();
        (!cables.is_empty()).then_some(ShieldBranches { branches, cables, pins, spots })
    }

    /// The circuit at a moment with a ground lost and the shields in place; `None` if it does not settle.
    pub fn lost(&self, wiring: &Wiring, ground: BranchId, moment: &Moment) -> Option<Lost> {
        let whole = moment.solve(wiring)?;
        let solution = moment.solve_open(wiring, [ground])?;
        let of = |(wire, branch): &(WireId, BranchId)| {
            let [before, amps] = [&whole, &solution].map(|solution| solution.amps(*branch));
            ShieldCurrent { wire: *wire, amps: amps.abs(), before: before.abs(), branch: *branch }
        };
        let mut carried: Vec<ShieldCurrent> = self.cables.iter().map(of).collect();
        let more = |one: &ShieldCurrent| (one.amps - one.before).abs().value();
        carried.sort_by(|a, b| more(b).total_cmp(&more(a)).then(a.wire.cmp(&b.wire)));
        Some(Lost { solution, carried })
    }

    /// Whether a lost ground stays hidden: everything keeps working, some of it through shields alone. Without shields
    /// it would stop, or never settle.
    pub(super) fn hides(&self, wiring: &Wiring, ground: BranchId, moment: &Moment, lost: &Lost) -> bool {
        let (model, assembly) = (wiring.model, &wiring.assembly);
        let shields = self.branches.iter().map(|(branch, _)| *branch);
        let bare = moment.solve_open(wiring, shields.chain([ground]));
        let Some(whole) = moment.solve(wiring) else { return false };
        let on = |solution: &Solution, id| assembly.reading(model, solution, id) == Reading::On;
        let works = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Working { .. }) && on(&whole, *id);
        let working: Vec<SignalId> = (0..model.signals.len()).map(SignalId).filter(works).collect();
        working.iter().all(|id| on(&lost.solution, *id))
            && bare.is_none_or(|bare| working.iter().any(|id| !on(&bare, *id)))
    }

    /// The path of the current over the shield of a cable; empty for a wire without one.
    pub fn path_of(&self, paths: &Paths, solution: &Solution, wire: WireId) -> CurrentPath {
        let Some((_, branch)) = self.cables.iter().find(|(cable, _)| *cable == wire) else {
            return CurrentPath::default();
        };
        let amps = solution.amps(*branch).abs();
        self.path(paths, solution, &ShieldCurrent { wire, amps, before: amps, branch: *branch })
    }

    /// The path of a current over the shield of a cable: from the supply to where it enters a shield, along shields,
    /// and on to the battery's negative.
    pub fn path(&self, paths: &Paths, solution: &Solution, carried: &ShieldCurrent) -> CurrentPath {
        let chain = self.chain(solution, carried.branch);
        let pin = |end: Option<NodeId>| end.and_then(|node| self.pins.get(&node)).copied();
        let first = chain.first().map(|(_, ends)| ends[0]);
        let mut path = match pin(first) {
            Some(from) => paths.to(solution, from),
            None => CurrentPath { start: first.map_or(Spot::Negative, |node| self.spot(node)), steps: Vec::new() },
        };
        path.steps.extend(chain.iter().map(|(branch, [_, to])| PathStep {
            via: self.via(*branch),
            to: self.spot(*to),
            volts: solution.volts(*to),
            amps: solution.amps(*branch).abs(),
        }));
        if let Some(to) = pin(chain.last().map(|(_, ends)| ends[1])) {
            path.steps.extend(paths.from(solution, to).steps);
        }
        path
    }

    fn spot(&self, node: NodeId) -> Spot {
        let shield = || self.spots.get(&node).copied().map_or(Spot::Negative, Spot::ShieldAt);
        self.pins.get(&node).copied().map_or_else(shield, Spot::Pin)
    }

    fn via(&self, branch: BranchId) -> Via {
        let cable = self.cables.iter().find(|(_, other)| *other == branch);
        cable.map_or(Via::ShieldContacts, |(wire, _)| Via::Shield(*wire))
    }

    /// The shields that a current goes along, one after the other, by the greater share at each fork, each with its
    /// ends along the current.
    fn chain(&self, solution: &Solution, through: BranchId) -> Vec<(BranchId, [NodeId; 2])> {
        let along = |branch: BranchId| {
            let ends =
                self.branches.iter().find(|(other, _)| *other == branch).map_or([NEGATIVE; 2], |(_, ends)| *ends);
            (branch, if solution.amps(branch).value() >= 0.0 { ends } else { [ends[1], ends[0]] })
        };
        let shields: Vec<(BranchId, [NodeId; 2])> = self.branches.iter().map(|(branch, _)| along(*branch)).collect();
        let greatest = |node: NodeId, end: usize| {
            let there = shields.iter().filter(|(_, ends)| ends[end] == node);
            there.max_by(|a, b| solution.amps(a.0).abs().value().total_cmp(&solution.amps(b.0).abs().value())).copied()
        };
        let mut chain = vec![along(through)];
        // Current never returns to the same point, so neither direction is longer than the number of shields.
        for _ in 0..shields.len() {
            let (first, last) = (chain[0].1[0], chain[chain.len() - 1].1[1]);
            let before = Some(first).filter(|node| !self.pins.contains_key(node)).and_then(|node| greatest(node, 1));
            let after = Some(last).filter(|node| !self.pins.contains_key(node)).and_then(|node| greatest(node, 0));
            chain.splice(0..0, before);
            chain.extend(after);
        }
        chain
    }
}
