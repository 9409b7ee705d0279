//! The curve of a branch's law at one corner: straight pieces of current over voltage.

use super::circuit::{Branch, Circuit, LEAST_OHMS, Law};
use super::corner::{Corner, Lamps, Pulse, Supply};
use quantity::{Share, Span};

/// A filament at room temperature has about a tenth of its resistance when alight (common practice, no source).
const FILAMENT_COLD_SHARE: f64 = 0.1;

/// Near its rating the current of an incandescent lamp follows about the 0.55th power of its voltage (lighting
/// handbooks, from memory). The curve used is the tangent there, and the cold filament's line below where they meet.
const FILAMENT_EXPONENT: f64 = 0.55;

/// One straight piece: current = `slope` · voltage + `offset`, up to the voltage `upto`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LinePiece {
    pub upto: f64,
    pub slope: f64,
    pub offset: f64,
}

/// A law at one corner: the current from `from` to `to` over the voltage of `from` against `to`.
#[derive(Debug, Clone, PartialEq)]
pub enum Curve {
    /// One piece.
    Straight { slope: f64, offset: f64 },
    /// Several pieces, never falling, joined without a step.
    Pieces(Vec<LinePiece>),
    /// Constant power and a constant current, in proportion below `least`; `output` is the converter branch whose
    /// power, times the factor, is added to `watts`.
    Power { watts: f64, amps: f64, least: f64, output: Option<(usize, f64)> },
    /// Open.
    Open,
}

fn siemens(ohms: f64) -> f64 {
    1.0 / ohms.max(LEAST_OHMS.value())
}

/// The curve of a branch.
pub fn curve(branch: &Branch, circuit: &Circuit, corner: Corner) -> Curve {
    let tolerance = corner.tolerance_factor(branch.tolerance);
    match &branch.law {
        Law::Conductor { ohms, copper } => {
            let factor = if *copper { corner.copper_factor(circuit) } else { 1.0 };
            Curve::Straight { slope: siemens(ohms.value() * factor * tolerance), offset: 0.0 }
        }
        Law::Source { volts, ohms } => {
            let volts = match corner.supply {
                Supply::Least => volts[0],
                Supply::Nominal => volts[1],
                Supply::Greatest => volts[2],
            };
            let slope = siemens(ohms.value());
            Curve::Straight { slope, offset: slope * volts.value() }
        }
        Law::Diode { knee, ohms, zener } => {
            let slope = siemens(ohms.value());
            let zener = zener.map(|zener| conducts_below(-zener.value(), slope));
            let mut pieces: Vec<LinePiece> = zener.into_iter().collect();
            pieces.extend(conducts_above(knee.value(), slope));
            Curve::Pieces(pieces)
        }
        Law::Suppressor { volts, ohms } => {
            let slope = siemens(ohms.value());
            let mut pieces = vec![conducts_below(-volts.value(), slope)];
            pieces.extend(conducts_above(volts.value(), slope));
            Curve::Pieces(pieces)
        }
        Law::Led { knee, ohms } => Curve::Pieces(conducts_above(knee.value(), siemens(ohms.value())).to_vec()),
        Law::Current { amps, least } => {
            let least = least.value().max(1e-3);
            Curve::Pieces(vec![
                LinePiece { upto: 0.0, slope: 0.0, offset: 0.0 },
                LinePiece { upto: least, slope: amps.value() / least, offset: 0.0 },
                LinePiece { upto: f64::INFINITY, slope: 0.0, offset: amps.value() },
            ])
        }
        Law::Power { watts, least } => {
            Curve::Power { watts: watts.value(), amps: 0.0, least: least.value().max(1e-3), output: None }
        }
        Law::Drawn { output, efficiency, idle, least } => Curve::Power {
            watts: 0.0,
            amps: idle.value(),
            least: least.value().max(1e-3),
            output: Some((output.index(), 1.0 / efficiency.value().clamp(0.01, 1.0))),
        },
        Law::Lamp { rated, watts } => lamp(rated.value(), watts.value(), corner.lamps),
        Law::Pulsed { ohms, .. } => match corner.pulse {
            Pulse::On => Curve::Straight { slope: siemens(ohms.value()), offset: 0.0 },
            Pulse::Off => Curve::Open,
        },
        Law::Regulated { volts, ohms, limit } => {
            let slope = siemens(ohms.value());
            // It gives its lowest voltage at the corner where resistances are at their highest.
            let volts = *volts * (2.0 - tolerance);
            Curve::Pieces(vec![
                LinePiece { upto: -volts.value(), slope: 0.0, offset: 0.0 },
                LinePiece { upto: limit.value() / slope - volts.value(), slope, offset: slope * volts.value() },
                LinePiece { upto: f64::INFINITY, slope: 0.0, offset: limit.value() },
            ])
        }
    }
}

/// The on-time's share of a pulsed feed.
pub fn on_time_share(span: Span<Share>, corner: Corner) -> f64 {
    let share = match corner.supply {
        Supply::Least => span.low.value(),
        Supply::Nominal => 0.5 * (span.low.value() + span.high.value()),
        Supply::Greatest => span.high.value(),
    };
    share.clamp(0.0, 1.0)
}

/// No current up to the knee, a slope above.
fn conducts_above(knee: f64, slope: f64) -> [LinePiece; 2] {
    [LinePiece { upto: knee, slope: 0.0, offset: 0.0 }, LinePiece { upto: f64::INFINITY, slope, offset: -slope * knee }]
}

/// The piece below which it conducts backwards.
fn conducts_below(knee: f64, slope: f64) -> LinePiece {
    LinePiece { upto: knee, slope, offset: -slope * knee }
}

fn lamp(rated: f64, watts: f64, lamps: Lamps) -> Curve {
    let amps = watts / rated;
    let cold = amps / rated / FILAMENT_COLD_SHARE;
    match lamps {
        Lamps::Cold => Curve::Straight { slope: cold, offset: 0.0 },
        Lamps::Settled => {
            let (slope, offset) = (FILAMENT_EXPONENT * amps / rated, (1.0 - FILAMENT_EXPONENT) * amps);
            let meet = offset / (cold - slope);
            Curve::Pieces(vec![
                LinePiece { upto: -meet, slope, offset: -offset },
                LinePiece { upto: meet, slope: cold, offset: 0.0 },
                LinePiece { upto: f64::INFINITY, slope, offset },
            ])
        }
    }
}

impl Curve {
    /// The current at a voltage by the law itself, without linearisation, in amperes. `output_watts` is the power that
    /// the output of the converter gives.
    pub fn amps(&self, volts: f64, output_watts: f64) -> f64 {
        match self {
            Curve::Straight { slope, offset } => slope * volts + offset,
            Curve::Pieces(pieces) => {
                let piece = pieces[piece_at(pieces, volts)];
                piece.slope * volts + piece.offset
            }
            Curve::Power { watts, amps, least, output } => {
                let watts = watts + output.map_or(0.0, |(_, factor)| factor * output_watts);
                if volts <= 0.0 {
                    0.0
                } else if volts < *least {
                    (watts / least + amps) * volts / least
                } else {
                    watts / volts + amps
                }
            }
            Curve::Open => 0.0,
        }
    }
}

/// The piece that holds at a voltage.
pub fn piece_at(pieces: &[LinePiece], volts: f64) -> usize {
    pieces.iter().position(|piece| volts <= piece.upto).unwrap_or(pieces.len() - 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::NEGATIVE;
    use quantity::{Amps, Ohms, Volts, Watts};

    fn of(law: &Law) -> Curve {
        let mut circuit = Circuit::new();
        let id = circuit.branch("", NEGATIVE, NEGATIVE, law.clone());
        curve(&circuit.branches[id.index()], &circuit, Corner::NOMINAL)
    }

    #[test]
    fn pieces_join_without_a_step_and_never_fall() {
        let laws = [
            Law::Diode { knee: Volts::new(0.6), ohms: Ohms::new(0.05), zener: Some(Volts::new(18.0)) },
            Law::Suppressor { volts: Volts::new(27.0), ohms: Ohms::new(0.5) },
            Law::Current { amps: Amps::new(0.12), least: Volts::new(9.0) },
            Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(21.0) },
            Law::Regulated { volts: Volts::new(5.0), ohms: Ohms::new(0.02), limit: Amps::new(3.0) },
        ];
        for law in &laws {
            let Curve::Pieces(pieces) = of(law) else { panic!("{law:?}") };
            for pair in pieces.windows(2) {
                let at = pair[0].upto;
                let (below, above) = (pair[0].slope * at + pair[0].offset, pair[1].slope * at + pair[1].offset);
                assert!((below - above).abs() < 1e-9, "{law:?} at {at} V: {below} A, {above} A");
            }
            assert!(pieces.iter().all(|piece| piece.slope >= 0.0));
        }
    }

    #[test]
    fn a_lamp_draws_its_rating_and_is_cold_at_nothing() {
        let lamp = of(&Law::Lamp { rated: Volts::new(12.0), watts: Watts::new(21.0) });
        assert!((lamp.amps(12.0, 0.0) - 1.75).abs() < 1e-12);
        assert!((lamp.amps(0.1, 0.0) / 0.1 - 10.0 * 1.75 / 12.0).abs() < 1e-9);
        // Against the power law itself, over the range that a vehicle's supply has.
        for volts in [9.0, 10.5, 13.5, 15.0] {
            let power_law = 1.75 * (volts / 12.0_f64).powf(FILAMENT_EXPONENT);
            assert!((lamp.amps(volts, 0.0) / power_law - 1.0).abs() < 0.02, "{volts} V");
        }
    }
}
