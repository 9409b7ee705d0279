//! The way that a current takes in a solved state: followed from pin to pin along the greatest current.

use super::{Context, Waypoint};
use crate::model::{ElementId, Load, Model, PinId, WireId};
use crate::quantity::Volts;
use crate::solve::{Assembly, BranchId, NEGATIVE, NodeId, Solution};

/// Least current that is followed.
const LEAST_AMPS: f64 = 1e-7;

/// Branches of the circuit by node, and which of them are wires.
#[derive(Debug)]
pub struct Branches {
    at: Vec<Vec<BranchId>>,
    wire: Vec<Option<WireId>>,
    conductor: Vec<bool>,
}

impl Branches {
    /// Of an assembled circuit.
    pub fn new(model: &Model, assembly: &Assembly) -> Branches {
        let circuit = &assembly.circuit;
        let mut at = vec![Vec::new(); circuit.nodes.len()];
        for (i, branch) in circuit.branches.iter().enumerate() {
            for node in [branch.from, branch.to] {
                at[node.index()].push(BranchId(i as u32));
            }
        }
        let mut wire = vec![None; circuit.branches.len()];
        let mut conductor = vec![false; circuit.branches.len()];
        for id in model.wire_ids() {
            if let Some(branch) = assembly.wire(id) {
                (wire[branch.index()], conductor[branch.index()]) = (Some(id), true);
            }
        }
        for branch in (0..model.joints.len()).filter_map(|joint| assembly.joint(joint)) {
            conductor[branch.index()] = true;
        }
        Branches { at, wire, conductor }
    }
}

/// A branch on the way of a current, with the node that the current comes from.
#[derive(Debug, Clone, Copy)]
pub struct Leg {
    /// The branch.
    pub branch: BranchId,
    /// Where the current enters it.
    pub from: NodeId,
    /// Where it leaves it.
    pub to: NodeId,
}

/// What a load's wires lose.
#[derive(Debug, Clone)]
pub struct Loss {
    /// In all wires and mated contacts on the way there and back.
    pub volts: Volts,
    /// The wire that loses most, and what it loses.
    pub worst: Option<(WireId, Volts)>,
    /// The whole way.
    pub legs: Vec<Leg>,
}

impl Context<'_> {
    /// The way that the current of a load takes, from the supply through it to the battery's negative.
    pub fn way_through(&self, solution: &Solution, element: ElementId, feed: PinId, ground: PinId) -> Vec<Leg> {
        let assembly = &self.solved.assembly;
        let (Some(from), Some(to)) = (assembly.pin(feed), assembly.pin(ground)) else { return Vec::new() };
        let mut legs = self.legs(solution, from, true);
        legs.reverse();
        legs.extend(assembly.element(element).first().map(|&branch| Leg { branch, from, to }));
        legs.extend(self.legs(solution, to, false));
        legs
    }

    /// The way by which current comes to a pin.
    pub fn way_to(&self, solution: &Solution, pin: PinId) -> Vec<Leg> {
        let Some(node) = self.solved.assembly.pin(pin) else { return Vec::new() };
        let mut legs = self.legs(solution, node, true);
        legs.reverse();
        legs
    }

    /// The way by which current comes to a pin and leaves it again.
    pub fn way_over(&self, solution: &Solution, pin: PinId) -> Vec<Leg> {
        let mut legs = self.way_to(solution, pin);
        if let Some(node) = self.solved.assembly.pin(pin) {
            legs.extend(self.legs(solution, node, false));
        }
        legs
    }

    /// Legs from a node on, along the greatest current: against it, or with it.
    fn legs(&self, solution: &Solution, start: NodeId, against: bool) -> Vec<Leg> {
        let circuit = &self.solved.assembly.circuit;
        let mut legs: Vec<Leg> = Vec::new();
        let mut node = start;
        while node != NEGATIVE {
            let mut best: Option<(f64, Leg)> = None;
            for &branch in &self.branches.at[node.index()] {
                let ends = &circuit.branches[branch.index()];
                let along = solution.amps(branch).value();
                let (from, to) = if along >= 0.0 { (ends.from, ends.to) } else { (ends.to, ends.from) };
                let fits = if against { to == node } else { from == node };
                if fits && along.abs() > best.map_or(LEAST_AMPS, |(amps, _)| amps) {
                    best = Some((along.abs(), Leg { branch, from, to }));
                }
            }
            let Some((_, leg)) = best else { break };
            node = if against { leg.from } else { leg.to };
            if node == start || legs.iter().any(|l| if against { l.from == node } else { l.to == node }) {
                break;
            }
            legs.push(leg);
        }
        legs
    }

    /// A way in words, for evidence.
    pub fn waypoints(&self, solution: &Solution, legs: &[Leg]) -> Vec<Waypoint> {
        let circuit = &self.solved.assembly.circuit;
        let point = |node: NodeId| Waypoint {
            pin: circuit.nodes[node.index()].clone(),
            volts: solution.volts(node),
            through: None,
            amps: None,
        };
        // The battery's own resistance lies before its terminal; nobody asks for it.
        let legs = if legs.first().is_some_and(|leg| leg.from == NEGATIVE) { &legs[1..] } else { legs };
        let start = legs.first().map(|leg| point(leg.from));
        let steps = legs.iter().map(|leg| Waypoint {
            through: Some(circuit.branches[leg.branch.index()].name.clone()),
            amps: Some(solution.amps(leg.branch).abs()),
            ..point(leg.to)
        });
        start.into_iter().chain(steps).collect()
    }

    /// What the wires of a load lose on the way there and back.
    pub fn loss(&self, solution: &Solution, element: ElementId, load: &Load) -> Loss {
        let legs = self.way_through(solution, element, load.feed, load.ground);
        let mut loss = Loss { volts: Volts::new(0.0), worst: None, legs: Vec::new() };
        for leg in &legs {
            if !self.branches.conductor[leg.branch.index()] {
                continue;
            }
            let volts = solution.across(leg.branch).abs();
            loss.volts = loss.volts + volts;
            if let Some(wire) = self.branches.wire[leg.branch.index()]
                && loss.worst.is_none_or(|(_, most)| volts > most)
            {
                loss.worst = Some((wire, volts));
            }
        }
        loss.legs = legs;
        loss
    }
}

/// The branches of wires and mated contacts on a pin, each with the sign that makes current away from the pin positive.
pub(super) fn leaving(model: &Model, assembly: &Assembly, pin: PinId) -> Vec<(BranchId, f64)> {
    let sign = |ends: [PinId; 2]| if ends[0] == pin { 1.0 } else { -1.0 };
    let wires = model.wires_on(pin).filter_map(|id| Some((assembly.wire(id)?, sign(model.wire(id).ends))));
    let joints = model.joints.iter().enumerate().filter(|(_, joint)| joint.pins.contains(&pin));
    wires.chain(joints.filter_map(|(i, joint)| Some((assembly.joint(i)?, sign(joint.pins))))).collect()
}
