//! When a fuse opens at a current.

use catalogue::part_form::{Family, OpeningForm};
use model::{ElementId, ElementKind, Model};
use quantity::{Amps, Seconds, Share};

/// The longest opening time of a fuse at a current: between the points of its kind along straight lines in logarithms,
/// beyond the last one with the same I²t. `None` below the first, where it need not open.
pub fn latest(opens: &[OpeningForm], share: f64) -> Option<Seconds> {
    interpolate(opens.iter().filter_map(|point| Some([point.at.value(), point.most?.value()])), share)
}

/// The shortest opening time of a fuse at a current, in the same way. `None` below the first point: it doesn't open.
pub fn soonest(opens: &[OpeningForm], share: f64) -> Option<Seconds> {
    interpolate(opens.iter().filter_map(|point| Some([point.at.value(), point.least?.value()])), share)
}

fn interpolate(points: impl Iterator<Item = [f64; 2]>, share: f64) -> Option<Seconds> {
    let points: Vec<[f64; 2]> = points.collect();
    let above = points.iter().position(|point| point[0] > share);
    let seconds = match above {
        Some(0) => return None,
        Some(i) => {
            let ([s0, t0], [s1, t1]) = (points[i - 1], points[i]);
            t0 * (t1 / t0).powf((share / s0).ln() / (s1 / s0).ln())
        }
        None => {
            let [s, t] = *points.last()?;
            t * (s / share).powi(2)
        }
    };
    Some(Seconds::new(seconds))
}

/// When a fuse of the vehicle opens: as a medium blade fuse, ISO 8820-3 type C (from memory; the kind is common practice).
pub fn of_vehicle() -> [OpeningForm; 5] {
    let point = |at: f64, least: f64, most: Option<f64>| OpeningForm {
        incomplete: false,
        at: Share::new(at),
        least: Some(Seconds::new(least)),
        most: most.map(Seconds::new),
    };
    [
        point(1.1, 360_000.0, None),
        point(1.35, 0.75, Some(600.0)),
        point(2.0, 0.15, Some(5.0)),
        point(3.5, 0.04, Some(0.5)),
        point(6.0, 0.02, Some(0.1)),
    ]
}

/// A fuse or breaker whose kind says when it opens: its rating, its points, and whether it is a fuse.
pub fn fuse(model: &Model, id: ElementId) -> Option<(Amps, &[OpeningForm], bool)> {
    let element = model.element(id);
    let ElementKind::Fuse { rating, .. } = element.kind else { return None };
    let form = &model.part(element.part).form;
    (!form.opens.is_empty()).then_some((rating, &form.opens[..], form.family == Family::Fuse))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 8820-3 type C, from memory: 200 % within 0.15 to 5 s, 350 % within 40 to 500 ms.
    #[test]
    fn a_fuse_opens_between_the_points_of_its_kind() {
        let point = |at: f64, least: f64, most: f64| OpeningForm {
            incomplete: false,
            at: Share::new(at),
            least: Some(Seconds::new(least)),
            most: Some(Seconds::new(most)),
        };
        let opens = [point(2.0, 0.15, 5.0), point(3.5, 0.04, 0.5)];
        assert_eq!(latest(&opens, 1.9), None);
        assert_eq!((latest(&opens, 2.0), soonest(&opens, 3.5)), (Some(Seconds::new(5.0)), Some(Seconds::new(0.04))));
        let between = latest(&opens, 2.6).unwrap().value();
        assert!(between > 0.5 && between < 5.0);
        // Ten times the last current: a hundredth of its time.
        assert!((latest(&opens, 35.0).unwrap().value() - 0.005).abs() < 1e-12);
    }

    /// The vehicle's fuse opens as the blade fuse of the program's own parts does.
    #[test]
    fn a_fuse_of_the_vehicle_opens_as_a_blade_fuse() {
        let model = sample::demo("first-harness");
        let ours = (0..model.elements.len()).find_map(|i| fuse(&model, ElementId(i))).unwrap().1;
        let points = |all: &[OpeningForm]| all.iter().map(|one| (one.at, one.least, one.most)).collect::<Vec<_>>();
        assert_eq!(points(ours), points(&of_vehicle()));
    }
}
