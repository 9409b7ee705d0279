//! Folding: states that look alike become one row, with a dash where a position does not matter.
//!
//! A fold is a choice of a value or a dash in every dimension. It is right when all reachable states that fit it come
//! to the same outcome; states that can't be reached do not count. Folds are grown from single states, one dash after
//! the other, as prime implicants are (W. Quine, 1952; E. McCluskey, 1956), without asking for the least number of
//! them.

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

/// As few folds as growing them finds, so that every state fits at least one.
pub(super) fn folded(states: &[State]) -> Vec<Fold> {
    let dimensions = states.first().map_or(0, |state| state.values.len());
    let forward: Vec<usize> = (0..dimensions).collect();
    let backward: Vec<usize> = (0..dimensions).rev().collect();
    let (a, b) = (grown(states, &forward), grown(states, &backward));
    if b.len() < a.len() { b } else { a }
}

fn grown(states: &[State], order: &[usize]) -> Vec<Fold> {
    let mut covered = vec![false; states.len()];
    let mut folds: Vec<Fold> = Vec::new();
    for (i, state) in states.iter().enumerate() {
        if covered[i] {
            continue;
        }
        let mut values: Vec<Option<usize>> = state.values.iter().copied().map(Some).collect();
        for &dimension in order {
            let kept = values[dimension].take();
            if states.iter().any(|other| fits(&values, other) && other.outcome != state.outcome) {
                values[dimension] = kept;
            }
        }
        let fitting = |j: &usize| fits(&values, &states[*j]) && states[*j].outcome == state.outcome;
        let fitting: Vec<usize> = (0..states.len()).filter(fitting).collect();
        fitting.iter().for_each(|&j| covered[j] = true);
        folds.push(Fold { values, outcome: state.outcome, states: fitting });
    }
    folds
}

fn fits(values: &[Option<usize>], state: &State) -> bool {
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
            for state in &states {
                prop_assert!(folds.iter().any(|fold| fits(&fold.values, state) && fold.outcome == state.outcome));
                prop_assert!(folds.iter().all(|fold| !fits(&fold.values, state) || fold.outcome == state.outcome));
            }
        }
    }
}
