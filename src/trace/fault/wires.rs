//! How wires fail.

use super::super::cable::CableSeen;
use super::{CORRODED, FoundFault, Harm, Harness, TOUCHING};
use circuit::{BranchId, Change, NEGATIVE};
use model::bundle::wires_in;
use model::{RunId, WireId};
use std::collections::BTreeSet;

/// A wire is broken, or a terminal has backed out.
pub fn open(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |wire, branch| FoundFault {
        words: format!("{} is broken, or one of its terminals is loose", harness.wire(wire)),
        at: harness.ends(wire),
        harm: Harm::circuit(Change::Open(branch)).on([wire]).measuring(CableSeen::Open),
    })
}

/// A corroded crimp or a spread socket.
pub fn resistance(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |wire, branch| FoundFault {
        words: format!("{} has a bad crimp or contact", harness.wire(wire)),
        at: harness.ends(wire),
        harm: Harm::circuit(Change::InSeries(branch, CORRODED))
            .on([wire])
            .measuring(CableSeen::High)
            .of_some_resistance(),
    })
}

/// A wire has chafed through to the body.
pub fn to_ground(harness: &Harness) -> Vec<FoundFault> {
    let found = circuit_wires(harness).filter_map(|(wire, _)| {
        let node = harness.assembly.pin(harness.model.wire(wire).ends[0])?;
        Some(FoundFault {
            words: format!("{} has chafed to the body", harness.wire(wire)),
            at: harness.ends(wire),
            harm: Harm::circuit(Change::Between(node, NEGATIVE, TOUCHING))
                .on([wire])
                .measuring(CableSeen::Shorted)
                .shorting(),
        })
    });
    found.collect()
}

/// Two wires that lie beside each other in a run have chafed through. Wires that follow each other in the spec count as
/// neighbours; of several that join the same two nets, the first is named.
pub fn to_neighbour(harness: &Harness) -> Vec<FoundFault> {
    let model = harness.model;
    let mut known: BTreeSet<[usize; 2]> = BTreeSet::new();
    let mut all = Vec::new();
    for run in (0..model.runs.len()).map(RunId) {
        let wires: Vec<WireId> =
            wires_in(model, run).into_iter().filter(|wire| harness.assembly.wire(*wire).is_some()).collect();
        for pair in wires.windows(2) {
            let pins = [pair[0], pair[1]].map(|wire| model.wire(wire).ends[0]);
            let mut nets = pins.map(|pin| harness.nets.of(pin));
            nets.sort_unstable();
            if nets[0] == nets[1] || !known.insert(nets) {
                continue;
            }
            let Some(change) = harness.touching(pins[0], pins[1]) else { continue };
            all.push(FoundFault {
                words: format!("{} and {} have chafed together", harness.wire(pair[0]), harness.wire(pair[1])),
                at: pair.iter().flat_map(|wire| harness.ends(*wire)).collect(),
                harm: Harm::circuit(change).on([pair[0], pair[1]]).measuring(CableSeen::Shorted).shorting(),
            });
        }
    }
    all
}

/// A wire that opens as the vehicle moves.
pub fn intermittent(harness: &Harness) -> Vec<FoundFault> {
    each(harness, |wire, branch| FoundFault {
        words: format!("{} opens now and then: a loose terminal or a broken strand", harness.wire(wire)),
        at: harness.ends(wire),
        harm: Harm { comes_and_goes: true, ..Harm::circuit(Change::Open(branch)).on([wire]) },
    })
}

/// Wires that carry current, with their branches.
fn circuit_wires<'h>(harness: &'h Harness) -> impl Iterator<Item = (WireId, BranchId)> + 'h {
    harness.model.wire_ids().filter_map(|wire| Some((wire, harness.assembly.wire(wire)?)))
}

fn each(harness: &Harness, found: impl Fn(WireId, BranchId) -> FoundFault) -> Vec<FoundFault> {
    circuit_wires(harness).map(|(wire, branch)| found(wire, branch)).collect()
}
