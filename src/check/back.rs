//! The way by which something that should be dead is held up: along the current where there is one, else along what
//! conducts.

use super::metal::Metal;
use super::sneak::Lifted;
use super::worst::Moment;
use super::{Context, Finding, Rule};
use model::{ElementId, ElementKind, PinId};
use quantity::{Amps, Volts};
use solve::{BranchId, CurrentPath, Law, NEGATIVE, NodeId, PathStep, Solution, Solver, Via};
use std::collections::{BTreeMap, VecDeque};

/// Difference of currents by which branches of one element are told apart.
const SAME_AMPS: f64 = 1e-9;

/// Share by which a voltage must be greater to be told beside another.
const MORE: f64 = 0.01;

/// A wire or a supply of the vehicle, and what of the vehicle's own draws its voltage down while it is off.
pub struct Hidden {
    /// The wire or the supply.
    pub element: ElementId,
    /// Where the harness meets it.
    pub pin: PinId,
    /// The vehicle's own branches that draw it down.
    pub branches: Vec<BranchId>,
    /// What they are: `lamps`.
    pub loads: &'static str,
    /// The current that counts.
    pub noticed: Amps,
}

impl Context<'_> {
    /// The way by which a pin is held up or fed, from the supply on. None where only leakage or the resistances of trigger
    /// inputs lead to it, which give next to nothing.
    pub fn held_by(&self, solution: &Solution, pin: PinId) -> Option<CurrentPath> {
        let way = self.way_to(solution, pin);
        let faint = |branch: &BranchId| self.is_faint(*branch);
        if way.steps.is_empty() || self.branches_of(solution, &way).iter().any(faint) {
            return self.joined_to_supply(solution, self.solved.assembly.pin(pin)?);
        }
        Some(way)
    }

    /// The way by which a pin is joined to the battery's negative by metal alone.
    pub fn grounded_by(&self, solution: &Solution, pin: PinId) -> Option<CurrentPath> {
        let assembly = &self.solved.assembly;
        let mut node = assembly.pin(pin)?;
        let branches = Metal::new(self.model, assembly).to_ground(assembly, &solution.state, node)?;
        let mut way = CurrentPath { start: Some(pin), steps: Vec::new() };
        for branch in branches {
            let one = &assembly.circuit.branches[branch.index()];
            node = if one.from == node { one.to } else { one.from };
            let pin = self.model.pin_ids().find(|pin| assembly.pin(*pin) == Some(node));
            let (volts, amps) = (solution.volts(node), solution.amps(branch).abs());
            way.steps.extend(self.tracer.via(branch).map(|via| PathStep { via, pin, volts, amps }));
        }
        Some(way)
    }

    /// The way by which current leaves a pin.
    pub fn way_from(&self, solution: &Solution, pin: PinId) -> CurrentPath {
        self.tracer.out_of_pin(&self.solved.assembly, solution, pin)
    }

    /// The voltage of a pin without some branches of the vehicle's own.
    pub fn volts_without(&self, moment: &Moment, pin: PinId, own: impl IntoIterator<Item = BranchId>) -> Option<Volts> {
        let assembly = &self.solved.assembly;
        let circuit = assembly.circuit.without(own);
        let solution = Solver::new(&circuit, moment.corner).settle(&moment.state).settled()?;
        Some(assembly.volts(&solution, pin))
    }

    /// A finding about something of the vehicle that is off and whose own loads draw its voltage down: that it takes a
    /// current tells that it is fed, if it would have a voltage without them. If it wouldn't, it is the millivolts of a
    /// shared ground.
    pub fn fed_though_hidden(&self, rule: &Rule, hidden: &Hidden, taken: &Lifted) -> Option<Finding> {
        let least = self.model.limits.sneak_voltage;
        let without = self.volts_without(&taken.moment, hidden.pin, hidden.branches.iter().copied())?;
        if without <= least {
            return None;
        }
        let solution = self.solution(&taken.moment)?;
        let way = self.held_by(&solution, hidden.pin)?;
        let name = self.model.pin_name(hidden.pin);
        let state = self.state_words(&taken.moment);
        let all = self.worst.sneaks.taken(hidden.element);
        let most = all.iter().map(|one| one.amps).fold(taken.amps, Amps::max);
        let message = format!("`{name}` is off {state} and takes {} from the harness", taken.amps);
        let finding = rule
            .finding(self.end_place(hidden.pin), message)
            .about(name.as_str())
            .label("fed from behind")
            .limit("current into it", taken.amps, hidden.noticed)
            .limit(&format!("voltage there without the vehicle's own {}", hidden.loads), without, least)
            .value("greatest current in any state", most);
        let (finding, _) = self.shown_at(finding, &taken.moment);
        Some(finding.path(self.waypoints(&solution, &way)))
    }

    /// What else the current of a coil or a lamp goes through, in words, with the whole way. None where it has a feed and
    /// a ground of its own.
    pub fn through_another(
        &self,
        solution: &Solution,
        own: ElementId,
        feed: PinId,
        ground: PinId,
    ) -> Option<(String, CurrentPath)> {
        let volts = |pin| self.solved.assembly.volts(solution, pin);
        let (from, to) = if volts(feed) >= volts(ground) { (feed, ground) } else { (ground, feed) };
        let way = self.way_through(solution, own, from, to);
        let branches = self.branches_of(solution, &way);
        let branch = branches.into_iter().find(|branch| self.is_consumer(*branch, own))?;
        Some((format!("`{}`", self.solved.assembly.circuit.branches[branch.index()].name), way))
    }

    /// A finding with the greatest voltage that a coil or a load gets through something else, where that is more than the
    /// state shown has.
    pub fn with_worst_sneak(&self, finding: Finding, own: ElementId, shown: &Lifted, pins: [PinId; 2]) -> Finding {
        let mut all = self.worst.sneaks.lifted(own);
        all.retain(|other| other.volts.value() > shown.volts.value() * (1.0 + MORE));
        all.sort_by(|a, b| b.volts.value().total_cmp(&a.volts.value()));
        let through = |other: &&Lifted| {
            let solution = self.solution(&other.moment);
            solution.is_some_and(|solution| self.through_another(&solution, own, pins[0], pins[1]).is_some())
        };
        match all.into_iter().find(through) {
            Some(worst) => {
                let what = format!("at the worst, {} ({})", self.state_words(&worst.moment), worst.moment.corner);
                finding.value(&what, format!("{}, {}", worst.volts, worst.amps))
            }
            None => finding,
        }
    }

    /// The branches of a way, in its order.
    pub fn branches_of(&self, solution: &Solution, way: &CurrentPath) -> Vec<BranchId> {
        let assembly = &self.solved.assembly;
        let of_step = |step: &PathStep| match step.via {
            Via::Wire(id) => assembly.wire(id),
            Via::Joint(joint) => assembly.joint(joint),
            Via::Element(id) => {
                let carries =
                    |branch: &&BranchId| (solution.amps(**branch).abs() - step.amps).abs().value() <= SAME_AMPS;
                let branches = assembly.element(id);
                branches.iter().find(carries).or(branches.first()).copied()
            }
        };
        way.steps.iter().filter_map(of_step).collect()
    }

    /// The element that a branch belongs to.
    pub fn element_of(&self, branch: BranchId) -> Option<ElementId> {
        match self.tracer.via(branch) {
            Some(Via::Element(id)) => Some(id),
            _ => None,
        }
    }

    /// Whether a branch gives next to nothing: leakage, a trigger input.
    fn is_faint(&self, branch: BranchId) -> bool {
        let Some(id) = self.element_of(branch) else { return false };
        let main = self.solved.assembly.element(id).first() == Some(&branch);
        match &self.model.element(id).kind {
            ElementKind::Sense { .. } => true,
            ElementKind::Output { .. } | ElementKind::Feed(_) => {
                !main && matches!(self.solved.assembly.circuit.branches[branch.index()].law, Law::Current { .. })
            }
            _ => false,
        }
    }

    /// Whether a branch is one of another consumer than `own`: a coil, a load, what the vehicle has on its wire or supply, a
    /// trigger input.
    fn is_consumer(&self, branch: BranchId, own: ElementId) -> bool {
        let Some(id) = self.element_of(branch).filter(|id| *id != own) else { return false };
        match &self.model.element(id).kind {
            ElementKind::Coil(_) | ElementKind::Load(_) | ElementKind::Sense { .. } => true,
            ElementKind::Feed(_) | ElementKind::Derived { .. } => {
                let law = &self.solved.assembly.circuit.branches[branch.index()].law;
                self.solved.assembly.element(id).first() != Some(&branch) && !matches!(law, Law::Diode { .. })
            }
            _ => self.is_faint(branch),
        }
    }

    /// The shortest way from a supply to a node along what conducts both ways, or towards it.
    fn joined_to_supply(&self, solution: &Solution, start: NodeId) -> Option<CurrentPath> {
        let circuit = &self.solved.assembly.circuit;
        // For each node, the branch that leads on towards the start, and the node it comes to.
        let mut onward: BTreeMap<NodeId, (BranchId, NodeId)> = BTreeMap::new();
        let mut queue = VecDeque::from([start]);
        while let Some(node) = queue.pop_front() {
            for (i, one) in circuit.branches.iter().enumerate() {
                let branch = BranchId(i as u32);
                let forward = one.to == node;
                if !(forward || one.from == node) || !solution.state.holds(&one.when) || self.is_faint(branch) {
                    continue;
                }
                let from = if forward { one.from } else { one.to };
                match one.law {
                    Law::Source { .. } | Law::Regulated { .. } if forward => {
                        return Some(self.onward(solution, node, start, &onward));
                    }
                    Law::Conductor { .. } | Law::Pulsed { .. } | Law::Lamp { .. } => {}
                    Law::Diode { .. } | Law::Led { .. } if forward => {}
                    _ => continue,
                }
                if from != NEGATIVE && from != start && !onward.contains_key(&from) {
                    onward.insert(from, (branch, node));
                    queue.push_back(from);
                }
            }
        }
        None
    }

    /// The way from a node on to where it ends.
    fn onward(
        &self,
        solution: &Solution,
        first: NodeId,
        end: NodeId,
        onward: &BTreeMap<NodeId, (BranchId, NodeId)>,
    ) -> CurrentPath {
        let assembly = &self.solved.assembly;
        let pin = |node: NodeId| self.model.pin_ids().find(|pin| assembly.pin(*pin) == Some(node));
        let mut way = CurrentPath { start: pin(first), steps: Vec::new() };
        let mut node = first;
        while let Some((branch, next)) = onward.get(&node).filter(|_| node != end) {
            let amps: Amps = solution.amps(*branch).abs();
            let volts: Volts = solution.volts(*next);
            let steps = self.tracer.via(*branch).map(|via| PathStep { via, pin: pin(*next), volts, amps });
            way.steps.extend(steps);
            node = *next;
        }
        way
    }
}
