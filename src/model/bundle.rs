//! Bundles: the wires of a run, how thick they are together, and what they need on the way.

use super::{Model, RunId, Wire, WireId};
use quantity::{Gauge, Metres};
use spec::WireMake;

/// Outer diameters of thin-wall single cores in millimetres by conductor area in mm² (ISO 6722-1, maximum, from
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

/// Diameter of a bundle by the root of the sum of its wires' diameters squared: 3/√6. Of four and more equal wires, six take
/// the highest share of room in the smallest circle around them (3 diameters; published tables of circles in a circle, named
/// at the tests), so no number of equal wires from four up needs more. For unequal wires no table is known; two thirds
/// of the area are then taken to be wire.
const PACKING: f64 = 1.224_744_871_391_589;

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

/// Diameter of round wires in one bundle, by their outer diameters: exact for three and fewer, 3/√6 · √(Σ d²) for more,
/// never less than the thickest three alone.
fn packed(wires: impl Iterator<Item = Metres>) -> Metres {
    let mut across: Vec<f64> = wires.map(|across| across.value()).collect();
    across.sort_by(|a, b| b.total_cmp(a));
    let squares: f64 = across.iter().map(|across| across * across).sum();
    let rule = if across.len() > 3 { PACKING * squares.sqrt() } else { 0.0 };
    Metres::new(rule.max(around_three(&across)))
}

/// Diameter of the smallest circle around the first three of these circles, thickest first.
///
/// Two circles need the sum of their diameters. A third one lies in the gap beside them if its curvature is at least
/// 1/r₁ + 1/r₂ − 1/(r₁ + r₂). Otherwise all three touch each other and the circle around them, whose radius follows from
/// Descartes' theorem: 1/R = 2·√(k₁k₂ + k₂k₃ + k₃k₁) − (k₁ + k₂ + k₃), with the curvatures k = 1/r.
fn around_three(across: &[f64]) -> f64 {
    let two: f64 = across.iter().take(2).sum();
    let [a, b, c] = match *across {
        [a, b, c, ..] if c > 0.0 => [a, b, c].map(|across| 2.0 / across),
        _ => return two,
    };
    if c >= a + b - 2.0 / two {
        return two;
    }
    2.0 / (2.0 * (a * b + b * c + c * a).sqrt() - (a + b + c))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn equal(count: usize) -> f64 {
        let wire = Metres::new(0.0016);
        packed(std::iter::repeat_n(wire, count)) / wire
    }

    /// Equal circles in the smallest circle around them, in diameters: Kravitz 1967 (Mathematics Magazine 40, up to 19 circles)
    /// and Graham, Lubachevsky, Nurmela and Östergård 1998 (Discrete Mathematics 181, up to 65 circles). Closed forms for 1 to
    /// 7 and 19; the other values from memory.
    #[test]
    fn a_bundle_is_no_thinner_than_the_tightest_packing() {
        let published = [
            (1, 1.0),
            (2, 2.0),
            (3, 1.0 + 2.0 / 3f64.sqrt()),
            (4, 1.0 + 2f64.sqrt()),
            (5, 1.0 + (2.0 * (1.0 + 1.0 / 5f64.sqrt())).sqrt()),
            (6, 3.0),
            (7, 3.0),
            (8, 3.304_8),
            (9, 3.613_1),
            (10, 3.813_0),
            (11, 3.923_8),
            (12, 4.029_6),
            (13, 4.236_1),
            (14, 4.328_4),
            (15, 4.521_4),
            (16, 4.615_4),
            (17, 4.792_0),
            (18, 4.863_7),
            (19, 1.0 + 2f64.sqrt() + 6f64.sqrt()),
            (37, 6.758_8),
            (61, 8.661_3),
        ];
        for (count, across) in published {
            let share = equal(count) / across;
            // Four and more have up to a sixth more than the tightest: a bundle lies without order.
            let most = if count <= 3 { 1.0 + 1e-9 } else { 1.17 };
            assert!((1.0 - 1e-9..most).contains(&share), "{count} wires: {share}");
        }
    }

    /// However many there are, circles in the plane cover at most π/√12 of it (Thue's theorem).
    #[test]
    fn a_thick_bundle_is_no_denser_than_circles_can_lie() {
        for count in [100, 1000, 10_000] {
            let wire_share = count as f64 / equal(count).powi(2);
            assert!((0.6..std::f64::consts::PI / 12f64.sqrt()).contains(&wire_share), "{count} wires: {wire_share}");
        }
    }

    /// By hand, with Descartes' theorem: two wires of 2 mm leave a gap of 1/(1 + 1 − 1/2) = 2/3 mm in radius on either side;
    /// wires of 3 mm and 2 mm one of 1/(2/3 + 1 − 2/5) = 15/19 mm.
    #[test]
    fn a_thin_wire_lies_in_the_gap_beside_two_thick_ones() {
        let across = |all: &[f64]| packed(all.iter().map(|across| Metres::new(*across))).value();
        assert_eq!(across(&[2.0, 2.0, 1.33]), 4.0);
        assert!(across(&[2.0, 2.0, 1.34]) > 4.0 && across(&[2.0, 2.0, 1.34]) < 4.01);
        assert_eq!([across(&[3.0, 2.0, 1.57]), across(&[2.0, 1.57, 3.0])], [5.0; 2]);
        assert!(across(&[3.0, 2.0, 1.59]) > 5.0);
        assert_eq!([across(&[]), across(&[1.5])], [0.0, 1.5]);
        // Three equal ones: 1 + 2/√3.
        assert!((across(&[1.0; 3]) - 2.154_700_538).abs() < 1e-9);
    }

    /// ISO 6722-1, thin wall, highest outer diameters, from memory: 1 mm² 2.1 mm, 2.5 mm² 3 mm. 18 AWG has 0.82 mm².
    #[test]
    fn a_size_between_two_has_the_diameter_of_the_thicker() {
        let across = |gauge| single_core(gauge).to_string();
        assert_eq!(across(Gauge::Metric(2.5)), "3 mm");
        assert_eq!([across(Gauge::Awg(18)), across(Gauge::Metric(1.0))], ["2.1 mm", "2.1 mm"]);
        assert_eq!(across(Gauge::Metric(64.0)), "14.4 mm", "beyond the table: 7.2 mm · √(64 / 16)");
    }
}
