//! Limits of bench readings: the calculated range over the parts' tolerances and cold to hot copper, plus the error of
//! meter and supply.

use crate::bench::limit::Limit;
use crate::lists::states::printed;
use quantity::{Amps, Seconds, Share, Volts};

/// Error of the meter and of the supply's setting together, volts (common practice, no source).
const METER_ADDS: f64 = 0.05;

/// Below this voltage a pin counts as dead: leakage and pick-up may show as a reading.
const DEAD: f64 = 1.0;

/// A pin at most this far below the supply's voltage, volts, is fed: wires, contacts and a diode lose no more
/// (common practice, no source).
const LOST: f64 = 2.0;

/// Volts that a dead pin may read above the calculated value, since leakage differs between parts (common practice, no
/// source).
const LEAKS: f64 = 0.4;

/// Share by which a part's current may differ from its data (common practice, no source).
const CURRENT_DIFFERS: f64 = 0.25;

/// Amperes that parts at rest may take beyond their data (common practice, no source).
const RESTS: f64 = 0.005;

/// Share by which a time may be off if the part's data give no tolerance (common practice, no source).
const TIME_DIFFERS: f64 = 0.2;

fn down(tenths_of: f64) -> f64 {
    (tenths_of * 10.0 + 1e-6).floor() / 10.0 + 0.0
}

fn up(tenths_of: f64) -> f64 {
    (tenths_of * 10.0 - 1e-6).ceil() / 10.0
}

/// `12.4 V to 12.7 V`; `at most 0.4 V` for what is dead. What is lost on the way from the supply differs with the
/// current; where a load takes less than its data say, up to the whole supply is there.
pub fn volts(expected: impl Iterator<Item = Volts>, supply: Option<Volts>) -> (String, Limit) {
    let (least, most) = expected.fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v.value()), high.max(v.value())));
    if most.abs().max(least.abs()) < DEAD {
        let most = up(most.abs().max(least.abs()) * 1.2 + LEAKS);
        return (format!("at most {most:.1} V"), Limit::Volts { least: None, most: Volts::new(most) });
    }
    // Behind a converter or at half the voltage, the supply is no measure.
    let from_supply = supply.map(Volts::value).filter(|supply| (0.0..=LOST).contains(&(supply - most)));
    let lowest = from_supply.map_or(least, |supply| supply - (supply - least) * (1.0 + CURRENT_DIFFERS));
    let highest = from_supply.unwrap_or(most);
    let [least, most] = [down(lowest - METER_ADDS), up(highest + METER_ADDS)];
    let limit = Limit::Volts { least: Some(Volts::new(least)), most: Volts::new(most) };
    (format!("{least:.1} V to {most:.1} V"), limit)
}

/// `1 A to 1.66 A`, and below the fuse's rating.
pub fn amps(expected: Amps, rating: Amps) -> (String, Limit) {
    let [least, most] = [1.0 - CURRENT_DIFFERS, 1.0 + CURRENT_DIFFERS].map(|share| printed(expected * share));
    // Close to the rating, the rating is the limit.
    if most < rating {
        (format!("{least} to {most}, below {rating}"), Limit::Amps { least, most })
    } else {
        (format!("at least {least}, below {rating}"), Limit::Amps { least, most: rating })
    }
}

/// `at most 14 mA`: what is taken at rest. Leakage and standby differ between parts.
pub fn at_most(expected: Amps) -> (String, Limit) {
    let milliamps = (expected.value() * (1.0 + CURRENT_DIFFERS) + RESTS) * 1000.0;
    let most = Amps::new((milliamps - 1e-6).ceil() / 1000.0);
    (format!("at most {most}"), Limit::Amps { least: Amps::default(), most })
}

/// `1.8 s to 2.2 s`.
pub fn time(set: Seconds, tolerance: Share) -> (String, Limit) {
    let share = if tolerance.value() > 0.0 { tolerance.value() } else { TIME_DIFFERS };
    let [least, most] = [1.0 - share, 1.0 + share].map(|share| (set.value() * share * 100.0).round() / 100.0);
    let limit = Limit::Time { least: Seconds::new(least), most: Seconds::new(most) };
    (format!("{least} s to {most} s"), limit)
}

/// The current limit of the bench supply: 25 % above the highest current drawn, rounded up to 0.5 A.
pub fn supply_limit(most: Amps) -> Amps {
    Amps::new(((most.value() * (1.0 + CURRENT_DIFFERS) * 2.0).ceil() / 2.0).max(0.5))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked out by hand.
    #[test]
    fn bands_are_close_to_what_is_expected() {
        let volts = |v: &[f64]| super::volts(v.iter().map(|v| Volts::new(*v)), Some(Volts::new(12.6))).0;
        // 12.6 V less 1.25 times 0.15 V, less 0.05 V; 12.6 V and 0.05 V more.
        assert_eq!(volts(&[12.48, 12.45]), "12.3 V to 12.7 V");
        assert_eq!(volts(&[12.5]), "12.4 V to 12.7 V");
        // Behind a converter to 5 V.
        assert_eq!(volts(&[5.0]), "4.9 V to 5.1 V");
        assert_eq!(volts(&[0.0]), "at most 0.4 V");
        assert_eq!(volts(&[0.22]), "at most 0.7 V");
        assert_eq!(amps(Amps::new(1.2), Amps::new(5.0)).0, "900 mA to 1.5 A, below 5 A");
        assert_eq!(amps(Amps::new(2.8), Amps::new(3.0)).0, "at least 2.1 A, below 3 A");
        assert_eq!(time(Seconds::new(2.0), Share::new(0.1)).0, "1.8 s to 2.2 s");
        assert_eq!(supply_limit(Amps::new(1.47)), Amps::new(2.0));
        assert_eq!(supply_limit(Amps::new(0.1)), Amps::new(0.5));
    }
}
