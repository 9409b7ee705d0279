//! What a meter should show in a state: nominal, and the range over every corner.

use model::PinId;
use quantity::Volts;
use serde::{Serialize, Serializer};
use solve::{Corner, Outcome, Solution, Solver, State};
use states::Solved;
use std::fmt;

/// A meter on its 20 V range shows hundredths.
const METER_STEPS_PER_VOLT: f64 = 100.0;

/// A voltage as a meter shows it, in hundredths of a volt: `12.41 V`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Metered(Volts);

impl Metered {
    /// As shown for a voltage.
    pub fn new(volts: Volts) -> Metered {
        let steps = (volts.value() * METER_STEPS_PER_VOLT).round();
        // Adding zero turns -0 into 0.
        Metered(Volts::new(steps / METER_STEPS_PER_VOLT + 0.0))
    }

    /// As a quantity.
    pub fn volts(self) -> Volts {
        self.0
    }

    /// The number alone, as a spreadsheet takes it.
    pub fn number(self) -> String {
        format!("{:.2}", self.0.value())
    }
}

impl fmt::Display for Metered {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} V", self.number()))
    }
}

impl Serialize for Metered {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// What to expect between a pin and the battery's negative.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Expected {
    /// With nominal supply and copper at 20 °C.
    pub nominal: Metered,
    /// The least over every corner: supply low to high, copper cold and hot.
    pub least: Metered,
    /// The greatest over every corner.
    pub most: Metered,
}

/// Solves states at every corner.
pub struct Corners<'s> {
    solved: &'s Solved<'s>,
    nominal: Solver<'s>,
    solvers: Vec<Solver<'s>>,
}

/// One state at every corner at which it settles.
#[derive(Debug, Clone)]
pub struct AllCorners {
    /// At the nominal corner.
    pub nominal: Solution,
    others: Vec<Solution>,
}

impl<'s> Corners<'s> {
    /// Sets up a solver for each corner.
    pub fn new(solved: &'s Solved<'s>) -> Corners<'s> {
        let others = Corner::ALL.iter().filter(|corner| **corner != Corner::NOMINAL);
        let solvers = others.map(|corner| Solver::new(&solved.assembly.circuit, *corner)).collect();
        let nominal = Solver::new(&solved.assembly.circuit, Corner::NOMINAL);
        Corners { solved, nominal, solvers }
    }

    /// The state of a nominal solution, at every other corner as well.
    pub fn of(&mut self, nominal: &Solution) -> AllCorners {
        let state: &State = &nominal.state;
        let settled = |solver: &mut Solver| match solver.settle(state) {
            Outcome::Settled(solution) => Some(*solution),
            Outcome::Chatter(_) | Outcome::Unsolved(_) => None,
        };
        AllCorners { nominal: nominal.clone(), others: self.solvers.iter_mut().filter_map(settled).collect() }
    }

    /// A moment with nothing moving, at every corner: the contacts stay as they are, whatever their coils get. `None` where
    /// it can't be solved.
    pub fn held(&mut self, state: &State) -> Option<AllCorners> {
        let nominal = self.nominal.hold(state).ok()?.solution;
        let held = |solver: &mut Solver| solver.hold(state).ok().map(|held| held.solution);
        Some(AllCorners { nominal, others: self.solvers.iter_mut().filter_map(held).collect() })
    }

    /// The greatest voltage that is lost from one pin to another, over every corner.
    pub fn lost(&self, at: &AllCorners, from: PinId, to: PinId) -> Volts {
        let volts = |solution: &Solution, pin| self.solved.assembly.mean(solution, pin);
        let lost = |solution: &Solution| volts(solution, from) - volts(solution, to);
        at.others.iter().map(lost).fold(lost(&at.nominal), Volts::max)
    }

    /// What a meter shows between a pin and the battery's negative; none for pictures, sound and data.
    pub fn expected(&self, at: &AllCorners, pin: PinId) -> Option<Expected> {
        self.solved.assembly.pin(pin)?;
        let volts = |solution: &Solution| self.solved.assembly.mean(solution, pin);
        let nominal = volts(&at.nominal);
        let all = at.others.iter().map(volts);
        let (least, most) = all.fold((nominal, nominal), |(low, high), v| (low.min(v), high.max(v)));
        let [nominal, least, most] = [nominal, least, most].map(Metered::new);
        Some(Expected { nominal, least, most })
    }
}
