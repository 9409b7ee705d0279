//! Bundles: the wires of a run, how thick they are together, and what they need on the way.

use super::{Model, RunId, Wire, WireId};
use quantity::{Gauge, Metres};
use spec::WireMake;

/// Outer diameters of thin-wall single cores in millimetres by conductor area in mm² (ISO 6722-1, greatest, from
/// memory).
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

/// Outer diameter of a wire with its insulation. A size between two of the table has the diameter of the thicker one;
/// beyond its end the diameter grows with the root of the area.
pub fn outer_diameter(wire: &Wire) -> Metres {
    match wire.make {
        WireMake::Coax => Metres::new(COAX / 1000.0),
        WireMake::Single | WireMake::Twisted | WireMake::Lead => single_core(wire.gauge),
    }
}

/// Outer diameter of a thin-wall single core.
fn single_core(gauge: Gauge) -> Metres {
    let area = gauge.area();
    let (last_area, last) = OUTER[OUTER.len() - 1];
    let listed = OUTER.iter().find(|(a, _)| *a >= area - 1e-6).map(|(_, d)| *d);
    Metres::new(listed.unwrap_or_else(|| last * (area / last_area).sqrt()) / 1000.0)
}

/// The wires that go through a run, in the order of the spec.
pub fn wires_in<G>(model: &Model<G>, run: RunId) -> Vec<WireId> {
    model.wire_ids().filter(|id| model.wire(*id).path.contains(&run)).collect()
}

/// Diameter of the bundle in a run, without its covering.
pub fn diameter(model: &Model, run: RunId) -> Metres {
    packed(wires_in(model, run).iter().map(|id| outer_diameter(model.wire(*id))))
}

/// Diameter of round wires in one bundle: 1.2 · √(Σ d²) over their outer diameters d.
fn packed(wires: impl Iterator<Item = Metres>) -> Metres {
    let squares: f64 = wires.map(|across| across.value().powi(2)).sum();
    Metres::new(PACKING * squares.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Equal circles in the smallest circle around them (geometry): three are 1 + 2/√3 diameters across, four 1 + √2,
    /// seven 3, nineteen 1 + √2 + √6. Wires without order take up to a third more. For three wires the rule of thumb
    /// gives 4 % less than they need.
    #[test]
    fn a_bundle_is_a_little_thicker_than_the_tightest_packing() {
        let tightest =
            [(3, 1.0 + 2.0 / 3f64.sqrt()), (4, 1.0 + 2f64.sqrt()), (7, 3.0), (19, 1.0 + 2f64.sqrt() + 6f64.sqrt())];
        for (count, across) in tightest {
            let wire = single_core(Gauge::Metric(0.5));
            let share = packed(std::iter::repeat_n(wire, count)) / wire / across;
            assert!((0.95..1.3).contains(&share), "{count} wires: {share}");
        }
    }

    /// ISO 6722-1, thin wall, maximum outer diameters, from memory: 1 mm² 2.1 mm, 2.5 mm² 3 mm. 18 AWG has 0.82 mm².
    #[test]
    fn a_size_between_two_has_the_diameter_of_the_thicker() {
        let across = |gauge| single_core(gauge).to_string();
        assert_eq!(across(Gauge::Metric(2.5)), "3 mm");
        assert_eq!([across(Gauge::Awg(18)), across(Gauge::Metric(1.0))], ["2.1 mm", "2.1 mm"]);
        assert_eq!(across(Gauge::Metric(64.0)), "14.4 mm", "beyond the table: 7.2 mm · √(64 / 16)");
    }
}
