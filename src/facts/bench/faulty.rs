//! The harness at the bench with a fault of the build in it.

use super::build_faults::BuildFault;
use super::{Bench, BenchState};
use circuit::{Solution, Variant};
use model::{PartId, ScreenId, WireId};
use states::{Picture, Reached, Walk, picture_without, read_screen};

/// The harness at the bench with a fault in it.
pub struct FaultyBench<'b> {
    bench: &'b Bench<'b>,
    variant: Variant,
    reached: Reached<'b>,
    /// A picture's cable that is cut.
    cut: Option<WireId>,
    /// A source that sends nothing.
    dead: Option<PartId>,
}

impl<'b> FaultyBench<'b> {
    /// With a fault; `None` if it changes neither the circuit nor a picture.
    pub fn new(bench: &'b Bench<'b>, fault: BuildFault) -> Option<FaultyBench<'b>> {
        let wiring = &bench.wiring;
        let variant = fault.variant(wiring.model, &wiring.assembly);
        let cut = match fault {
            BuildFault::NoContact(wire) if wiring.model.wire(wire).domain == model::Domain::Video => Some(wire),
            _ => None,
        };
        let dead = if let BuildFault::NoPicture(part) = fault { Some(part) } else { None };
        if variant.is_none() && cut.is_none() && dead.is_none() {
            return None;
        }
        let variant = variant.unwrap_or(Variant::NONE);
        Some(FaultyBench { bench, reached: Reached::new(wiring.solvers(), variant.clone()), variant, cut, dead })
    }

    /// What it does after the moves that lead the good harness to a state; `None` if it does not settle.
    pub fn at(&mut self, there: &BenchState) -> Option<Solution> {
        if there.changes.is_empty() && !there.is_rest {
            return Walk::through(self.bench.wiring.solvers(), self.variant.clone()).settle(&there.solution.state);
        }
        self.reached.after(&there.changes.iter().map(|change| change.by).collect::<Vec<_>>())
    }

    /// What a screen shows.
    pub fn picture(&self, solution: &Solution, screen: ScreenId) -> Picture {
        let wiring = &self.bench.wiring;
        picture_without(wiring, screen, read_screen(wiring, solution, screen), |input, one| {
            Some(one.source) == self.dead || one.comes_through(wiring, input, |wire| Some(wire) == self.cut)
        })
    }
}
