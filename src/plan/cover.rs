//! A boolean function as a sum of products: the cheapest set of terms that covers what must be on and touches nothing
//! that must be off.
//!
//! Prime implicants of a point are the minimal sets of its literals that differ from every point that must be off (W. V.
//! Quine, 1952: the prime implicants contain a minimal sum). They are found by branching on the off point that the fewest
//! literals separate. The cover is exact up to a bounded number of steps, then greedy.

/// A product: signals that must be on, and signals that must be off, by index, ascending.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Term {
    /// Signals that must be on.
    pub on: Vec<usize>,
    /// Signals that must be off.
    pub off: Vec<usize>,
}

/// A point that must be on and one that must be off, which no signal separates: their indices.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Clash {
    /// Index into the points that must be on.
    pub on: usize,
    /// Index into the points that must be off.
    pub off: usize,
}

/// Steps of the search for a cover before the best one so far is taken.
const STEPS: usize = 20_000;
/// Prime implicants that are kept for one point.
const PRIMES: usize = 64;

/// The cheapest terms. Each point has one value for each signal. `costs` gives the cost of a signal's literal that must be
/// on and of one that must be off. One term covers both points of each pair of `together`, where there is such a term: then
/// nothing drops out between them (D. A. Huffman, The design and use of hazard-free switching networks, Journal of the ACM
/// 4, 1957, 47-62; from memory).
///
/// # Errors
/// Two points that no signal separates. There are at most 128 signals.
pub fn cover(
    on: &[Vec<bool>],
    off: &[Vec<bool>],
    costs: &[(u32, u32)],
    together: &[(usize, usize)],
) -> Result<Vec<Term>, Clash> {
    let mut primes: Vec<(Term, u32)> = Vec::new();
    let masks: Vec<u128> = off.iter().map(|point| mask(point)).collect();
    let alone = (0..on.len()).map(|at| (at, at));
    let mut joined: Vec<(usize, usize)> = Vec::new();
    for (at, other) in alone.chain(together.iter().copied()) {
        let point = &on[at];
        let (own, free) = (mask(point), mask(point) ^ mask(&on[other]));
        if let Some(same) = masks.iter().position(|other| (other ^ own) & !free == 0) {
            if at == other {
                return Err(Clash { on: at, off: same });
            }
            continue;
        }
        joined.push((at, other));
        let differing = masks.iter().map(|other| (other ^ own) & !free);
        let literals = |mask: u128| (0..point.len()).filter(move |s| mask >> s & 1 == 1).collect::<Vec<usize>>();
        let mut sets: Vec<Vec<usize>> = least(differing.collect()).into_iter().map(literals).collect();
        sets.sort();
        let mut found = Vec::new();
        hit(&sets, &mut Vec::new(), &mut found);
        for literals in found {
            let term = term(point, &literals);
            if !primes.iter().any(|(known, _)| *known == term) {
                let cost = 2 + term.on.iter().map(|s| costs[*s].0).sum::<u32>();
                let cost = cost + term.off.iter().map(|s| costs[*s].1).sum::<u32>();
                primes.push((term, cost));
            }
        }
    }
    primes.sort_by(|a, b| (a.1, &a.0).cmp(&(b.1, &b.0)));
    let both = |term: &Term, (at, other): (usize, usize)| term.holds(&on[at]) && term.holds(&on[other]);
    let mut covers: Vec<Vec<usize>> =
        joined.iter().map(|pair| (0..primes.len()).filter(|p| both(&primes[*p].0, *pair)).collect()).collect();
    // A point that every cover of another point covers too asks for nothing.
    covers.sort_by(|a, b| (a.len(), a).cmp(&(b.len(), b)));
    covers.dedup();
    let mut asking: Vec<Vec<usize>> = Vec::new();
    for point in covers {
        if !asking.iter().any(|known| known.iter().all(|p| point.contains(p))) {
            asking.push(point);
        }
    }
    let mut search = Search { primes: &primes, covers: &asking, best: None, steps: 0 };
    search.run(&mut Vec::new(), 0);
    let chosen = search.best.map(|(_, chosen)| chosen).unwrap_or_default();
    let mut terms: Vec<Term> = chosen.into_iter().map(|p| primes[p].0.clone()).collect();
    terms.sort();
    Ok(terms)
}

/// A point as bits.
fn mask(point: &[bool]) -> u128 {
    point.iter().enumerate().map(|(s, on)| u128::from(*on) << s).sum()
}

/// The masks that contain no other one.
fn least(mut masks: Vec<u128>) -> Vec<u128> {
    masks.sort_by_key(|mask| (mask.count_ones(), *mask));
    masks.dedup();
    let mut kept: Vec<u128> = Vec::new();
    for mask in masks {
        if !kept.iter().any(|known| mask & known == *known) {
            kept.push(mask);
        }
    }
    kept
}

fn term(point: &[bool], literals: &[usize]) -> Term {
    let mut literals = literals.to_vec();
    literals.sort_unstable();
    let (on, off) = literals.into_iter().partition(|s| point[*s]);
    Term { on, off }
}

impl Term {
    /// Whether a point is in the product.
    pub fn holds(&self, point: &[bool]) -> bool {
        self.on.iter().all(|s| point[*s]) && !self.off.iter().any(|s| point[*s])
    }
}

/// Minimal sets of literals that hit every set.
fn hit(sets: &[Vec<usize>], chosen: &mut Vec<usize>, found: &mut Vec<Vec<usize>>) {
    if found.len() >= PRIMES {
        return;
    }
    let open = sets.iter().filter(|set| !set.iter().any(|s| chosen.contains(s)));
    let Some(next) = open.min_by_key(|set| set.len()) else {
        let needed =
            |literal: &usize| sets.iter().any(|set| set.iter().filter(|s| chosen.contains(s)).all(|s| s == literal));
        if chosen.iter().all(needed) {
            let mut minimal = chosen.clone();
            minimal.sort_unstable();
            if !found.contains(&minimal) {
                found.push(minimal);
            }
        }
        return;
    };
    for literal in next.clone() {
        chosen.push(literal);
        hit(sets, chosen, found);
        chosen.pop();
    }
}

struct Search<'a> {
    primes: &'a [(Term, u32)],
    /// For each point that must be on, the primes that cover it, cheapest first.
    covers: &'a [Vec<usize>],
    best: Option<(u32, Vec<usize>)>,
    steps: usize,
}

impl Search<'_> {
    fn run(&mut self, chosen: &mut Vec<usize>, cost: u32) {
        self.steps += 1;
        if self.best.as_ref().is_some_and(|(best, _)| cost >= *best || self.steps > STEPS) {
            return;
        }
        let open = self.covers.iter().filter(|covers| !covers.iter().any(|p| chosen.contains(p)));
        let Some(next) = open.min_by_key(|covers| covers.len()) else {
            self.best = Some((cost, chosen.clone()));
            return;
        };
        for prime in next.clone() {
            chosen.push(prime);
            self.run(chosen, cost + self.primes[prime].1);
            chosen.pop();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(signals: usize) -> Vec<Vec<bool>> {
        (0..1usize << signals).map(|n| (0..signals).map(|s| n >> s & 1 == 1).collect()).collect()
    }

    /// The cover is exact on every point that must be on or off, for every function of three signals with every set of
    /// don't-cares that a base-3 number names.
    #[test]
    fn covers_are_right_for_every_function_of_three_signals() {
        let all = points(3);
        for number in 0..3usize.pow(8) {
            let digit = |i: usize| number / 3usize.pow(i as u32) % 3;
            let pick = |wanted: usize| -> Vec<Vec<bool>> {
                (0..8).filter(|i| digit(*i) == wanted).map(|i| all[i].clone()).collect()
            };
            let (on, off) = (pick(1), pick(0));
            let terms = cover(&on, &off, &[(1, 2); 3], &[]).expect("distinct points");
            assert!(on.iter().all(|point| terms.iter().any(|term| term.holds(point))), "{number}");
            assert!(!off.iter().any(|point| terms.iter().any(|term| term.holds(point))), "{number}");
        }
    }

    /// No sum of products with fewer terms covers the same function, by trying every one of them.
    #[test]
    fn covers_have_the_fewest_terms_for_every_function_of_three_signals() {
        let all = points(3);
        let every: Vec<Term> = (0..27usize)
            .map(|n| {
                let of = |wanted: usize| (0..3).filter(|s| n / 3usize.pow(*s as u32) % 3 == wanted).collect();
                Term { on: of(1), off: of(2) }
            })
            .collect();
        let masks: Vec<u8> =
            every.iter().map(|term| (0..8).filter(|i| term.holds(&all[*i])).map(|i| 1u8 << i).sum()).collect();
        for function in 0..=255u8 {
            let (on, off): (Vec<usize>, Vec<usize>) = (0..8).partition(|i| function >> i & 1 == 1);
            let pick = |of: &[usize]| of.iter().map(|i| all[*i].clone()).collect::<Vec<_>>();
            let terms = cover(&pick(&on), &pick(&off), &[(0, 0); 3], &[]).expect("distinct points");
            let inside: Vec<u8> = masks.iter().copied().filter(|mask| mask & !function == 0).collect();
            let mut reached = std::collections::BTreeSet::from([0u8]);
            let mut fewest = 0;
            while !reached.contains(&function) {
                fewest += 1;
                reached = reached.iter().flat_map(|sum| inside.iter().map(move |mask| sum | mask)).collect();
            }
            assert_eq!(terms.len(), fewest, "function {function:08b}");
        }
    }

    /// Two terms that meet do not cover both points between them; one more does.
    #[test]
    fn points_that_belong_together_share_a_term() {
        let all = points(3);
        let holds = |point: &[bool]| if point[0] { point[1] } else { point[2] };
        let (on, off): (Vec<Vec<bool>>, Vec<Vec<bool>>) = all.into_iter().partition(|point| holds(point));
        let at = |point: [bool; 3]| on.iter().position(|other| *other == point).expect("it is on");
        let pair = (at([true, true, true]), at([false, true, true]));
        let count = |together: &[(usize, usize)]| cover(&on, &off, &[(1, 2); 3], together).expect("distinct").len();
        assert_eq!((count(&[]), count(&[pair])), (2, 3));
    }

    #[test]
    fn points_that_no_signal_separates_are_reported() {
        assert_eq!(cover(&[vec![true]], &[vec![false], vec![true]], &[(1, 1)], &[]), Err(Clash { on: 0, off: 1 }));
    }
}
