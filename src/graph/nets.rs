//! Nets: pins joined by wires and mated cavities, whatever the state.

use model::{Model, PinId, joined_pins};

/// Which pins are one net.
#[derive(Debug, Clone)]
pub struct Nets {
    of: Vec<usize>,
    pins: Vec<Vec<PinId>>,
}

impl Nets {
    /// Joins pins by the wires and joints of a model.
    pub fn new(model: &Model) -> Nets {
        let pins = joined_pins(model);
        let mut of = vec![0; model.pins.len()];
        for (number, net) in pins.iter().enumerate() {
            net.iter().for_each(|pin| of[pin.0] = number);
        }
        Nets { of, pins }
    }

    /// The net's number of a pin; nets are numbered by their first pin.
    pub fn of(&self, pin: PinId) -> usize {
        self.of[pin.0]
    }

    /// The pins of the net that a pin is on, in the model's order.
    pub fn with(&self, pin: PinId) -> &[PinId] {
        &self.pins[self.of[pin.0]]
    }

    /// Every net.
    pub fn iter(&self) -> impl Iterator<Item = &[PinId]> {
        self.pins.iter().map(Vec::as_slice)
    }
}
