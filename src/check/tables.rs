//! Figures that rules measure against, each with its source: `tables/figures.csv`.

use facts::figures::Figures;
use quantity::{Amps, Metres, Seconds, Share};
use std::sync::LazyLock;

static FIGURES: LazyLock<Figures> = LazyLock::new(|| Figures::read(include_str!("tables/figures.csv")));

/// How far from the supply a fuse may sit.
pub fn fuse_distance() -> Metres {
    FIGURES.quantity("fuse-distance")
}

/// How far from the supply a fuse may sit when all of the wire up to it runs in conduit or sleeve.
pub fn fuse_distance_sheathed() -> Metres {
    FIGURES.quantity("fuse-distance-sheathed")
}

/// How much of a battery's capacity a vehicle can lose and still start.
pub fn usable_capacity() -> Share {
    FIGURES.quantity("usable-capacity")
}

/// How long a short may last.
pub fn clears_within() -> Seconds {
    FIGURES.quantity("clears-within")
}

/// How long the rush of a filament lasts.
pub fn lamp_rush() -> Seconds {
    FIGURES.quantity("lamp-rush")
}

/// How long a motor takes to run up.
pub fn motor_rush() -> Seconds {
    FIGURES.quantity("motor-rush")
}

/// How long the capacitors of electronics take to fill.
pub fn electronics_rush() -> Seconds {
    FIGURES.quantity("electronics-rush")
}

/// How long a turn signal flashes in the life of a vehicle.
pub fn flashing_life() -> Seconds {
    FIGURES.quantity("flashing-life")
}

/// How often anything else is switched in the life of a vehicle.
pub fn switching_life() -> f64 {
    FIGURES.number("switching-life")
}

/// What insulation of PVC on copper stands in a short: √(A²s) per mm².
pub fn short_withstand() -> f64 {
    FIGURES.number("short-withstand")
}

/// The greatest voltage that a part stands, as a multiple of the one that it is made for.
pub fn greatest_supply() -> Share {
    Share::new(FIGURES.number("greatest-supply"))
}

/// Below this no smaller fuse is asked for.
pub fn small_fuse() -> Amps {
    FIGURES.quantity("small-fuse")
}

/// How many times the rating that would do a fuse may be.
pub fn fuse_times() -> f64 {
    FIGURES.number("fuse-times")
}

/// How many wires one crimp takes.
pub fn wires_in_a_terminal() -> usize {
    FIGURES.number("wires-in-a-terminal") as usize
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
        assert!(FIGURES.are_sourced());
    }
}
