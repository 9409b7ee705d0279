//! Bundles: the wires of a run, how thick they are together, and what they need on the way.

use super::{Model, RunId, Wire, WireId};
use quantity::Metres;
use spec::WireMake;

/// Outer diameters of thin-wall single cores in millimetres by conductor area in mm² (ISO 6722-1, greatest, from memory).
const OUTER: [(f64, f64); 10] = [
    (0.35, 1.4),
    (0.5, 1.6),
    (0.75, 1.9),
    (1.0, 2.1),
    (1.5, 2.4),
    (2.5, 3.0),
    (4.0, 3.7),
    (6.0, 4.3),
    (10.0, 6.0),
    (16.0, 7.2),
];

/// Coaxial video lead, typical.
const COAX: f64 = 3.0;

/// Room that round wires leave between them when they lie without order (common practice, no source).
const PACKING: f64 = 1.2;

/// Outer diameter of a wire with its insulation. Sizes between the table's take the next thicker one's; beyond its end
/// the diameter grows with the root of the area.
pub fn outer_diameter(wire: &Wire) -> Metres {
    if wire.make == WireMake::Coax {
        return Metres::new(COAX / 1000.0);
    }
    let area = wire.gauge.area();
    let (last_area, last) = OUTER[OUTER.len() - 1];
    let listed = OUTER.iter().find(|(a, _)| *a >= area - 1e-6).map(|(_, d)| *d);
    Metres::new(listed.unwrap_or_else(|| last * (area / last_area).sqrt()) / 1000.0)
}

/// The wires that go through a run, in the order of the spec.
pub fn wires_in<G>(model: &Model<G>, run: RunId) -> Vec<WireId> {
    model.wire_ids().filter(|id| model.wire(*id).path.contains(&run)).collect()
}

/// Diameter of the bundle in a run, without its covering: 1.2 · √(Σ d²) over the wires' outer diameters d.
pub fn diameter(model: &Model, run: RunId) -> Metres {
    let squares: f64 = wires_in(model, run).iter().map(|id| outer_diameter(model.wire(*id)).value().powi(2)).sum();
    Metres::new(PACKING * squares.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Gauge;

    /// Seven equal round wires pack into a hexagon three diameters across; lying without order they are somewhat wider.
    #[test]
    fn seven_wires_are_a_little_over_three_across() {
        let squares = 7.0 * 1.6f64.powi(2);
        let across = PACKING * squares.sqrt();
        assert!(across > 3.0 * 1.6 && across < 3.4 * 1.6, "{across}");
    }

    #[test]
    fn sizes_between_take_the_next_thicker() {
        let listed = OUTER.iter().find(|(a, _)| *a >= Gauge::Awg(18).area() - 1e-6);
        assert_eq!(listed, Some(&(1.0, 2.1)));
    }
}
