//! The choice of a measurement against a published example.
//!
//! J. de Kleer and B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32, 1987, 97-130: three multipliers
//! and two adders, F = A·C + B·D and G = B·D + C·E with A = 3, B = 2, C = 2, D = 3, E = 3; F reads 10 and G reads 12. The
//! example, its minimal candidates and the best measurement, X, are from memory.

use crate::group::SuspectGroup;
use crate::step::gain;

const PARTS: [&str; 5] = ["M1", "M2", "M3", "A1", "A2"];

/// What X, Y and Z are if these parts are faulty and no others: a faulty part gives what the readings ask of it. `None` if
/// the readings contradict it; a value that stays open is `None` too.
fn explained(faulty: &[&str]) -> Option<[Option<i32>; 3]> {
    let is_whole = |part: &str| !faulty.contains(&part);
    let given = |part: &str, value: i32| is_whole(part).then_some(value);
    let mut values = [given("M1", 6), given("M2", 6), given("M3", 6)];
    // An adder that works gives one term from the other; twice round is enough for two adders.
    for _ in 0..2 {
        for (adder, sum, left, right) in [("A1", 10, 0, 1), ("A2", 12, 2, 1)] {
            if is_whole(adder) {
                match (values[left], values[right]) {
                    (Some(a), Some(b)) if a + b != sum => return None,
                    (Some(a), None) => values[right] = Some(sum - a),
                    (None, Some(b)) => values[left] = Some(sum - b),
                    _ => {}
                }
            }
        }
    }
    Some(values)
}

/// Every set of parts that explains the readings and has no smaller one within it.
fn candidates() -> Vec<Vec<&'static str>> {
    let set = |bits: u32| -> Vec<&'static str> { (0..5).filter(|i| bits >> i & 1 == 1).map(|i| PARTS[i]).collect() };
    let fits = |bits: &u32| explained(&set(*bits)).is_some();
    let all: Vec<u32> = (0..32).filter(fits).collect();
    let minimal = all.iter().filter(|bits| !all.iter().any(|other| other != *bits && other & *bits == *other));
    minimal.map(|bits| set(*bits)).collect()
}

#[test]
fn the_adders_and_multipliers_have_their_candidates_and_x_is_measured_next() {
    let candidates = candidates();
    assert_eq!(candidates, [vec!["M1"], vec!["M2", "M3"], vec!["A1"], vec!["M2", "A2"]]);
    // Each part fails with the probability 0.01.
    let weight = |set: &Vec<&str>| 0.01_f64.powi(set.len() as i32);
    let total: f64 = candidates.iter().map(weight).sum();
    let group = |(at, set)| SuspectGroup { faults: vec![at], example: at, probability: weight(set) / total };
    let groups: Vec<SuspectGroup> = candidates.iter().enumerate().map(group).collect();
    let bits = |point: usize| {
        gain(&groups, |group| {
            let values = explained(&candidates[group.example]).unwrap();
            values[point].map_or(u16::MAX, |value| value as u16)
        })
    };
    let [x, y, z] = [bits(0), bits(1), bits(2)];
    assert!(x > y && y > z, "X {x:.3}, Y {y:.3}, Z {z:.3} bits");
    // X separates the two single faults, so it gives almost one bit.
    assert!((x - 1.0).abs() < 0.03, "{x}");
}
