//! Currents that meet nothing which takes them: no larger fuse and no thicker wire is an answer to them.

use super::{Context, Finding};
use catalogue::part_form::Across;
use model::ElementKind;
use quantity::Ohms;
use solve::{BranchId, CurrentPath, Solution};

/// A joint is a resistor of some milliohms.
pub const JOINT: Ohms = Ohms::new(0.1);

const HINT: &str = "this is the current of a short: follow the way to what joins it to ground and put that where it \
                    belongs; a larger fuse or a thicker wire would only burn later";

impl Context<'_> {
    /// Whether a way leads to the battery's negative past nothing that takes current.
    pub fn is_short(&self, solution: &Solution, way: &CurrentPath) -> bool {
        way.steps.last().is_some_and(|step| step.pin.is_none())
            && !self.branches_of(solution, way).iter().any(|branch| self.takes(solution, *branch))
    }

    /// A finding about a current, with another hint where that current is a short's.
    pub fn unless_short(&self, finding: Finding, solution: &Solution, way: &CurrentPath) -> Finding {
        let finding = if self.is_short(solution, way) { finding.hint(HINT) } else { finding };
        finding.path(self.waypoints(solution, way))
    }

    /// Whether a branch is something that takes current rather than lets it pass.
    fn takes(&self, solution: &Solution, branch: BranchId) -> bool {
        let Some(id) = self.element_of(branch) else { return false };
        let first = self.solved.assembly.element(id).first() == Some(&branch);
        match &self.model.element(id).kind {
            ElementKind::Fuse { .. }
            | ElementKind::Contact { .. }
            | ElementKind::Throw { .. }
            | ElementKind::GroundPoint { .. } => false,
            // One that is charged takes.
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
