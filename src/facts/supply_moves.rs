//! Relays whose position depends on the supply voltage alone.

use super::connectivity::Connectivity;
use super::consumers::is_coil_crossed;
use super::moment::{CORNERS, Moment};
use super::sneak::{Lifted, SneakPaths};
use super::unsettled::Unsettled;
use super::worst::WorstValues;
use catalogue::part_form::Across;
use circuit::{Corner, Solution, Supply};
use model::{Coil, ElementId, SignalId};
use quantity::Volts;
use size::opens_a_fuse;
use states::Wiring;

/// A relay that is out, and in with more supply, while nothing else moves.
#[derive(Debug)]
pub struct MovedBySupply {
    /// Its coil.
    pub coil: ElementId,
    /// The relay.
    pub relay: SignalId,
    /// Where it is out, with the voltage of its coil there.
    pub out: (Moment, Volts),
    /// Where it is in.
    pub within: Solution,
}

/// What the search reads.
pub(super) struct Search<'f> {
    pub wiring: &'f Wiring<'f>,
    pub connectivity: &'f Connectivity<'f>,
    pub worst: &'f WorstValues,
    pub sneaks: &'f SneakPaths,
    pub unsettled: &'f Unsettled,
}

impl Search<'_> {
    /// For each relay the simplest state in which the supply decides: between least and nominal supply first.
    pub fn moved(&self) -> Vec<MovedBySupply> {
        self.wiring.model.coils().filter_map(|(id, coil)| self.of_coil(id, coil)).collect()
    }

    fn of_coil(&self, id: ElementId, coil: &Coil) -> Option<MovedBySupply> {
        let shorted = coil.across == Across::Diode && is_coil_crossed(self.connectivity, coil);
        if shorted || self.unsettled.is_chattering(coil.relay) {
            return None; // The diode across its coil shorts it, or it moves by itself.
        }
        let lifted = self.sneaks.lifted(id);
        // A coil that never pulls in at the lowest supply is weak in itself.
        let weak = self.worst.weak_coil(self.wiring, id, coil).is_some();
        let at = |supply: Supply| lifted.iter().filter(move |lifted| lifted.moment.corner.supply == supply);
        let less = at(Supply::Least).filter(|_| !weak).find_map(|lifted| self.pulled_in(id, coil, lifted));
        less.or_else(|| at(Supply::Nominal).find_map(|lifted| self.pulled_in(id, coil, lifted)))
    }

    /// A state in which a coil has some voltage and its relay is out, if the relay is in at the next greater supply,
    /// all that remembers being as it was.
    fn pulled_in(&self, id: ElementId, coil: &Coil, lifted: &Lifted) -> Option<MovedBySupply> {
        let more = match lifted.moment.corner.supply {
            Supply::Least => Corner::NOMINAL,
            _ => *CORNERS.iter().find(|corner| corner.supply == Supply::Greatest)?,
        };
        let is_in = |solution: &Solution| solution.state.holds(self.wiring.assembly.signal(coil.relay));
        let out = lifted.moment.solve(self.wiring).filter(|solution| !is_in(solution))?;
        let steps = Moment::new(out.state.clone(), more).steps(self.wiring);
        let is_in_in_all = steps.iter().all(is_in);
        let within = steps.into_iter().next().filter(|_| is_in_in_all)?;
        // A short that opens a fuse at once does not last.
        if [&out, &within].into_iter().any(|one| opens_a_fuse(self.wiring.model, &self.wiring.assembly, one)) {
            return None;
        }
        Some(MovedBySupply { coil: id, relay: coil.relay, out: (lifted.moment.clone(), lifted.volts), within })
    }
}
