//! The choice of a measurement against a published example.
//!
//! J. de Kleer and B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32, 1987, 97-130: three multipliers
//! and two adders, F = A·C + B·D and G = B·D + C·E with A = 3, B = 2, C = 2, D = 3, E = 3; F reads 10 and G reads 12. The
//! example, its minimal candidates and the best measurement, X, are from memory.

use crate::choice::{Class, Division, best};

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
    let class = |(suspect, set)| Class { suspect, probability: weight(set) / total };
    let classes: Vec<Class> = candidates.iter().enumerate().map(class).collect();
    let point = |point: usize| {
        let shows = |set: &Vec<&str>| explained(set).unwrap()[point].map_or(u16::MAX - 1, |value| value as u16);
        Division::new(candidates.iter().map(shows)).unwrap()
    };
    let bits = |at: usize| point(at).gain(&classes, 0.0);
    let [x, y, z] = [bits(0), bits(1), bits(2)];
    assert!(x > y && y > z, "X {x:.3}, Y {y:.3}, Z {z:.3} bits");
    // X separates the two single faults, so it gives almost one bit.
    assert!((x - 1.0).abs() < 0.03, "{x}");
    assert_eq!(best(&classes, &[point(2), point(1), point(0)], 0.0), Some(2));
}

/// System states, their probabilities and which of five tests fail in each; a test costs 1. K. R. Pattipati and M. G.
/// Alexandridis, Application of heuristic search and information theory to sequential fault diagnosis, IEEE
/// Transactions on Systems, Man, and Cybernetics 20, 1990, 872-887; also in V. Raghavan, M. Shakeri and K. Pattipati, Test
/// sequencing problems arising in test planning and design for testability, IEEE Transactions on Systems, Man, and
/// Cybernetics A 29, 1999, 153-163. The table and its optimum, 2.18, are from memory; the search below confirms them.
const STATES: [(f64, [u16; 5]); 6] = [
    (0.70, [0, 0, 0, 0, 0]),
    (0.01, [0, 1, 0, 0, 1]),
    (0.02, [0, 0, 1, 1, 0]),
    (0.10, [1, 0, 0, 1, 1]),
    (0.05, [1, 1, 0, 0, 0]),
    (0.12, [1, 1, 1, 1, 0]),
];

/// The place of the next test among some, for some states; `None` to try them all.
type ChooseTest<'c> = dyn Fn(&[usize], &[usize]) -> Option<usize> + 'c;

/// The expected cost of naming the state, where each test is chosen by `choose` from those that divide the states.
fn expected(states: &[usize], costs: [f64; 5], choose: &ChooseTest) -> f64 {
    let divides = |test: &usize| states.iter().any(|s| STATES[*s].1[*test] != STATES[states[0]].1[*test]);
    let tests: Vec<usize> = (0..5).filter(divides).collect();
    if states.len() < 2 {
        return 0.0;
    }
    let after = |test: usize| {
        let part = |fails: u16| states.iter().copied().filter(|s| STATES[*s].1[test] == fails).collect::<Vec<_>>();
        let share: f64 = states.iter().map(|s| STATES[*s].0).sum();
        share * costs[test] + expected(&part(0), costs, choose) + expected(&part(1), costs, choose)
    };
    match choose(states, &tests) {
        Some(at) => after(tests[at]),
        None => tests.into_iter().map(after).fold(f64::INFINITY, f64::min),
    }
}

#[test]
fn tests_with_costs_are_chosen_nearly_as_well_as_an_exhaustive_search_does() {
    let all: Vec<usize> = (0..STATES.len()).collect();
    let (mut ours, mut least, mut tried) = (0.0, 0.0, 0);
    for number in 0..3_usize.pow(5) {
        let costs = [0, 1, 2, 3, 4].map(|test| [1.0, 2.0, 4.0][number / 3_usize.pow(test) % 3]);
        let choose = |states: &[usize], tests: &[usize]| {
            let class = |s: &usize| Class { suspect: *s, probability: STATES[*s].0 };
            let classes: Vec<Class> = states.iter().map(class).collect();
            let codes = |test: usize| states.iter().map(move |s| STATES[*s].1[test]);
            let division = |test: &usize| Some(Division::new(codes(*test))?.at_cost(costs[*test]));
            best(&classes, &tests.iter().map(|test| division(test).unwrap()).collect::<Vec<_>>(), 0.0)
        };
        let (one, fewest) = (expected(&all, costs, &choose), expected(&all, costs, &|_, _| None));
        if number == 0 {
            assert!((fewest - 2.18).abs() < 1e-9, "the published optimum: {fewest}");
        }
        assert!(one < 1.4 * fewest, "{costs:?}: {one}, the least is {fewest}");
        (ours, least, tried) = (ours + one, least + fewest, tried + 1);
    }
    assert!(tried == 243 && ours < 1.07 * least, "{}", ours / least);
}

/// The choice leaves out steps that can't be the best before their gain is worked out: it is the same as with all of them.
#[test]
fn no_step_is_left_out_of_the_choice_that_is_the_best() {
    let mut random = 1_u64;
    let mut next = |below: u64| {
        random = random.wrapping_mul(0x5851_f42d_4c95_7f2d).wrapping_add(0x1405_7b7e_f767_814f);
        (random >> 33) % below
    };
    let mut chosen = 0;
    for _ in 0..2000 {
        let suspects = 2 + next(6) as usize;
        let of = |suspect: usize, weight: u64| Class { suspect, probability: weight as f64 };
        let few = next(2) == 0;
        let classes: Vec<Class> =
            (0..2 * suspects).map(|at| of(at / 2, if few && at > 0 { 1 } else { 1 + next(400) })).collect();
        let total: f64 = classes.iter().map(|class| class.probability).sum();
        let classes: Vec<Class> =
            classes.iter().map(|class| Class { probability: class.probability / total, ..*class }).collect();
        let one = |_| {
            let answers: Vec<u16> =
                classes.iter().map(|_| if next(9) == 0 { u16::MAX } else { next(3) as u16 }).collect();
            Some(Division::new(answers.into_iter())?.at_cost(1.0 + next(20) as f64))
        };
        let divisions: Vec<Division> = (0..12).filter_map(one).collect();
        let mut plain: Option<(f64, usize)> = None;
        for (at, division) in divisions.iter().enumerate() {
            let gain = division.gain(&classes, 0.1);
            if gain > 0.02 && plain.is_none_or(|(most, _)| gain / division.cost > most * (1.0 + 1e-9)) {
                plain = Some((gain / division.cost, at));
            }
        }
        chosen += usize::from(plain.is_some());
        assert_eq!(best(&classes, &divisions, 0.1), plain.map(|(_, at)| at), "{classes:?} {divisions:?}");
    }
    assert!(chosen > 500, "{chosen}");
}
