//! Two batteries that some state joins, one full and the other empty: a corner moves all supplies together, so each
//! pair is solved once more with the two apart.

use super::{WorstValues, is_more};
use crate::Explored;
use crate::moment::{Apart, Moment, Peak};
use circuit::{BranchId, Copper, Corner, State, Supply};
use engine::Solver;
use model::{ElementId, ElementKind};
use states::Solved;
use std::collections::BTreeSet;

/// Where currents are highest.
const CORNER: Corner = Corner { supply: Supply::Greatest, copper: Copper::Cold, ..Corner::NOMINAL };

impl WorstValues {
    /// Adds the currents of each state in which a full battery drives current into an empty one.
    pub(super) fn look_at_batteries_apart(&mut self, solved: &Solved, explored: &Explored) {
        let model = solved.model;
        let is_battery = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Battery { .. });
        let batteries: Vec<ElementId> = (0..model.elements.len()).map(ElementId).filter(is_battery).collect();
        if batteries.len() < 2 {
            return;
        }
        let mut states: BTreeSet<State> = BTreeSet::new();
        for exploration in explored.all() {
            exploration.visit_in_any_order(&solved.assembly.circuit, &mut |solution| {
                states.insert(solution.state.clone());
            });
        }
        let mut solver = Solver::new(&solved.assembly.circuit, CORNER);
        for &full in &batteries {
            for &empty in batteries.iter().filter(|empty| **empty != full) {
                let apart = Apart { full, empty };
                solver.set_variant(&apart.variant(model, &solved.assembly));
                self.look_at(solved, &states, apart, &mut solver);
            }
        }
    }

    fn look_at(&mut self, solved: &Solved, states: &BTreeSet<State>, apart: Apart, solver: &mut Solver) {
        let Some(&into) = solved.assembly.element(apart.empty).first() else { return };
        for state in states {
            // Skip states that do not settle to themselves here.
            let Some(solution) = solver.lasting(state) else { continue };
            if -solution.amps(into) > solved.model.limits.sneak_current {
                let now = || Moment { apart: Some(apart), ..Moment::of(&solution) };
                for (i, peak) in self.apart.iter_mut().enumerate() {
                    let value = solution.amps(BranchId(i as u32)).abs();
                    if peak.as_ref().is_none_or(|there| is_more(value, there.value)) {
                        *peak = Some(Peak { value, moment: now() });
                    }
                }
            }
        }
    }
}
