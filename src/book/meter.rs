//! Voltages as a meter shows them.

use facts::VoltageRange;
use quantity::Volts;
use serde::{Serialize, Serializer};
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
    /// The lowest over every corner: supply low to high, copper cold and hot.
    pub least: Metered,
    /// The highest over every corner.
    pub most: Metered,
}

impl Expected {
    /// As a meter shows a range of voltages.
    pub fn new(VoltageRange { nominal, least, most }: VoltageRange) -> Expected {
        let [nominal, least, most] = [nominal, least, most].map(Metered::new);
        Expected { nominal, least, most }
    }
}
