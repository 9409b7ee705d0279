//! Worst currents, held to every state at every corner.

use crate::Facts;
use circuit::{BranchId, Corner};
use explore::{explore_all, unwatched};
use quantity::Amps;
use size::opens_a_fuse;
use states::Solved;

/// No state at any of the six corners has more in a branch than the worst value of it.
#[test]
fn no_corner_has_more() {
    for demo in sample::DEMOS {
        let model = sample::demo(demo);
        let solved = Solved::new(&model);
        let facts = Facts::new(&solved);
        let circuit = &solved.assembly.circuit;
        let mut most = vec![Amps::default(); circuit.branches.len()];
        for exploration in explore_all(circuit, &Corner::ALL, &unwatched).unwrap() {
            exploration.visit(circuit, &mut |solution| {
                if !opens_a_fuse(&model, &solved.assembly, solution) {
                    for (k, most) in most.iter_mut().enumerate() {
                        *most = most.max(solution.amps(BranchId(k as u32)).abs());
                    }
                }
            });
        }
        for (k, most) in most.iter().enumerate() {
            let known = facts.worst().amps(BranchId(k as u32)).map_or(Amps::default(), |peak| peak.value);
            let name = &circuit.branches[k].name;
            let missed = most.value() - known.value();
            assert!(missed <= 1e-3 * most.value() + 1e-5, "{demo}: {name} has {most}, known {known}");
        }
    }
}
