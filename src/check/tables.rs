//! Figures that rules measure against, each with its source: `tables/figures.csv`.

use crate::quantity::{Metres, Quantity};
use std::sync::LazyLock;

static FIGURES: LazyLock<Vec<[String; 2]>> = LazyLock::new(|| {
    let mut reader = csv::Reader::from_reader(include_str!("tables/figures.csv").as_bytes());
    let row = |record: csv::StringRecord| Some([record.get(0)?.to_string(), record.get(1)?.to_string()]);
    reader.records().filter_map(|record| row(record.ok()?)).collect()
});

/// A figure by name; `None` where there is none or it is of another kind, which a test keeps from happening.
fn figure<Q: Quantity>(name: &str) -> Option<Q> {
    FIGURES.iter().find(|[n, _]| n == name)?[1].parse().ok()
}

/// How far from the supply a fuse may sit.
pub fn fuse_distance() -> Metres {
    figure("fuse-distance").unwrap_or_default()
}

/// How far from the supply a fuse may sit when all of the wire up to it runs in conduit or sleeve.
pub fn fuse_distance_sheathed() -> Metres {
    figure("fuse-distance-sheathed").unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_figure_is_there_with_a_source() {
        assert_eq!(fuse_distance().to_string(), "450 mm");
        assert_eq!(fuse_distance_sheathed().to_string(), "1.83 m");
        let mut reader = csv::Reader::from_reader(include_str!("tables/figures.csv").as_bytes());
        assert!(reader.records().all(|row| row.is_ok_and(|row| row.len() == 3 && !row[2].is_empty())));
    }
}
