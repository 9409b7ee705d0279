//! Copper conductors: resistance by size, length and temperature, and the current that a size may carry in its bundle.
//!
//! The figures are tables with their sources (`tables/*.csv`); what lies between or beyond their rows is worked out on
//! the safe side, and each function says how.
//!
//! ```
//! use model::conductor;
//! use quantity::{Celsius, Gauge, Metres};
//! let there_and_back = Metres::new(8.0);
//! let cold = conductor::resistance(Gauge::Metric(0.75), there_and_back, Celsius::new(20.0));
//! assert_eq!(cold.to_string(), "208 mΩ");
//! assert_eq!(conductor::ampacity(Gauge::Awg(18), 5, false).to_string(), "12 A");
//! ```

use quantity::{Amps, Celsius, Gauge, Metres, Ohms, Span};
use std::cmp::Ordering;
use std::sync::LazyLock;

/// Resistivity of copper at 20 °C in Ω·mm²/km, 100 % IACS (IEC 60028: 1.7241e-8 Ω·m).
pub const COPPER_OHM_MM2_PER_KM: f64 = 17.241;

/// Temperature coefficient of copper's resistance at 20 °C, per kelvin (IEC 60028).
pub const COPPER_PER_KELVIN: f64 = 0.00393;

/// Resistance of the shield of a coaxial cable, per metre at 20 °C: that of the braid of a 75 Ω video cable 3 mm thick,
/// about 0.45 mm² of copper (typical, no source).
pub const SHIELD_PER_METRE: Ohms = Ohms::new(0.04);

/// One circular mil, the area of a circle 0.001 in wide, in mm².
const MM2_PER_CIRCULAR_MIL: f64 = std::f64::consts::FRAC_PI_4 * 0.0254 * 0.0254;

/// Metric sizes with their maximum resistance at 20 °C in Ω/km, thinnest first.
static METRIC: LazyLock<Vec<[f64; 2]>> =
    LazyLock::new(|| rows(include_str!("tables/conductor-resistance-iec60228.csv")));

/// American gauges with their least copper area in circular mils, thinnest first. Sizes above 1 are 0 for 1/0 to −3 for 4/0.
static GAUGES: LazyLock<Vec<[f64; 2]>> = LazyLock::new(|| rows(include_str!("tables/conductor-area-sae.csv")));

/// American gauges with the currents they may carry, outside and inside an engine space in turn, for up to 2, 3, 4 to 6
/// and 7 to 24 conductors in one bundle, thinnest first.
static AMPACITY: LazyLock<Vec<[f64; 9]>> = LazyLock::new(|| rows(include_str!("tables/ampacity-abyc-e11.csv")));

/// The tables: what each holds, for how many sizes, and its sources.
pub fn sources() -> Vec<(&'static str, usize, String)> {
    [
        ("maximum resistance of metric sizes", include_str!("tables/conductor-resistance-iec60228.csv")),
        ("minimum area of American gauges", include_str!("tables/conductor-area-sae.csv")),
        ("allowable current by bundle and engine space", include_str!("tables/ampacity-abyc-e11.csv")),
    ]
    .map(|(title, text)| {
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let last = |record: csv::StringRecord| record.iter().next_back().map(str::to_string);
        let mut sources: Vec<String> = reader.records().filter_map(|record| last(record.ok()?)).collect();
        let count = sources.len();
        sources.dedup();
        (title, count, sources.join("; "))
    })
    .to_vec()
}

/// The first `N` columns of a table. Rows that don't read are left out, and a test counts them.
fn rows<const N: usize>(text: &str) -> Vec<[f64; N]> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let row = |record: csv::StringRecord| -> Option<[f64; N]> {
        let cells: Vec<f64> = record.iter().take(N).map_while(|cell| cell.parse().ok()).collect();
        cells.try_into().ok()
    };
    reader.records().filter_map(|record| row(record.ok()?)).collect()
}

/// Metric sizes of IEC 60228 that are listed, thinnest first.
pub fn metric_sizes() -> impl Iterator<Item = Gauge> {
    METRIC.iter().map(|[area, _]| Gauge::Metric(*area))
}

/// American gauges that are listed, thinnest first.
pub fn awg_sizes() -> impl Iterator<Item = Gauge> {
    GAUGES.iter().map(|[n, _]| Gauge::Awg(*n as i8))
}

/// The thinnest listed size, of the same kind as `like` and not thinner, that `fits`.
pub fn thinnest(like: Gauge, fits: impl Fn(Gauge) -> bool) -> Option<Gauge> {
    let sizes: Vec<Gauge> = match like {
        Gauge::Metric(_) => metric_sizes().collect(),
        Gauge::Awg(_) => awg_sizes().collect(),
    };
    sizes.into_iter().filter(|size| size.area() >= like.area()).find(|size| fits(*size))
}

/// A gauge and its equivalent metric size differ by up to this share of copper: 18 AWG has 0.82 mm² and
/// counts as 0.75 mm².
const SAME_SIZE: f64 = 0.12;

/// Whether a conductor fits a terminal's range: `Less` if it is too thin, `Greater` if it is too thick. A gauge and
/// its equivalent metric size count as the same.
pub fn against(gauge: Gauge, range: Span<Gauge>) -> Ordering {
    if gauge.area() < range.low.area() * (1.0 - SAME_SIZE) {
        Ordering::Less
    } else if gauge.area() > range.high.area() * (1.0 + SAME_SIZE) {
        Ordering::Greater
    } else {
        Ordering::Equal
    }
}

/// Maximum resistance of a stranded copper conductor.
///
/// Metric sizes have the maximum resistance of IEC 60228 class 5; a size between two listed ones lies on the straight
/// line between them in logarithms, one beyond the ends goes by its area. American gauges have copper's resistivity
/// over the least area of SAE J1127/J1128, and over the solid area of ASTM B258 where that lists none.
pub fn resistance(gauge: Gauge, length: Metres, temperature: Celsius) -> Ohms {
    let per_km = match gauge {
        Gauge::Metric(area) => metric_per_km(area),
        Gauge::Awg(n) => {
            let listed = GAUGES.iter().find(|row| row[0] == f64::from(n));
            COPPER_OHM_MM2_PER_KM / listed.map_or_else(|| gauge.area(), |row| row[1] * MM2_PER_CIRCULAR_MIL)
        }
    };
    let warm = 1.0 + COPPER_PER_KELVIN * (temperature.value() - 20.0);
    Ohms::new(per_km * length.value() / 1000.0 * warm)
}

fn metric_per_km(area: f64) -> f64 {
    let table = &*METRIC;
    let above = table.iter().position(|row| row[0] >= area).unwrap_or(table.len());
    match (above.checked_sub(1).and_then(|i| table.get(i)), table.get(above)) {
        (_, Some([exact, ohms])) if *exact == area => *ohms,
        (Some([a, ohms_a]), Some([b, ohms_b])) => {
            let share = (area / a).ln() / (b / a).ln();
            ohms_a * (ohms_b / ohms_a).powf(share)
        }
        (None, Some([end, ohms])) | (Some([end, ohms]), None) => ohms * end / area,
        (None, None) => COPPER_OHM_MM2_PER_KM / area,
    }
}

/// Continuous current limit of a single conductor with 105 °C insulation, with `bundled` conductors in its bundle,
/// itself included, by ABYC E-11.
///
/// A size that isn't listed carries what the next thinner listed gauge does (areas by SAE J1127/J1128); one thinner
/// than the thinnest carries in proportion to its copper, which is less than the table's trend; one thicker than the
/// thickest carries at most that. In a bundle of 25 or more it is four fifths of the figure for 7 to 24, from
/// memory of the same table.
pub fn ampacity(gauge: Gauge, bundled: usize, engine_space: bool) -> Amps {
    let (column, share) = match bundled {
        0..=2 => (1, 1.0),
        3 => (3, 1.0),
        4..=6 => (5, 1.0),
        7..=24 => (7, 1.0),
        _ => (7, 0.8),
    };
    let column = column + usize::from(engine_space);
    let area_of = |n: f64| {
        let sae = GAUGES.iter().find(|row| row[0] == n).map(|row| row[1] * MM2_PER_CIRCULAR_MIL);
        sae.unwrap_or_else(|| Gauge::Awg(n as i8).area())
    };
    let area = match gauge {
        Gauge::Metric(area) => area,
        Gauge::Awg(n) => area_of(f64::from(n)),
    };
    let amps = match AMPACITY.iter().rev().find(|row| area_of(row[0]) <= area) {
        Some(row) => row[column],
        None => AMPACITY.first().map_or(0.0, |row| row[column] * area / area_of(row[0])),
    };
    Amps::new(amps * share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_read_thinnest_first() {
        assert_eq!((METRIC.len(), GAUGES.len(), AMPACITY.len()), (15, 14, 14));
        assert!(METRIC.is_sorted_by(|a, b| a[0] < b[0] && a[1] > b[1]));
        assert!(GAUGES.is_sorted_by(|a, b| a[0] > b[0] && a[1] < b[1]));
        assert!(AMPACITY.is_sorted_by(|a, b| a[0] > b[0] && a[1..].iter().zip(&b[1..]).all(|(a, b)| a < b)));
    }

    /// IEC 60228 class 5, plain copper at 20 °C: 1.5 mm² has at most 13.3 Ω/km, 0.75 mm² 26.0 Ω/km.
    #[test]
    fn metric_sizes_follow_iec_60228() {
        let ohms = |area, celsius| resistance(Gauge::Metric(area), Metres::new(1000.0), Celsius::new(celsius)).value();
        assert_eq!((ohms(0.75, 20.0), ohms(1.5, 20.0), ohms(70.0, 20.0)), (26.0, 13.3, 0.272));
        // IEC 60028: 0.00393 per kelvin.
        assert!((ohms(1.5, 60.0) - 13.3 * 1.1572).abs() < 1e-9);
    }

    #[test]
    fn thicker_never_resists_more_nor_carries_less() {
        let mut last = (f64::INFINITY, 0.0);
        for step in 1..=2400 {
            let gauge = Gauge::Metric(f64::from(step) * 0.05);
            let ohms = resistance(gauge, Metres::new(1.0), Celsius::new(20.0)).value();
            let amps = ampacity(gauge, 4, true).value();
            assert!(ohms < last.0 && amps >= last.1, "{gauge}");
            last = (ohms, amps);
        }
        let awg: Vec<f64> = (-3..=30).rev().map(|n| ampacity(Gauge::Awg(n), 1, false).value()).collect();
        assert!(awg.is_sorted());
    }

    /// Solid copper by ASTM B258 and IEC 60028: 20 AWG has 33.3 Ω/km (10.15 Ω per 1000 ft in wire tables).
    #[test]
    fn unlisted_gauges_go_by_resistivity() {
        let ohms = resistance(Gauge::Awg(20), Metres::new(304.8), Celsius::new(20.0)).value();
        assert!((ohms / 10.15 - 1.0).abs() < 2e-3, "{ohms}");
    }

    /// By hand: 4/0 AWG has at least 205 500 circular mils, 104.1 mm², so 17.241 / 104.1 = 0.1656 Ω/km at 20 °C.
    #[test]
    fn the_thickest_gauge_resists_as_its_copper_does() {
        let ohms = resistance(Gauge::Awg(-3), Metres::new(1000.0), Celsius::new(20.0)).value();
        assert!((ohms - 0.1656).abs() < 1e-4, "{ohms}");
        assert_eq!(thinnest(Gauge::Awg(1), |gauge| ampacity(gauge, 1, false).value() >= 300.0), Some(Gauge::Awg(-1)));
    }

    /// Every bundled and engine-space figure is the single figure times 0.7, 0.6 or 0.5, and times 0.85 (ABYC E-11).
    #[test]
    fn bundles_carry_their_share() {
        for row in AMPACITY.iter() {
            for (column, share) in [(3, 0.7), (5, 0.6), (7, 0.5)] {
                assert!((row[column] / row[1] / share - 1.0).abs() < 2e-3, "{} AWG", row[0]);
            }
            for column in [1, 3, 5, 7] {
                assert!((row[column + 1] / row[column] / 0.85 - 1.0).abs() < 5e-3, "{} AWG", row[0]);
            }
        }
    }

    #[test]
    fn a_gauge_fits_where_its_metric_size_does() {
        let range: Span<Gauge> = "0.75..1.5 mm²".parse().unwrap();
        let sizes = ["20 AWG", "18 AWG", "16 AWG", "14 AWG"].map(|size| against(size.parse().unwrap(), range));
        assert_eq!(sizes, [Ordering::Less, Ordering::Equal, Ordering::Equal, Ordering::Greater]);
    }

    #[test]
    fn ampacity_is_the_tables() {
        let amps = |gauge, bundled, engine| ampacity(gauge, bundled, engine).value();
        assert_eq!(amps(Gauge::Awg(18), 1, false), 20.0);
        assert_eq!(amps(Gauge::Awg(12), 3, true), 26.8);
        assert_eq!(amps(Gauge::Awg(10), 6, false), 36.0);
        assert_eq!(amps(Gauge::Awg(1), 24, true), 104.1);
        // Two public lists of boat cable: 4/0 AWG carries 445 A outside an engine space and 378 A inside.
        assert_eq!((amps(Gauge::Awg(-3), 1, false), amps(Gauge::Awg(-3), 1, true)), (445.0, 378.3));
        assert_eq!((amps(Gauge::Awg(0), 1, false), amps(Gauge::Awg(-1), 1, false)), (285.0, 330.0));
        // 95 mm² lies between 3/0 (80.4 mm² at least) and 4/0 (104.1 mm²), 120 mm² above all.
        assert_eq!((amps(Gauge::Metric(95.0), 1, false), amps(Gauge::Metric(120.0), 1, false)), (385.0, 445.0));
        // Metric sizes carry what the next thinner gauge does: 2.5 mm² as 14 AWG (1.88 mm² at least).
        assert_eq!(amps(Gauge::Metric(2.5), 1, false), 35.0);
        // 0.5 mm² is thinner than 18 AWG (0.779 mm² at least): 20 A · 0.5 / 0.779.
        assert!((amps(Gauge::Metric(0.5), 1, false) - 12.84).abs() < 0.01);
    }

    /// ABYC E-11 Table IX, gauges for a drop of 3 % at 12 V. Its formula, CM = 10.75 · I · L / E, has copper at 10.75 Ω
    /// per mil-foot, which is copper of 29 °C. All cells but one agree; at 15 A and 60 ft the table is printed one
    /// gauge thinner than its own formula asks, and the formula is kept.
    #[test]
    fn gauges_for_a_drop_of_3_percent_agree_with_abyc_e11() {
        let table = include_str!("tables/drop-3pct-12v-abyc-e11.csv");
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        let feet: Vec<f64> =
            reader.headers().unwrap().iter().filter_map(|h| h.strip_prefix("ft_")?.parse().ok()).collect();
        let per_mil_foot = COPPER_OHM_MM2_PER_KM / MM2_PER_CIRCULAR_MIL / 1000.0 * 0.3048;
        let celsius = Celsius::new(20.0 + (10.75 / per_mil_foot - 1.0) / COPPER_PER_KELVIN);
        assert!((celsius.value() - 29.3).abs() < 0.1);
        let (mut cells, mut other) = (0, Vec::new());
        for record in reader.records().map(Result::unwrap) {
            let amps = Amps::new(record[0].parse().unwrap());
            for (i, feet) in feet.iter().enumerate() {
                let printed = Gauge::Awg(record[i + 1].parse().unwrap());
                let drop = |gauge| (amps * resistance(gauge, Metres::new(feet * 0.3048), celsius)).value();
                let ours = thinnest(Gauge::Awg(18), |gauge| drop(gauge) <= 0.03 * 12.0).unwrap();
                cells += 1;
                if ours != printed {
                    other.push((amps.value(), *feet, printed, ours));
                }
            }
        }
        assert_eq!(cells, 48);
        assert_eq!(other, [(15.0, 60.0, Gauge::Awg(6), Gauge::Awg(4))]);
    }
}
