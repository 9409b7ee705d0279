//! What the wires of a load lose on the way there and back.

use super::Paths;
use circuit::{CurrentPath, Solution};
use model::{ElementId, ElementKind};
use size::{LoadDrop, load_drop};
use states::Wiring;

/// What a load's wires lose in one state.
#[derive(Debug, Clone)]
pub struct WireDrop {
    /// The losses.
    pub lost: LoadDrop,
    /// The whole path, from the supply on.
    pub path: CurrentPath,
}

impl WireDrop {
    /// Follows the current of a load there and back; `None` for anything else.
    pub fn new(wiring: &Wiring, paths: &Paths, solution: &Solution, element: ElementId) -> Option<WireDrop> {
        let ElementKind::Load(load) = &wiring.model.element(element).kind else { return None };
        let lost = load_drop(wiring.model, &wiring.assembly, paths.tracer(), solution, element)?;
        Some(WireDrop { lost, path: paths.through(solution, element, load.feed, load.ground) })
    }
}
