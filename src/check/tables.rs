//! Limits that rules use, each with its source: `tables/figures.csv`.

use facts::figures::Figures;
use quantity::{Amps, Metres, Seconds, Share};
use std::sync::LazyLock;

static FIGURES: LazyLock<Figures> = LazyLock::new(|| Figures::read(include_str!("tables/figures.csv")));

/// Every figure.
pub fn figures() -> &'static Figures {
    &FIGURES
}

/// Maximum distance of a fuse from the supply.
pub fn fuse_distance() -> Metres {
    FIGURES.quantity("fuse-distance")
}

/// Maximum distance of a fuse from the supply if all of the wire up to it runs in conduit or sleeve.
pub fn fuse_distance_sheathed() -> Metres {
    FIGURES.quantity("fuse-distance-sheathed")
}

/// Share of a battery's capacity that a vehicle can lose and still start.
pub fn usable_capacity() -> Share {
    FIGURES.quantity("usable-capacity")
}

/// Maximum duration of a short.
pub fn clears_within() -> Seconds {
    FIGURES.quantity("clears-within")
}

/// Flashing time of a turn signal in the life of a vehicle.
pub fn flashing_life() -> Seconds {
    FIGURES.quantity("flashing-life")
}

/// Operations of any other contact in the life of a vehicle.
pub fn switching_life() -> f64 {
    FIGURES.number("switching-life")
}

/// The short-circuit withstand of copper with PVC insulation: √(A²s) per mm².
pub fn short_withstand() -> f64 {
    FIGURES.number("short-withstand")
}

/// The highest voltage that a part withstands, as a multiple of its nominal voltage.
pub fn greatest_supply() -> Share {
    Share::new(FIGURES.number("highest-supply"))
}

/// Below this rating no smaller fuse is required.
pub fn small_fuse() -> Amps {
    FIGURES.quantity("small-fuse")
}

/// Maximum rating of a fuse, as a multiple of the rating that is enough.
pub fn fuse_times() -> f64 {
    FIGURES.number("fuse-times")
}

/// Maximum number of wires in one crimp.
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
        assert_eq!(clears_within().to_string(), "5 s");
        assert_eq!((flashing_life().value(), switching_life(), short_withstand()), (720_000.0, 100_000.0, 115.0));
        assert_eq!((greatest_supply().value(), fuse_times(), wires_in_a_terminal()), (1.3333, 5.0, 2));
        assert_eq!(small_fuse().to_string(), "2 A");
        assert!(FIGURES.are_sourced());
    }
}
