//! Batteries that some state joins don't stand at the same end of what they have: one is charged while the other is empty.
//! Corners move all supplies together, so what lies between two of them is looked at once more with each full and the other
//! empty.

use super::{Moment, Watch, Worst};
use crate::Context;
use model::{ElementId, ElementKind, Model};
use quantity::Volts;
use solve::{Assembly, Circuit, Copper, Corner, Law, Solver, State, Supply};
use states::Solved;
use std::collections::BTreeSet;

/// One battery at its greatest voltage and another at its least, the rest as at the corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Apart {
    /// At its greatest.
    pub full: ElementId,
    /// At its least.
    pub empty: ElementId,
}

/// Where currents are greatest.
const CORNER: Corner = Corner { supply: Supply::Greatest, copper: Copper::Cold, ..Corner::NOMINAL };

impl Apart {
    /// The circuit with the two where they stand, whatever the corner.
    pub fn circuit(&self, model: &Model, assembly: &Assembly) -> Circuit {
        let mut circuit = assembly.circuit.clone();
        for (id, at) in [(self.full, 2), (self.empty, 0)] {
            for branch in assembly.element(id) {
                if let Law::Source { volts, .. } = &mut circuit.branches[branch.index()].law {
                    *volts = [volts_of(model, id)[at]; 3];
                }
            }
        }
        circuit
    }
}

fn volts_of(model: &Model, id: ElementId) -> [Volts; 3] {
    match model.element(id).kind {
        ElementKind::Battery { volts, .. } => volts,
        _ => [Volts::default(); 3],
    }
}

impl Worst {
    /// Looks at the currents of each state in which a full battery drives current into an empty one.
    pub(super) fn look_at_batteries_apart(&mut self, solved: &Solved, watch: &Watch) {
        let model = solved.model;
        let is_battery = |id: &ElementId| matches!(model.element(*id).kind, ElementKind::Battery { .. });
        let batteries: Vec<ElementId> = (0..model.elements.len()).map(ElementId).filter(is_battery).collect();
        if batteries.len() < 2 {
            return;
        }
        let mut states: BTreeSet<State> = BTreeSet::new();
        for exploration in std::iter::once(&solved.exploration).chain(&self.explorations) {
            exploration.visit(&solved.assembly.circuit, &mut |solution| {
                states.insert(solution.state.clone());
            });
        }
        for &full in &batteries {
            for &empty in batteries.iter().filter(|empty| **empty != full) {
                self.look_at(solved, watch, &states, Apart { full, empty });
            }
        }
    }

    fn look_at(&mut self, solved: &Solved, watch: &Watch, states: &BTreeSet<State>, apart: Apart) {
        let Some(&into) = solved.assembly.element(apart.empty).first() else { return };
        let circuit = apart.circuit(solved.model, &solved.assembly);
        let mut solver = Solver::new(&circuit, CORNER);
        for state in states {
            // One that doesn't last there is not to be had.
            let Some(solution) = solver.lasting(state) else { continue };
            if -solution.amps(into) > solved.model.limits.sneak_current {
                let now = || Moment { apart: Some(apart), ..Moment::of(&solution) };
                self.look_at_currents(solved, watch, &solution, &now);
            }
        }
    }
}

impl Context<'_> {
    /// The corner of a moment in words: `least supply, hot copper`; where two batteries stand apart, what each has.
    pub fn corner_words(&self, moment: &Moment) -> String {
        let Some(apart) = moment.apart else { return moment.corner.to_string() };
        let at = |id: ElementId, at: usize| {
            let name = &self.model.part(self.model.element(id).part).name;
            format!("{name} at {}", volts_of(self.model, id)[at])
        };
        format!("{}, {}, cold copper", at(apart.full, 2), at(apart.empty, 0))
    }
}
