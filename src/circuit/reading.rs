//! A solution read in the harness's terms: pins, elements, signals, conditions.

use super::assemble::Assembly;
use super::state::Solution;
use model::{ElementId, Model, PinId, SignalId, SignalKind, StateCondition};
use quantity::{Amps, Volts};

/// A signal as read from solved voltages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reading {
    /// On.
    On,
    /// Off.
    Off,
    /// A trigger input between its thresholds.
    Undecided,
    /// A trigger input that goes on and off with the pulses of a feed.
    Pulsing,
}

impl Assembly {
    /// A pin's voltage against the battery's negative; zero for a pin that has no circuit.
    pub fn volts(&self, solution: &Solution, pin: PinId) -> Volts {
        self.pin(pin).map_or(Volts::new(0.0), |node| solution.volts(node))
    }

    /// The mean of a pin's voltage over pulses, which a meter shows and a coil follows.
    pub fn mean(&self, solution: &Solution, pin: PinId) -> Volts {
        self.pin(pin).map_or(Volts::new(0.0), |node| solution.mean(node))
    }

    /// A pin's voltage after all pulsed feeds have gone off.
    pub fn between_pulses(&self, solution: &Solution, pin: PinId) -> Volts {
        self.pin(pin).map_or(Volts::new(0.0), |node| solution.between_pulses(node))
    }

    /// The current of an element's main branch, positive as the element counts; zero for one without a circuit.
    pub fn amps(&self, solution: &Solution, element: ElementId) -> Amps {
        self.element(element).first().map_or(Amps::new(0.0), |branch| solution.amps(*branch))
    }

    /// A signal in a solution. The engine keeps an undecided trigger input as it was; here it reads as undecided.
    pub fn reading(&self, model: &Model, solution: &Solution, id: SignalId) -> Reading {
        if let SignalKind::Sense { pin, ground, on_above, off_below } = &model.signals[id.0].kind {
            if self.actor(id).is_some_and(|actor| solution.state.pulses(&self.circuit, actor)) {
                return Reading::Pulsing;
            }
            let volts = self.volts(solution, *pin) - self.volts(solution, *ground);
            if volts > *off_below && volts < *on_above {
                return Reading::Undecided;
            }
        }
        if solution.state.holds(self.signal(id)) { Reading::On } else { Reading::Off }
    }

    /// A condition of the model in a solution.
    pub fn holds(&self, solution: &Solution, logic: &StateCondition) -> bool {
        solution.state.holds(&self.logic(logic))
    }
}
