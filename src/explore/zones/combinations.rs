//! Combinations of positions of a few inputs.

use circuit::{Position, position};

/// Combinations of positions of a few inputs, numbered; by how many positions each input has.
#[derive(Debug, Clone, Default)]
pub(crate) struct Combinations(pub Vec<usize>);

impl Combinations {
    /// How many there are.
    pub(crate) fn count(&self) -> usize {
        self.0.iter().product()
    }

    /// The number of the combination in which these inputs stand, the first of `positions`.
    pub(crate) fn number(&self, positions: &[Position]) -> usize {
        self.0.iter().zip(positions).rev().fold(0, |number, (count, at)| number * count + usize::from(*at))
    }

    /// The positions in one of them.
    pub(crate) fn positions(&self, mut number: usize) -> Vec<Position> {
        let each = self.0.iter().map(|count| {
            let at = number % count;
            number /= count;
            position(at)
        });
        each.collect()
    }
}
