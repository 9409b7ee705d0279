//! A moment: one state of the circuit at one corner, which can be solved again at any time.

use circuit::{Assembly, BranchId, Change, Copper, Corner, Outcome, Solution, State, Supply, Variant};
use model::{ElementId, ElementKind, Model};
use quantity::Volts;
use states::Wiring;
use std::collections::BTreeMap;

/// The corners at which every state is solved. The nominal corner is first: what shows there is reported from there.
/// The second has the lowest voltages: coils, cameras and triggers fail there, and loads of constant power take most.
/// The third has the highest currents through what follows Ohm's law. A mixture of both may take more at one of the
/// other three corners, so [`WorstValues`](super::WorstValues) solves its worst states there as well.
pub const CORNERS: [Corner; 3] = {
    const fn corner(supply: Supply, copper: Copper) -> Corner {
        Corner { supply, copper, ..Corner::NOMINAL }
    }
    [Corner::NOMINAL, corner(Supply::Least, Copper::Hot), corner(Supply::Greatest, Copper::Cold)]
};

/// One state at one corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// The state: positions of inputs, and what is remembered.
    pub state: State,
    /// The corner.
    pub corner: Corner,
    /// Two batteries that do not follow the corner.
    pub apart: Option<Apart>,
}

/// One battery at its highest voltage and another at its least; everything else is at the corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Apart {
    /// At its highest voltage.
    pub full: ElementId,
    /// At its lowest voltage.
    pub empty: ElementId,
}

/// A value at its worst.
#[derive(Debug, Clone, PartialEq)]
pub struct Peak<T> {
    /// The value.
    pub value: T,
    /// When it has this value.
    pub moment: Moment,
}

impl Moment {
    /// A state at a corner.
    pub fn new(state: State, corner: Corner) -> Moment {
        Moment { state, corner, apart: None }
    }

    /// The moment that a solution belongs to.
    pub fn of(solution: &Solution) -> Moment {
        Moment::new(solution.state.clone(), solution.corner)
    }

    /// How many inputs are away from rest.
    pub fn away(&self) -> usize {
        self.state.positions.away()
    }

    /// The circuit at this moment; in a state that never settles, the step of its round in this very state. `None` if it
    /// can't be solved.
    pub fn solve(&self, wiring: &Wiring) -> Option<Solution> {
        let apart = self.apart.map_or(Variant::NONE, |apart| apart.variant(wiring.model, &wiring.assembly));
        self.solve_variant(wiring, &apart)
    }

    /// What the circuit settles to from this moment; the steps of a round that never settles.
    pub fn steps(&self, wiring: &Wiring) -> Vec<Solution> {
        match wiring.solvers().settle(self.corner, &self.state) {
            Outcome::Settled(solution) => vec![*solution],
            Outcome::Chatter(chatter) if chatter.is_endless() => chatter.round,
            Outcome::Chatter(_) | Outcome::Unsolved(_) => Vec::new(),
        }
    }

    /// The circuit at this moment with a change, in the step nearest to it if that never settles. `None` if it can't be
    /// solved.
    pub fn solve_variant(&self, wiring: &Wiring, variant: &Variant) -> Option<Solution> {
        match wiring.solvers().settle_variant(self.corner, &self.state, variant) {
            Outcome::Settled(solution) => Some(*solution),
            Outcome::Chatter(chatter) if chatter.is_endless() => {
                let same = chatter.round.iter().position(|step| step.state == self.state);
                // The change may have moved something else, so that no step is in this very state.
                chatter.round.into_iter().nth(same.unwrap_or(0))
            }
            Outcome::Chatter(_) | Outcome::Unsolved(_) => None,
        }
    }

    /// The circuit at this moment with these branches open; `None` if it can't be solved.
    pub fn solve_open(&self, wiring: &Wiring, branches: impl IntoIterator<Item = BranchId>) -> Option<Solution> {
        self.solve_variant(wiring, &Variant::open(branches))
    }
}

impl Apart {
    /// The two batteries at these voltages, whatever the corner.
    pub fn variant(&self, model: &Model, assembly: &Assembly) -> Variant {
        let each = [(self.full, 2), (self.empty, 0)].into_iter().flat_map(|(id, at)| {
            let volts = battery_volts(model, id)[at];
            assembly.element(id).iter().map(move |branch| Change::Supply(*branch, volts))
        });
        each.collect()
    }
}

/// Least, nominal and highest voltage of a battery; zero for anything else.
pub(super) fn battery_volts(model: &Model, id: ElementId) -> [Volts; 3] {
    match model.element(id).kind {
        ElementKind::Battery { volts, .. } => volts,
        _ => [Volts::default(); 3],
    }
}

/// A state that proves a fault.
#[derive(Debug, Clone)]
pub struct Shows {
    /// The simplest state in which it shows, nominal supply before other corners.
    pub moment: Moment,
    /// How many states of that corner show it.
    pub states: usize,
    away: usize,
}

impl Shows {
    /// Counts the states of another fault too, and keeps the simpler state.
    pub(super) fn join(&mut self, other: Shows) {
        let states = self.states + other.states;
        if other.away < self.away {
            *self = other;
        }
        self.states = states;
    }
}

/// Counts a state, and keeps it if it is simpler than the one kept.
pub(super) fn note<K: Ord>(all: &mut BTreeMap<K, Shows>, key: K, solution: &Solution) {
    let away = solution.state.positions.away();
    let moment = || Moment::of(solution);
    let shows = all.entry(key).or_insert_with(|| Shows { moment: moment(), states: 0, away });
    if shows.moment.corner != solution.corner {
        return;
    }
    shows.states += 1;
    if away < shows.away {
        (shows.moment, shows.away) = (moment(), away);
    }
}
