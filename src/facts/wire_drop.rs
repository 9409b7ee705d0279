//! What the wires of a load lose on the way there and back.

use super::Paths;
use circuit::{CurrentPath, Solution, Via};
use model::{ElementId, Load, WireId};
use quantity::{MOST_AMPS, Volts};
use states::Wiring;

/// What a load's wires lose in one state.
#[derive(Debug, Clone)]
pub struct WireDrop {
    /// In all wires and mated contacts on the way there and back.
    pub volts: Volts,
    /// The wire that loses most, and what it loses.
    pub worst: Option<(WireId, Volts)>,
    /// The whole path.
    pub path: CurrentPath,
}

impl WireDrop {
    /// Follows the current of a load there and back.
    pub fn new(wiring: &Wiring, paths: &Paths, solution: &Solution, element: ElementId, load: &Load) -> WireDrop {
        let assembly = &wiring.assembly;
        let path = paths.through(solution, element, load.feed, load.ground);
        let mut drop = WireDrop { volts: Volts::new(0.0), worst: None, path: CurrentPath::default() };
        for step in &path.steps {
            let (branch, wire) = match step.via {
                Via::Wire(id) => (assembly.wire(id), Some(id)),
                Via::Joint(joint) => (assembly.joint(joint), None),
                Via::Shield(id) => (assembly.shield(id), Some(id)),
                Via::Element(_) | Via::ShieldContacts => continue,
            };
            // A drop means nothing if nothing limits the current.
            if step.amps > MOST_AMPS {
                continue;
            }
            let volts = branch.map_or(Volts::new(0.0), |branch| solution.across(branch).abs());
            drop.volts = drop.volts + volts;
            if let Some(wire) = wire
                && drop.worst.is_none_or(|(_, most)| volts > most)
            {
                drop.worst = Some((wire, volts));
            }
        }
        drop.path = path;
        drop
    }
}
