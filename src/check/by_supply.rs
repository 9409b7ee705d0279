//! Relays that are in or out by the supply alone.

use super::Context;
use super::sneak::Lifted;
use super::worst::{CORNERS, Moment};
use catalogue::part_form::Across;
use model::{Coil, ElementId, SignalId};
use quantity::Volts;
use size::opens_a_fuse;
use solve::{Corner, Solution, Supply};

/// A relay that is out, and in with more supply, nothing else being moved.
#[derive(Debug)]
pub struct Moved {
    /// Its coil.
    pub coil: ElementId,
    /// The relay.
    pub relay: SignalId,
    /// Where it is out, with the voltage of its coil there.
    pub out: (Moment, Volts),
    /// Where it is in.
    pub within: Solution,
}

impl Context<'_> {
    /// Relays that are out in some state, and in with more supply, worked out when first asked for.
    pub fn moved_by_supply(&self) -> &[Moved] {
        self.by_supply.get_or_init(|| moved(self))
    }
}

/// Of each relay the simplest state in which the supply decides: between least and nominal first.
fn moved(context: &Context) -> Vec<Moved> {
    context.model.coils().filter_map(|(id, coil)| of_coil(context, id, coil)).collect()
}

fn of_coil(context: &Context, id: ElementId, coil: &Coil) -> Option<Moved> {
    let shorted = coil.across == Across::Diode && context.is_crossed(coil);
    if shorted || context.is_chattering(coil.relay) {
        return None; // Told by net/coil-polarity, logic/chatter.
    }
    let lifted = context.worst.sneaks.lifted(id);
    // One that never pulls in at least supply is told by load/coil-weak.
    let weak = context.weak_coil(id, coil).is_some();
    let at = |supply: Supply| lifted.iter().filter(move |lifted| lifted.moment.corner.supply == supply);
    let less = at(Supply::Least).filter(|_| !weak).find_map(|lifted| pulled_in(context, id, coil, lifted));
    less.or_else(|| at(Supply::Nominal).find_map(|lifted| pulled_in(context, id, coil, lifted)))
}

/// A state in which a coil has some voltage and its relay is out, if the relay is in at the next greater supply, all that
/// remembers being as it was.
fn pulled_in(context: &Context, id: ElementId, coil: &Coil, lifted: &Lifted) -> Option<Moved> {
    let more = match lifted.moment.corner.supply {
        Supply::Least => Corner::NOMINAL,
        _ => *CORNERS.iter().find(|corner| corner.supply == Supply::Greatest)?,
    };
    let is_in = |solution: &Solution| solution.state.holds(context.solved.assembly.signal(coil.relay));
    let out = context.solution(&lifted.moment).filter(|solution| !is_in(solution))?;
    let within = Moment::new(out.state.clone(), more);
    let within = context.solution(&within).filter(is_in)?;
    // A short that opens a fuse at once doesn't last, whatever it does to voltages.
    if [&out, &within].into_iter().any(|one| opens_a_fuse(context.model, &context.solved.assembly, one)) {
        return None;
    }
    Some(Moved { coil: id, relay: coil.relay, out: (lifted.moment.clone(), lifted.volts), within })
}
