//! Path data with relative coordinates, in hundredths of a millimetre: shorter than absolute ones, and as exact.

use super::geometry::{Point, Seg};
use quantity::decimal::push_fixed;

/// A point in hundredths of a millimetre.
type Spot = [i64; 2];

fn spot(point: &Point) -> Spot {
    [point.x, point.y].map(|mm| (mm * 100.0).round() as i64)
}

/// Appends path steps as SVG path data.
pub(super) fn relative_steps(d: &mut String, segs: &[Seg]) {
    let (mut at, mut start): (Spot, Spot) = ([0, 0], [0, 0]);
    for seg in segs {
        let to = match seg {
            Seg::Move(to) | Seg::Line(to) | Seg::Arc { to, .. } | Seg::Cubic(_, _, to) => spot(to),
            Seg::Close => start,
        };
        let [dx, dy] = [to[0] - at[0], to[1] - at[1]];
        match seg {
            Seg::Move(_) => {
                step(d, 'm', &[dx, dy]);
                start = to;
            }
            Seg::Line(_) if dy == 0 => step(d, 'h', &[dx]),
            Seg::Line(_) if dx == 0 => step(d, 'v', &[dy]),
            Seg::Line(_) => step(d, 'l', &[dx, dy]),
            Seg::Cubic(a, b, _) => {
                let [a, b] = [a, b].map(spot);
                step(d, 'c', &[a[0] - at[0], a[1] - at[1], b[0] - at[0], b[1] - at[1], dx, dy]);
            }
            Seg::Arc { radius, large, clockwise, .. } => {
                let radius = (radius * 100.0).round() as i64;
                let flag = |on: bool| i64::from(on) * 100;
                step(d, 'a', &[radius, radius, 0, flag(*large), flag(*clockwise), dx, dy]);
            }
            Seg::Close => d.push('z'),
        }
        at = to;
    }
}

/// A command with its numbers; a minus sign separates as well as a space does.
fn step(d: &mut String, command: char, hundredths: &[i64]) {
    d.push(command);
    for (i, number) in hundredths.iter().enumerate() {
        if i > 0 && *number >= 0 {
            d.push(' ');
        }
        let start = d.len();
        push_fixed(d, *number as f64 / 100.0, 2);
        // A fraction needs no zero before its point.
        if let Some(zero) = d[start..].find("0.").filter(|at| *at <= usize::from(*number < 0)) {
            d.remove(start + zero);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_add_up_to_the_rounded_points() {
        let line = |x: f64, y: f64| Seg::Line(Point::new(x, y));
        let segs = [
            Seg::Move(Point::new(1.004, 2.0)),
            line(3.5, 2.0),
            line(3.5, 1.25),
            line(2.125, 0.0),
            Seg::Arc { radius: 1.0, large: false, clockwise: true, to: Point::new(3.125, 1.0) },
            Seg::Close,
            Seg::Move(Point::new(0.0, 0.0)),
            Seg::Cubic(Point::new(1.0, 0.0), Point::new(1.0, 1.0), Point::new(0.0, 1.0)),
        ];
        let mut d = String::new();
        relative_steps(&mut d, &segs);
        assert_eq!(d, "m1 2h2.5v-.75l-1.37-1.25a1 1 0 0 1 1 1zm-1-2c1 0 1 1 0 1");
    }

    /// Rounding does not add up: after any number of steps the path is at the rounded point.
    #[test]
    fn many_small_steps_do_not_drift() {
        let point = |i: u32| Point::new(f64::from(i) * 0.0137, f64::from(i) * 0.0091);
        let segs: Vec<Seg> =
            (0..1000).map(|i| if i == 0 { Seg::Move(point(0)) } else { Seg::Line(point(i)) }).collect();
        let mut d = String::new();
        relative_steps(&mut d, &segs);
        let sums = d.split(['m', 'h', 'v', 'l']).filter(|part| !part.is_empty()).count();
        assert_eq!(sums, 1000);
        let mut x = 0.0;
        for part in d.split_inclusive(|c: char| c.is_ascii_alphabetic()).collect::<Vec<_>>().windows(2) {
            let numbers: Vec<f64> = part[1]
                .trim_end_matches(|c: char| c.is_ascii_alphabetic())
                .split(' ')
                .filter_map(|n| n.parse().ok())
                .collect();
            x += if part[0].ends_with('v') { 0.0 } else { numbers[0] };
        }
        assert!((x - (999.0_f64 * 0.0137 * 100.0).round() / 100.0).abs() < 1e-6, "{x}");
    }
}
