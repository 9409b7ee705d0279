//! Folding: states that look alike become one line, with a dash where a position does not matter.
//!
//! A fold is a choice of a value or a dash in every dimension. It is right when all reachable states that fit it come
//! to the same outcome; states that can't be reached do not count. Folds are grown from single states, one dash after
//! the other, as prime implicants are (W. Quine, 1952; E. McCluskey, 1956). Of those found, the fewest that cover every
//! state are taken.

use std::collections::{BTreeMap, BTreeSet};

/// A state: its value in every dimension, and its result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct State {
    pub values: Vec<usize>,
    pub outcome: usize,
}

/// Some states in one line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Fold {
    /// The value in every dimension; `None` if it does not matter.
    pub values: Vec<Option<usize>>,
    pub outcome: usize,
    /// Indices of the states that fit it.
    pub states: Vec<usize>,
}

/// Every state on its own.
pub(super) fn unfolded(states: &[State]) -> Vec<Fold> {
    let single = |(i, state): (usize, &State)| Fold {
        values: state.values.iter().copied().map(Some).collect(),
        outcome: state.outcome,
        states: vec![i],
    };
    states.iter().enumerate().map(single).collect()
}

/// As few folds as it takes so that every state fits at least one; a dash stands only where several values occur.
pub(super) fn folded(states: &[State]) -> Vec<Fold> {
    let mut folds = covering(states);
    for fold in &mut folds {
        for (dimension, value) in fold.values.iter_mut().enumerate() {
            let mut occurring = fold.states.iter().map(|&state| states[state].values[dimension]);
            let first = occurring.next();
            if value.is_none() && occurring.all(|other| Some(other) == first) {
                *value = first;
            }
        }
    }
    folds
}

/// The same with a dash wherever a value need not be given, also where the others imply it.
pub(super) fn covering(states: &[State]) -> Vec<Fold> {
    let sets = Sets::new(states);
    let dimensions = states.first().map_or(0, |state| state.values.len());
    let orders = if states.len() <= MOST_STATES { 2 * dimensions } else { 2 };
    let mut found: BTreeMap<Vec<Option<usize>>, Fold> = BTreeMap::new();
    for order in 0..orders.max(1) {
        let turned = (0..dimensions).map(|i| (i + order / 2) % dimensions);
        let turned: Vec<usize> = if order % 2 == 0 { turned.collect() } else { turned.rev().collect() };
        let grown = sets.grown(states, &turned);
        found.extend(grown.into_iter().map(|fold| (fold.values.clone(), fold)));
    }
    let mut folds = fewest(found.into_values().collect(), states.len());
    folds.sort_by_key(|fold| fold.states.first().copied());
    folds
}

/// States up to which every order of the dimensions is tried.
const MOST_STATES: usize = 600;
/// Choices tried to find the fewest folds; then the best so far is taken.
const MOST_TRIED: usize = 20_000;

/// Which states have each value and each outcome, a bit for each state.
struct Sets {
    values: Vec<Vec<Bits>>,
    outcomes: BTreeMap<usize, Bits>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
struct Bits(Vec<u64>);

impl Bits {
    fn new(count: usize) -> Bits {
        Bits(vec![0; count.div_ceil(64)])
    }
    fn set(&mut self, bit: usize) {
        self.0[bit / 64] |= 1 << (bit % 64);
    }
    fn has(&self, bit: usize) -> bool {
        self.0[bit / 64] >> (bit % 64) & 1 == 1
    }
    fn keep(&mut self, other: &Bits) {
        self.0.iter_mut().zip(&other.0).for_each(|(word, other)| *word &= other);
    }
    fn is_within(&self, other: &Bits) -> bool {
        self.0.iter().zip(&other.0).all(|(word, other)| word & !other == 0)
    }
}

impl Sets {
    fn new(states: &[State]) -> Sets {
        let dimensions = states.first().map_or(0, |state| state.values.len());
        let mut sets = Sets { values: vec![Vec::new(); dimensions], outcomes: BTreeMap::new() };
        for (i, state) in states.iter().enumerate() {
            for (values, &value) in sets.values.iter_mut().zip(&state.values) {
                while values.len() <= value {
                    values.push(Bits::new(states.len()));
                }
                values[value].set(i);
            }
            sets.outcomes.entry(state.outcome).or_insert_with(|| Bits::new(states.len())).set(i);
        }
        sets
    }

    /// The states that fit some values.
    fn fitting(&self, values: &[Option<usize>], count: usize) -> Bits {
        let mut fitting = Bits(vec![u64::MAX; count.div_ceil(64)]);
        for (dimension, value) in values.iter().enumerate() {
            if let Some(value) = value {
                fitting.keep(&self.values[dimension][*value]);
            }
        }
        if !count.is_multiple_of(64)
            && let Some(last) = fitting.0.last_mut()
        {
            *last &= (1 << (count % 64)) - 1;
        }
        fitting
    }

    /// Folds that cover every state, each grown from the first state that none before covers.
    fn grown(&self, states: &[State], order: &[usize]) -> Vec<Fold> {
        let mut covered = vec![false; states.len()];
        let mut folds: Vec<Fold> = Vec::new();
        for (i, state) in states.iter().enumerate() {
            if covered[i] {
                continue;
            }
            let same = &self.outcomes[&state.outcome];
            let mut values: Vec<Option<usize>> = state.values.iter().copied().map(Some).collect();
            for &dimension in order {
                let kept = values[dimension].take();
                if !self.fitting(&values, states.len()).is_within(same) {
                    values[dimension] = kept;
                }
            }
            let mut fitting = self.fitting(&values, states.len());
            fitting.keep(same);
            let fitting: Vec<usize> = (0..states.len()).filter(|&j| fitting.has(j)).collect();
            fitting.iter().for_each(|&j| covered[j] = true);
            folds.push(Fold { values, outcome: state.outcome, states: fitting });
        }
        folds
    }
}

/// The fewest folds that cover every state.
fn fewest(folds: Vec<Fold>, count: usize) -> Vec<Fold> {
    let mut by_state: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (i, fold) in folds.iter().enumerate() {
        fold.states.iter().for_each(|&state| by_state[state].push(i));
    }
    // The widest first: a good first answer bounds the search.
    by_state.iter_mut().for_each(|own| own.sort_by_key(|&i| (std::cmp::Reverse(folds[i].states.len()), i)));
    let mut chosen = BTreeSet::new();
    for outcome in folds.iter().map(|fold| fold.outcome).collect::<BTreeSet<usize>>() {
        let mut own: Vec<usize> =
            folds.iter().filter(|fold| fold.outcome == outcome).flat_map(|fold| fold.states.clone()).collect();
        own.sort_unstable();
        own.dedup();
        let mut search = Cover { folds: &folds, by_state: &by_state, best: None, tried: 0 };
        search.choose(&own, &mut Vec::new());
        chosen.extend(search.best.unwrap_or_default());
    }
    folds.into_iter().enumerate().filter(|(i, _)| chosen.contains(i)).map(|(_, fold)| fold).collect()
}

struct Cover<'f> {
    folds: &'f [Fold],
    by_state: &'f [Vec<usize>],
    best: Option<Vec<usize>>,
    tried: usize,
}

impl Cover<'_> {
    /// Covers the states that are left: the one with the fewest choices first, each of its choices in turn.
    fn choose(&mut self, left: &[usize], taken: &mut Vec<usize>) {
        self.tried += 1;
        if self.best.as_ref().is_some_and(|best| taken.len() + usize::from(!left.is_empty()) >= best.len()) {
            return;
        }
        let Some(&state) = left.iter().min_by_key(|&&state| self.by_state[state].len()) else {
            self.best = Some(taken.clone());
            return;
        };
        for &fold in &self.by_state[state] {
            if self.best.is_some() && self.tried > MOST_TRIED {
                return;
            }
            let rest: Vec<usize> =
                left.iter().copied().filter(|s| self.folds[fold].states.binary_search(s).is_err()).collect();
            taken.push(fold);
            self.choose(&rest, taken);
            taken.pop();
        }
    }
}

/// Whether a state fits some values.
#[cfg(test)]
pub(super) fn fits(values: &[Option<usize>], state: &State) -> bool {
    values.iter().zip(&state.values).all(|(wanted, value)| wanted.is_none_or(|wanted| wanted == *value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn state(values: &[usize], outcome: usize) -> State {
        State { values: values.to_vec(), outcome }
    }

    #[test]
    fn what_does_not_matter_becomes_a_dash() {
        // Reverse (first) decides alone; the turn signal (second) only without it.
        let states = [state(&[0, 0], 0), state(&[0, 1], 1), state(&[1, 0], 2), state(&[1, 1], 2)];
        let folds = folded(&states);
        assert_eq!(folds.len(), 3);
        assert!(folds.iter().any(|fold| fold.values == [Some(1), None] && fold.states == [2, 3]));
    }

    #[test]
    fn a_value_that_the_others_imply_is_shown() {
        // The second dimension is on only with the first.
        let states = [state(&[0, 0], 0), state(&[1, 0], 1), state(&[1, 1], 2)];
        assert!(folded(&states).iter().any(|fold| fold.values == [Some(1), Some(1)]));
        assert!(covering(&states).iter().any(|fold| fold.values == [None, Some(1)]));
    }

    /// A cycle of six, the usual example of a cover that growing alone makes too large: three folds do.
    #[test]
    fn the_fewest_folds_are_taken() {
        let on = [[0, 0, 0], [0, 0, 1], [0, 1, 1], [1, 1, 1], [1, 1, 0], [1, 0, 0]];
        let off = [[0, 1, 0], [1, 0, 1]];
        let states: Vec<State> = on.iter().map(|v| state(v, 1)).chain(off.iter().map(|v| state(v, 0))).collect();
        assert_eq!(folded(&states).iter().filter(|fold| fold.outcome == 1).count(), 3);
    }

    #[test]
    fn what_can_not_be_reached_does_not_count() {
        // With the key off nothing else can be on: whatever else is said of it does not matter.
        let states = [state(&[0, 0], 0), state(&[1, 0], 1), state(&[1, 1], 1)];
        assert_eq!(folded(&states).len(), 2);
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn every_state_fits_a_fold_of_its_outcome_and_none_of_another(
            outcomes in prop::collection::vec(prop::option::weighted(0.8, 0usize..3), 24),
        ) {
            let all = (0..24).map(|i| vec![i % 2, i / 2 % 3, i / 6 % 2, i / 12]);
            let states: Vec<State> = all.zip(&outcomes).filter_map(|(values, o)| Some(State { values, outcome: (*o)? })).collect();
            let folds = folded(&states);
            prop_assert!(folds.len() <= states.len());
            // No fold can be left out, and no value of a covering fold be a dash.
            for (i, fold) in folds.iter().enumerate() {
                let others = || folds.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, other)| other);
                prop_assert!(fold.states.iter().any(|&s| others().all(|other| !fits(&other.values, &states[s]))));
            }
            for fold in covering(&states) {
                for dimension in (0..fold.values.len()).filter(|&d| fold.values[d].is_some()) {
                    let mut wider = fold.values.clone();
                    wider[dimension] = None;
                    prop_assert!(states.iter().any(|state| fits(&wider, state) && state.outcome != fold.outcome));
                }
            }
            for state in &states {
                prop_assert!(folds.iter().any(|fold| fits(&fold.values, state) && fold.outcome == state.outcome));
                prop_assert!(folds.iter().all(|fold| !fits(&fold.values, state) || fold.outcome == state.outcome));
            }
        }
    }
}
