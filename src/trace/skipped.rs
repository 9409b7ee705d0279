//! What a tech can't answer: pins that can't be reached, and looks that showed nothing certain.

use super::measure::Measure;
use super::observable::Observable;
use model::PinId;

/// Looks that are not asked for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Skipped {
    /// Pins that can't be reached.
    pub pins: Vec<PinId>,
    /// Looks without a certain answer, each with the state that it was in.
    pub(crate) looks: Vec<(Observable, String)>,
}

impl Skipped {
    /// Nothing is skipped.
    pub const NOTHING: Skipped = Skipped { pins: Vec::new(), looks: Vec::new() };

    /// Pins that can't be reached.
    pub fn pins(pins: Vec<PinId>) -> Skipped {
        Skipped { pins, looks: Vec::new() }
    }

    /// Whether a look needs a pin that can't be reached.
    pub(crate) fn holds(&self, look: Observable) -> bool {
        let Observable::Meter(measure) = look else { return false };
        match measure {
            Measure::Volts(pin) | Measure::Unplugged(pin) | Measure::Lamp(pin) => self.pins.contains(&pin),
            Measure::Drop(from, to) | Measure::Ohms(from, to) => self.pins.contains(&from) || self.pins.contains(&to),
            Measure::ToGround(pin) | Measure::Apart(pin) => self.pins.contains(&pin),
            Measure::Amps(_) | Measure::Alone(_) => false,
        }
    }

    /// Whether a look in a state is not asked for.
    pub(crate) fn holds_in(&self, look: Observable, state: &str) -> bool {
        self.holds(look) || self.looks.iter().any(|(one, at)| *one == look && (at == state || at.is_empty()))
    }
}
