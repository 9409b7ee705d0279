//! Which part or wire of the harness each branch of the circuit is.

use catalogue::part_form::Across;
use circuit::{Assembly, BranchId, CurrentPath, Law, NEGATIVE, PathStep, Solution, Spot, Tracer, Via};
use model::{ElementId, ElementKind, Model, PinId};
use quantity::Ohms;
use states::Wiring;

/// Currents of branches of one element that differ by more than this are different, amperes.
const SAME_AMPS: f64 = 1e-9;

/// A resistor of at most this counts as a joint and not as something that takes current.
pub const JOINT: Ohms = Ohms::new(0.1);

/// Looks up branches.
#[derive(Debug, Clone, Copy)]
pub struct Branches<'f> {
    wiring: &'f Wiring<'f>,
    tracer: &'f Tracer,
}

impl<'f> Branches<'f> {
    pub(super) fn new(wiring: &'f Wiring<'f>, tracer: &'f Tracer) -> Branches<'f> {
        Branches { wiring, tracer }
    }

    /// The part or wire of a branch; `None` for the vehicle's own.
    pub fn via(&self, branch: BranchId) -> Option<Via> {
        self.tracer.via(branch)
    }

    /// The branches of a path, in its order.
    pub fn of_path(&self, solution: &Solution, path: &CurrentPath) -> Vec<BranchId> {
        let before = std::iter::once(path.start).chain(path.steps.iter().map(|step| step.to));
        before.zip(&path.steps).filter_map(|(from, step)| self.of_step(solution, from, step)).collect()
    }

    /// The branch that a step from a spot goes through. Of several branches of one element, such as a switch of the vehicle and
    /// its lamps, it is a branch between the two spots, and of these the branch with the step's current.
    fn of_step(&self, solution: &Solution, from: Spot, step: &PathStep) -> Option<BranchId> {
        let assembly = &self.wiring.assembly;
        let id = match step.via {
            Via::Wire(id) => return assembly.wire(id),
            Via::Joint(joint) => return assembly.joint(joint),
            Via::Shield(id) => return assembly.shield(id),
            Via::ShieldContacts => return None,
            Via::Element(id) => id,
        };
        let node = |spot: Spot| match spot {
            Spot::Negative => Some(NEGATIVE),
            spot => spot.pin().and_then(|pin| assembly.pin(pin)),
        };
        let ends = [node(from), node(step.to)];
        let joins = |branch: &&BranchId| {
            let one = &assembly.circuit.branches[branch.index()];
            let own = [Some(one.from), Some(one.to)];
            own == ends || own == [ends[1], ends[0]]
        };
        let carries = |branch: &&BranchId| (solution.amps(**branch).abs() - step.amps).abs().value() <= SAME_AMPS;
        let branches = assembly.element(id);
        let joining = || branches.iter().filter(joins);
        // A step from the input of a converter to its output is no branch of its own.
        let found = joining().find(carries).or_else(|| joining().next());
        found.or_else(|| branches.iter().find(carries)).or(branches.first()).copied()
    }

    /// The element that a branch belongs to.
    pub fn element_of(&self, branch: BranchId) -> Option<ElementId> {
        match self.via(branch) {
            Some(Via::Element(id)) => Some(id),
            _ => None,
        }
    }

    /// Whether a branch gives almost nothing: leakage, a trigger input.
    pub(super) fn is_faint(&self, branch: BranchId) -> bool {
        let Some(id) = self.element_of(branch) else { return false };
        let main = self.wiring.assembly.element(id).first() == Some(&branch);
        match &self.wiring.model.element(id).kind {
            ElementKind::Sense { .. } => true,
            ElementKind::Output { .. } | ElementKind::Feed(_) => {
                !main && matches!(self.wiring.assembly.circuit.branches[branch.index()].law, Law::Current { .. })
            }
            _ => false,
        }
    }

    /// Whether a branch belongs to another consumer than `own`: a coil, a load, the vehicle's loads on its wire or
    /// supply, a trigger input.
    pub(super) fn is_consumer(&self, branch: BranchId, own: ElementId) -> bool {
        let Some(id) = self.element_of(branch).filter(|id| *id != own) else { return false };
        match &self.wiring.model.element(id).kind {
            ElementKind::Coil(_) | ElementKind::Load(_) | ElementKind::Sense { .. } => true,
            ElementKind::Feed(_) | ElementKind::Derived { .. } => {
                let law = &self.wiring.assembly.circuit.branches[branch.index()].law;
                self.wiring.assembly.element(id).first() != Some(&branch) && !matches!(law, Law::Diode { .. })
            }
            _ => self.is_faint(branch),
        }
    }

    /// Whether a path leads to the battery's negative without passing anything that takes current.
    pub fn is_short(&self, solution: &Solution, path: &CurrentPath) -> bool {
        path.steps.last().is_some_and(|step| step.to == Spot::Negative)
            && !self.of_path(solution, path).iter().any(|branch| self.takes(solution, *branch))
    }

    /// Whether a branch consumes current rather than passing it on.
    fn takes(&self, solution: &Solution, branch: BranchId) -> bool {
        let Some(id) = self.element_of(branch) else { return false };
        let first = self.wiring.assembly.element(id).first() == Some(&branch);
        match &self.wiring.model.element(id).kind {
            ElementKind::Fuse { .. }
            | ElementKind::Contact { .. }
            | ElementKind::Throw { .. }
            | ElementKind::GroundPoint { .. } => false,
            // A battery that is charged takes current.
            ElementKind::Battery { .. } => solution.amps(branch).value() < 0.0,
            ElementKind::Derived { .. }
            | ElementKind::Feed(_)
            | ElementKind::Output { .. }
            | ElementKind::Diode { .. } => !first,
            // The diode across a coil that is fed the wrong way round.
            ElementKind::Coil(coil) => first || coil.across != Across::Diode,
            ElementKind::Resistor { resistance, .. } => *resistance > JOINT,
            _ => true,
        }
    }
}

/// The branches of wires and mated contacts on a pin, each with the sign that makes current out of the pin positive.
pub fn leaving(model: &Model, assembly: &Assembly, pin: PinId) -> Vec<(BranchId, f64)> {
    let sign = |ends: [PinId; 2]| if ends[0] == pin { 1.0 } else { -1.0 };
    let wires = model.wires_on(pin).filter_map(|id| Some((assembly.wire(id)?, sign(model.wire(id).ends))));
    let joints = model.joints.iter().enumerate().filter(|(_, joint)| joint.pins.contains(&pin));
    wires.chain(joints.filter_map(|(i, joint)| Some((assembly.joint(i)?, sign(joint.pins))))).collect()
}
