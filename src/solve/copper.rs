//! Resistance of copper conductors.

use crate::quantity::{Celsius, Gauge, Metres, Ohms};
use std::sync::OnceLock;

/// Resistivity of annealed copper at 20 °C, Ω·mm²/m (IEC 60028, 100 % IACS).
pub const COPPER_OHM_MM2_PER_M: f64 = 0.017_241;

/// Temperature coefficient of copper's resistance at 20 °C, per kelvin (IEC 60028).
pub const COPPER_PER_KELVIN: f64 = 0.00393;

/// How much more than a solid bar of its nominal area a stranded conductor may have, where no table lists its size: the
/// most that the listed sizes of a harness have (1.5 mm² of IEC 60228 class 5: 13.3 against 11.5 Ω/km).
const STRANDED: f64 = 1.16;

/// Metric sizes in mm² and their greatest resistance in Ω/km.
fn table() -> &'static [(f64, f64)] {
    static TABLE: OnceLock<Vec<(f64, f64)>> = OnceLock::new();
    TABLE.get_or_init(|| {
        let mut reader = csv::Reader::from_reader(include_str!("conductors.csv").as_bytes());
        let rows = reader.records().filter_map(Result::ok);
        rows.filter_map(|row| {
            let Gauge::Metric(area) = row.get(0)?.parse().ok()? else { return None };
            Some((area, row.get(1)?.parse().ok()?))
        })
        .collect()
    })
}

/// Greatest resistance of a conductor at 20 °C: as IEC 60228 allows for its size; for sizes that it doesn't list, and
/// for American gauges, the resistivity of copper over the nominal area with an allowance for stranding.
pub fn resistance(gauge: Gauge, length: Metres) -> Ohms {
    let area = gauge.area();
    let listed = match gauge {
        Gauge::Metric(_) => table().iter().find(|(size, _)| (size - area).abs() < 1e-9).map(|(_, ohm)| ohm / 1000.0),
        Gauge::Awg(_) => None,
    };
    Ohms::new(listed.unwrap_or(STRANDED * COPPER_OHM_MM2_PER_M / area) * length.value())
}

/// Resistance of copper by its resistance at 20 °C.
pub fn factor(temperature: Celsius) -> f64 {
    1.0 + COPPER_PER_KELVIN * (temperature.value() - 20.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// IEC 60228, class 5, plain copper: 0.75 mm² has at most 26.0 Ω/km, 6 mm² at most 3.30 Ω/km.
    #[test]
    fn listed_sizes_are_as_in_iec_60228() {
        assert_eq!(table().len(), 13);
        for (area, ohm) in [(0.75, 26.0), (6.0, 3.30)] {
            assert!((resistance(Gauge::Metric(area), Metres::new(1000.0)).value() - ohm).abs() < 1e-9);
        }
    }

    /// Allowance for stranding: no listed size between 0.5 and 6 mm², the sizes of a harness, has more than it.
    #[test]
    fn the_allowance_covers_the_listed_sizes_of_a_harness() {
        for (area, ohm) in table().iter().filter(|(area, _)| *area <= 6.0) {
            let plain = 1000.0 * COPPER_OHM_MM2_PER_M / area;
            assert!(*ohm <= plain * STRANDED * 1.0001, "{area} mm²: {ohm} against {plain}");
            assert!(*ohm >= plain);
        }
    }

    /// IEC 60028: 40 K warmer, copper has 15.7 % more.
    #[test]
    fn hot_copper() {
        assert!((factor(Celsius::new(60.0)) - 1.1572).abs() < 1e-9);
    }
}
