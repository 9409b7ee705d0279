//! What a meter reads at pins and in wires in a state: the value at the nominal corner, and the range over every corner.

use circuit::{Corner, Solution, State};
use engine::Solver;
use model::{PinId, WireId};
use quantity::{Amps, Volts};
use states::Wiring;

/// A reading over every corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingRange<Q> {
    /// With nominal supply and copper at 20 °C.
    pub nominal: Q,
    /// The lowest over every corner: supply low to high, copper cold and hot.
    pub least: Q,
    /// The highest over every corner.
    pub most: Q,
}

/// Voltages between a pin and the battery's negative.
pub type VoltageRange = ReadingRange<Volts>;

/// Currents through a wire, counted from its first end to its second; where feeds are pulsed, in their on-time.
pub type CurrentRange = ReadingRange<Amps>;

/// Solves states at every corner.
pub struct Readings<'m> {
    wiring: &'m Wiring<'m>,
    nominal: Solver<'m>,
    others: Vec<Solver<'m>>,
}

/// One state at the nominal corner, and at every other corner at which it settles.
#[derive(Debug, Clone)]
pub struct AtCorners<'m> {
    wiring: &'m Wiring<'m>,
    /// At the nominal corner.
    pub nominal: Solution,
    others: Vec<Solution>,
}

impl<'m> Readings<'m> {
    /// A solver for each corner.
    pub fn new(wiring: &'m Wiring<'m>) -> Readings<'m> {
        let circuit = &wiring.assembly.circuit;
        let others = Corner::ALL.iter().filter(|corner| **corner != Corner::NOMINAL);
        let others = others.map(|corner| Solver::new(circuit, *corner)).collect();
        Readings { wiring, nominal: Solver::new(circuit, Corner::NOMINAL), others }
    }

    /// A state; `None` if it does not settle at the nominal corner.
    pub fn settled(&mut self, state: &State) -> Option<AtCorners<'m>> {
        let nominal = self.nominal.settle(state).settled()?;
        Some(self.of(&nominal))
    }

    /// The state of a solution at the nominal corner.
    pub fn of(&mut self, nominal: &Solution) -> AtCorners<'m> {
        let settled = |solver: &mut Solver| solver.settle(&nominal.state).settled();
        let others = self.others.iter_mut().filter_map(settled).collect();
        AtCorners { wiring: self.wiring, nominal: nominal.clone(), others }
    }

    /// A moment at which nothing moves: contacts stay as they are, whatever their coils get. `None` if it can't be
    /// solved.
    pub fn held(&mut self, state: &State) -> Option<AtCorners<'m>> {
        let nominal = self.nominal.hold(state).ok()?.solution;
        let held = |solver: &mut Solver| solver.hold(state).ok().map(|held| held.solution);
        Some(AtCorners { wiring: self.wiring, nominal, others: self.others.iter_mut().filter_map(held).collect() })
    }
}

impl AtCorners<'_> {
    /// The mean voltage of a pin, which is what a meter shows; `None` for pictures, sound and data.
    pub fn range(&self, pin: PinId) -> Option<VoltageRange> {
        let assembly = &self.wiring.assembly;
        assembly.pin(pin)?;
        Some(self.over(|solution| assembly.mean(solution, pin)))
    }

    /// The current of a wire; `None` for pictures, sound and data.
    pub fn current(&self, wire: WireId) -> Option<CurrentRange> {
        let branch = self.wiring.assembly.wire(wire)?;
        Some(self.over(|solution| solution.amps(branch)))
    }

    fn over<Q: Copy + PartialOrd>(&self, reading: impl Fn(&Solution) -> Q) -> ReadingRange<Q> {
        let nominal = reading(&self.nominal);
        let mut range = ReadingRange { nominal, least: nominal, most: nominal };
        for value in self.others.iter().map(reading) {
            range.least = if value < range.least { value } else { range.least };
            range.most = if value > range.most { value } else { range.most };
        }
        range
    }

    /// Every pin that a meter can read, in the order of the model.
    pub fn pins(&self) -> impl Iterator<Item = (PinId, VoltageRange)> {
        self.wiring.model.pin_ids().filter_map(|pin| Some((pin, self.range(pin)?)))
    }

    /// The highest voltage lost from one pin to another, over every corner.
    pub fn drop(&self, from: PinId, to: PinId) -> Volts {
        let volts = |solution: &Solution, pin| self.wiring.assembly.mean(solution, pin);
        let lost = |solution: &Solution| volts(solution, from) - volts(solution, to);
        self.others.iter().map(lost).fold(lost(&self.nominal), Volts::max)
    }
}
