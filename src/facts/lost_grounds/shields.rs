//! The shields of coaxial cables as grounds: if the ground of a camera or a screen is lost, its current returns through
//! them.
//!
//! Shields are solved only for lost grounds. With every ground whole they lie beside wires of a tenth of their
//! resistance or less, and end in plug shells that aren't made to carry a supply: they reduce a drop or a lift by
//! millivolts, and without them the figure is on the safe side. With a ground lost they are the only path.

use crate::figures;
use crate::moment::Moment;
use crate::paths::Paths;
use circuit::{Assembly, BranchId, Circuit, CurrentPath, Law, NodeId, PathStep, Reading, Solution, Spot, Variant, Via};
use engine::Solvers;
use model::{Domain, Model, PinId, ShieldEnd, SignalId, SignalKind, WireId};
use quantity::{Amps, Ohms};
use states::Wiring;
use std::collections::BTreeMap;

/// The circuit with the shields of its cables, and which branch is which cable's.
#[derive(Debug)]
pub struct Shields {
    solvers: Solvers,
    cables: Vec<(WireId, BranchId)>,
    /// How many branches are the harness's; the shields' come after.
    own: usize,
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
    /// The part of it that the loss causes.
    pub more: Amps,
    branch: BranchId,
}

/// A circuit with a ground lost.
#[derive(Debug)]
pub struct Lost {
    /// Its voltages and currents; the shields' currents come after all others.
    pub solution: Solution,
    /// The current through each cable's shield, what the loss changes most first.
    pub carried: Vec<ShieldCurrent>,
}

impl Shields {
    /// `None` if no cable's shield joins anything.
    pub(super) fn new(model: &Model, assembly: &Assembly) -> Option<Shields> {
        let mut circuit = assembly.circuit.clone();
        let own = circuit.branches.len();
        let mut ends: BTreeMap<ShieldEnd, NodeId> = BTreeMap::new();
        let mut spots: BTreeMap<NodeId, PinId> = BTreeMap::new();
        let mut node = |circuit: &mut Circuit, pin: PinId| {
            let end = model.shield_end(pin);
            let known = match end {
                ShieldEnd::Pin(pin) => assembly.pin(pin),
                _ => None,
            };
            known.unwrap_or_else(|| {
                *ends.entry(end).or_insert_with(|| {
                    let node = circuit.node(format!("the shield at {}", model.pin_name(pin)));
                    spots.insert(node, pin);
                    node
                })
            })
        };
        let mut cables = Vec::new();
        for id in model.wire_ids() {
            let wire = model.wire(id);
            if model::has_shield(model, id) {
                let [from, to] = wire.ends.map(|end| node(&mut circuit, end));
                let ohms = figures::shield_per_metre() * wire.length.unwrap_or(model.limits.local_length).value();
                let law = Law::Conductor { ohms, copper: true };
                cables.push((id, circuit.branch(format!("shield of wire {}", wire.id), from, to, law)));
            }
        }
        // In a connector without a ground the shields go through beside their pictures.
        for joint in model.joints.iter().filter(|joint| model.pin(joint.pins[0]).domain == Domain::Video) {
            if joint.pins.iter().any(|pin| matches!(model.shield_end(*pin), ShieldEnd::Alone(_))) {
                let [from, to] = joint.pins.map(|pin| node(&mut circuit, pin));
                circuit.resistor("shields in each other", from, to, joint.resistance.max(Ohms::new(0.001)));
            }
        }
        let pins = model.pin_ids().filter_map(|pin| Some((assembly.pin(pin)?, pin))).collect();
        (!cables.is_empty()).then_some(Shields { solvers: Solvers::new(circuit), cables, own, pins, spots })
    }

    /// The circuit at a moment with a ground lost and the shields in place; `None` if it does not settle.
    pub fn lost(&self, ground: BranchId, moment: &Moment) -> Option<Lost> {
        let whole = self.solvers.settle(moment.corner, &moment.state).settled()?;
        let open = Variant::open([ground]);
        let solution = self.solvers.settle_variant(moment.corner, &moment.state, &open).settled()?;
        let of = |(wire, branch): &(WireId, BranchId)| {
            let [before, amps] = [&whole, &solution].map(|solution| solution.amps(*branch));
            ShieldCurrent { wire: *wire, amps: amps.abs(), more: (amps - before).abs(), branch: *branch }
        };
        let mut carried: Vec<ShieldCurrent> = self.cables.iter().map(of).collect();
        carried.sort_by(|a, b| b.more.value().total_cmp(&a.more.value()).then(a.wire.cmp(&b.wire)));
        Some(Lost { solution, carried })
    }

    /// Whether a lost ground stays hidden: everything keeps working, some of it through shields alone.
    pub(super) fn hides(&self, wiring: &Wiring, ground: BranchId, moment: &Moment, lost: &Lost) -> bool {
        let (model, assembly) = (wiring.model, &wiring.assembly);
        let bare = moment.solve_open(wiring, [ground]);
        let (Some(whole), Some(bare)) = (moment.solve(wiring), bare) else { return false };
        let on = |solution: &Solution, id| assembly.reading(model, solution, id) == Reading::On;
        let works = |id: &SignalId| matches!(model.signals[id.0].kind, SignalKind::Working { .. }) && on(&whole, *id);
        let working: Vec<SignalId> = (0..model.signals.len()).map(SignalId).filter(works).collect();
        working.iter().all(|id| on(&lost.solution, *id)) && working.iter().any(|id| !on(&bare, *id))
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
            let one = &self.solvers.circuit().branches[branch.index()];
            let ends = if solution.amps(branch).value() >= 0.0 { [one.from, one.to] } else { [one.to, one.from] };
            (branch, ends)
        };
        let shields: Vec<(BranchId, [NodeId; 2])> =
            (self.own..self.solvers.circuit().branches.len()).map(|k| along(BranchId(k as u32))).collect();
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
