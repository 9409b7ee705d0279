//! The bundle of each wire: how many loaded wires run beside it, and what covers it.

use super::WorstValues;
use model::{Model, RunId, WireId};
use quantity::Amps;
use size::WarmWires;
use spec::Covering;
use states::Wiring;

/// The bundles that wires run in, loaded by the highest current of each wire in any state at any corner.
#[derive(Debug)]
pub struct Bundles<'m> {
    model: &'m Model,
    /// For each wire, how many loaded wires run in its fullest bundle.
    loaded: Vec<usize>,
}

impl<'m> Bundles<'m> {
    pub(super) fn new(wiring: &Wiring<'m>, worst: &WorstValues) -> Bundles<'m> {
        let model = wiring.model;
        let most =
            |id| wiring.assembly.wire(id).and_then(|branch| worst.amps(branch)).map_or(Amps::default(), |p| p.value);
        let most: Vec<Amps> = model.wire_ids().map(most).collect();
        let warm = WarmWires::new(model, &most);
        Bundles { model, loaded: model.wire_ids().map(|id| warm.beside(model, id)).collect() }
    }

    /// The number of loaded wires in the bundle where it is fullest, this one included.
    pub fn loaded(&self, wire: WireId) -> usize {
        self.loaded[wire.0]
    }

    /// Whether conduit or sleeve covers the whole length of a wire.
    pub fn is_sheathed(&self, wire: WireId) -> bool {
        let covered = |run: &RunId| matches!(self.model.runs[run.0].covering, Covering::Conduit | Covering::Sleeve);
        let path = &self.model.wire(wire).path;
        !path.is_empty() && path.iter().all(covered)
    }
}
