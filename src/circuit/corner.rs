//! The corners at which a state is solved.

use super::circuit::Circuit;
use model::conductor;
use quantity::{Celsius, Share};
use std::fmt;

/// One choice of everything that varies while nobody moves an input.
///
/// Tolerances of parts are part of the extreme corners. At lowest supply with hot copper, where parts fail to work,
/// resistances and the thresholds of coils are at their highest and converters give their lowest voltage. At highest
/// supply with cold copper, and at lowest supply with cold copper, where constant power draws most, resistances are at
/// their lowest: there currents are highest. At other corners parts are as rated. The on-time share of pulses follows
/// the supply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Corner {
    /// Voltage of the supplies.
    pub supply: Supply,
    /// Temperature of copper.
    pub copper: Copper,
    /// Filaments.
    pub lamps: Lamps,
    /// Phase of pulse-width driven feeds.
    pub pulse: Pulse,
}

/// Voltage of the supplies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Supply {
    /// Battery low, engine off.
    Least,
    /// As rated.
    #[default]
    Nominal,
    /// Charging.
    Greatest,
}

/// Temperature of copper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Copper {
    /// 20 °C.
    #[default]
    Cold,
    /// [`Circuit::hot`].
    Hot,
}

/// Filaments of incandescent lamps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Lamps {
    /// As they settle: cold at almost no voltage, else hot.
    #[default]
    Settled,
    /// All cold, as in the moment of switching on.
    Cold,
}

/// Which part of the period of a pulse-width driven feed is solved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Pulse {
    /// The on-time, every actor being where it is through on-times and off-times.
    #[default]
    On,
    /// The off-time, as if it were permanent.
    Off,
}

impl Corner {
    /// Nominal supply, copper at 20 °C.
    pub const NOMINAL: Corner =
        Corner { supply: Supply::Nominal, copper: Copper::Cold, lamps: Lamps::Settled, pulse: Pulse::On };

    /// Three supply voltages, each with cold and with hot copper.
    pub const ALL: [Corner; 6] = {
        const fn corner(supply: Supply, copper: Copper) -> Corner {
            Corner { supply, copper, ..Corner::NOMINAL }
        }
        [
            corner(Supply::Least, Copper::Cold),
            corner(Supply::Least, Copper::Hot),
            corner(Supply::Nominal, Copper::Cold),
            corner(Supply::Nominal, Copper::Hot),
            corner(Supply::Greatest, Copper::Cold),
            corner(Supply::Greatest, Copper::Hot),
        ]
    };

    /// Temperature of copper in this corner.
    pub fn temperature(self, circuit: &Circuit) -> Celsius {
        match self.copper {
            Copper::Cold => Celsius::new(20.0),
            Copper::Hot => circuit.hot,
        }
    }

    /// A resistance of this tolerance, or the threshold of a coil, as a multiple of its rating.
    pub fn tolerance_factor(self, tolerance: Share) -> f64 {
        match (self.supply, self.copper) {
            (Supply::Least, Copper::Hot) => 1.0 + tolerance.value(),
            (Supply::Greatest | Supply::Least, Copper::Cold) => 1.0 - tolerance.value(),
            _ => 1.0,
        }
    }

    /// Resistance of copper as a multiple of its resistance at 20 °C.
    pub fn copper_factor(self, circuit: &Circuit) -> f64 {
        1.0 + conductor::COPPER_PER_KELVIN * (self.temperature(circuit).value() - 20.0)
    }
}

impl fmt::Display for Corner {
    /// `lowest supply, hot copper`, and anything that isn't usual.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let supply = match self.supply {
            Supply::Least => "lowest",
            Supply::Nominal => "nominal",
            Supply::Greatest => "highest",
        };
        let copper = match self.copper {
            Copper::Cold => "cold",
            Copper::Hot => "hot",
        };
        write!(f, "{supply} supply, {copper} copper")?;
        match self.lamps {
            Lamps::Settled => {}
            Lamps::Cold => f.write_str(", lamps cold")?,
        }
        f.write_str(match self.pulse {
            Pulse::On => "",
            Pulse::Off => ", pulses off",
        })
    }
}
