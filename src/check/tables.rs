//! Figures that rules measure against, each with its source: `tables/figures.csv`.

use quantity::{Amps, Metres, Ohms, Quantity, Seconds, Share};
use std::sync::LazyLock;

static FIGURES: LazyLock<Vec<[String; 2]>> = LazyLock::new(|| {
    let mut reader = csv::Reader::from_reader(include_str!("tables/figures.csv").as_bytes());
    let row = |record: csv::StringRecord| Some([record.get(0)?.to_string(), record.get(1)?.to_string()]);
    reader.records().filter_map(|record| row(record.ok()?)).collect()
});

/// A figure by name.
///
/// # Panics
/// When the table has no such figure, or one of another quantity: a rule must not measure against zero instead.
fn figure<Q: Quantity>(name: &str) -> Q {
    read(name)
}

fn read<T: std::str::FromStr>(name: &str) -> T {
    let text = FIGURES.iter().find(|[n, _]| n == name).map(|[_, value]| value);
    match text.and_then(|text| text.parse().ok()) {
        Some(value) => value,
        None => panic!("tables/figures.csv has no usable figure `{name}`"),
    }
}

/// How far from the supply a fuse may sit.
pub fn fuse_distance() -> Metres {
    figure("fuse-distance")
}

/// How far from the supply a fuse may sit when all of the wire up to it runs in conduit or sleeve.
pub fn fuse_distance_sheathed() -> Metres {
    figure("fuse-distance-sheathed")
}

/// How much of a battery's capacity a vehicle can lose and still start.
pub fn usable_capacity() -> Share {
    figure("usable-capacity")
}

/// How long a short may last.
pub fn clears_within() -> Seconds {
    figure("clears-within")
}

/// How long the rush of a filament lasts.
pub fn lamp_rush() -> Seconds {
    figure("lamp-rush")
}

/// How long a motor takes to run up.
pub fn motor_rush() -> Seconds {
    figure("motor-rush")
}

/// How long the capacitors of electronics take to fill.
pub fn electronics_rush() -> Seconds {
    figure("electronics-rush")
}

/// How long a turn signal flashes in the life of a vehicle.
pub fn flashing_life() -> Seconds {
    figure("flashing-life")
}

/// How often anything else is switched in the life of a vehicle.
pub fn switching_life() -> f64 {
    number("switching-life")
}

/// What insulation of PVC on copper stands in a short: √(A²s) per mm².
pub fn short_withstand() -> f64 {
    number("short-withstand")
}

/// The greatest voltage that a part stands, as a multiple of the one that it is made for.
pub fn greatest_supply() -> Share {
    Share::new(number("greatest-supply"))
}

/// Below this no smaller fuse is asked for.
pub fn small_fuse() -> Amps {
    figure("small-fuse")
}

/// How many times the rating that would do a fuse may be.
pub fn fuse_times() -> f64 {
    number("fuse-times")
}

/// How many wires one crimp takes.
pub fn wires_in_a_terminal() -> usize {
    number("wires-in-a-terminal") as usize
}

/// Share of its voltage from which a filament glows.
pub fn glows_share() -> Share {
    figure("glows-share")
}

/// Share of the current of a vehicle's own lamps below which they hide what is taken beside them.
pub fn lamp_notices_share() -> Share {
    figure("lamp-notices-share")
}

/// Share of its nominal voltage from which a load counts as fed, well or badly.
pub fn fed_voltage_share() -> Share {
    figure("fed-voltage-share")
}

/// Share of its usual current from which a load counts as fed.
pub fn fed_current_share() -> Share {
    figure("fed-current-share")
}

/// Resistance of the screen of a coaxial cable, per metre at 20 °C.
pub fn screen_per_metre() -> Ohms {
    figure("screen-per-metre")
}

/// What the screen of a coaxial cable and the shells of its plugs may carry.
pub fn screen_carries() -> Amps {
    figure("screen-carries")
}

/// A figure without a unit.
fn number(name: &str) -> f64 {
    read(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_is_there_with_a_source() {
        assert_eq!(fuse_distance().to_string(), "450 mm");
        assert_eq!(fuse_distance_sheathed().to_string(), "1.83 m");
        assert_eq!(usable_capacity().to_string(), "50 %");
        assert_eq!(
            [clears_within(), lamp_rush(), motor_rush(), electronics_rush()].map(|t| t.to_string()),
            ["5 s", "25 ms", "300 ms", "5 ms"]
        );
        assert_eq!((flashing_life().value(), switching_life(), short_withstand()), (720_000.0, 100_000.0, 115.0));
        assert_eq!((greatest_supply().value(), fuse_times(), wires_in_a_terminal()), (1.3333, 5.0, 2));
        assert_eq!(small_fuse().to_string(), "2 A");
        assert_eq!((screen_per_metre().to_string(), screen_carries().to_string()), ("40 mΩ".into(), "2 A".into()));
        assert_eq!(
            [glows_share(), lamp_notices_share(), fed_voltage_share(), fed_current_share()].map(|s| s.to_string()),
            ["10 %", "1 %", "25 %", "5 %"]
        );
        let mut reader = csv::Reader::from_reader(include_str!("tables/figures.csv").as_bytes());
        assert!(reader.records().all(|row| row.is_ok_and(|row| row.len() == 3 && !row[2].is_empty())));
    }
}
