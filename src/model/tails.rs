//! Tails: the lengths of wire between a breakout and its parts; and the positions of splices along the runs.
//!
//! A breakout is a place. A wire is cut longer than its runs. Half of the surplus, less the allowance for stripping and
//! dressing, is at each of its ends.

use crate::{Model, PartId, PartKind, PlaceId, RunId, Wire, WireId};
use quantity::Metres;
use std::collections::BTreeMap;

/// Between two splices along a run, and from a breakout to the first, millimetres: no two lie side by side in a bundle
/// (common practice, no source).
pub const SPLICE_STEP_MM: u32 = 40;
/// Tails are rounded down to this, millimetres.
const TAIL_STEP_MM: f64 = 10.0;

/// A splice that lies along a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpliceSpot {
    /// The splice.
    pub splice: PartId,
    /// Its place, which the distance is counted from.
    pub from: PlaceId,
    /// The run that it lies on.
    pub run: RunId,
    /// From the breakout to the middle of the splice.
    pub along: Metres,
}

/// What a wire has left over at each end, millimetres; `None` if its length is not known.
fn spare<G>(model: &Model<G>, wire: &Wire<G>) -> Option<f64> {
    let runs: f64 = wire.path.iter().map(|run| model.runs[run.0].length.value()).sum();
    let cut = wire.length?.value() * (1.0 + model.limits.cut_allowance.value());
    Some(((cut - runs) * 500.0).max(0.0))
}

/// The new wires on a part.
fn wires_of<G>(model: &Model<G>, part: PartId) -> Vec<WireId> {
    let mut wires: Vec<WireId> = model.part(part).pins.iter().flat_map(|&pin| model.wires_on(pin)).collect();
    wires.retain(|&wire| !model.wire(wire).existing);
    wires.sort();
    wires.dedup();
    wires
}

/// From the breakout of a part's place to the part: as far as the shortest of its new wires reaches. `None` if no such
/// wire has a known length.
pub fn tail<G>(model: &Model<G>, part: PartId) -> Option<Metres> {
    let reach = wires_of(model, part).into_iter().filter_map(|wire| spare(model, model.wire(wire)));
    let least = reach.min_by(f64::total_cmp)?;
    let tail = ((least + 1e-3) / TAIL_STEP_MM).floor() * TAIL_STEP_MM;
    Some(Metres::new(tail / 1000.0))
}

/// Where splices lie: each on the run of its place that most of its wires go through, one step beyond the splice before
/// it, as far as its other wires reach. A splice without wires to other places, or without room, stays at its breakout.
pub fn splice_spots<G>(model: &Model<G>) -> Vec<SpliceSpot> {
    let mut taken: BTreeMap<(PlaceId, RunId), u32> = BTreeMap::new();
    let splices = model.part_ids().filter(|&id| model.part(id).kind == PartKind::Splice);
    splices.filter_map(|splice| spot(model, splice, &mut taken)).collect()
}

fn spot<G>(model: &Model<G>, splice: PartId, taken: &mut BTreeMap<(PlaceId, RunId), u32>) -> Option<SpliceSpot> {
    let from = model.part(splice).at?;
    let wires = wires_of(model, splice);
    let goes_through = |run: RunId, wire: WireId| model.wire(wire).path.contains(&run);
    let here = |run: &RunId| model.runs[run.0].ends.contains(&from);
    let through = |run: RunId| wires.iter().filter(|&&wire| goes_through(run, wire)).count();
    let mut runs: Vec<RunId> = (0..model.runs.len()).map(RunId).filter(|run| here(run) && through(*run) > 0).collect();
    runs.sort_by_key(|&run| (wires.len() - through(run), run));
    runs.into_iter().find_map(|run| {
        let others = wires.iter().filter(|&&wire| !goes_through(run, wire));
        let reach = others.map(|&wire| spare(model, model.wire(wire)).unwrap_or(0.0)).fold(f64::INFINITY, f64::min);
        // Splices of the place at the other end have the other half of the run.
        let most = reach.min(model.runs[run.0].length.value() * 500.0 - f64::from(SPLICE_STEP_MM) / 2.0);
        let count = taken.entry((from, run)).or_insert(0);
        let along = f64::from((*count + 1) * SPLICE_STEP_MM);
        (along <= most + 1e-3).then(|| {
            *count += 1;
            SpliceSpot { splice, from, run, along: Metres::new(along / 1000.0) }
        })
    })
}
