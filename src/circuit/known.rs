//! The states that have been met: a table from the bits of a state to its number, in the order met.

use super::state::State;

/// States in the order met. All are of one circuit, so their keys have the same length.
#[derive(Debug, Clone, Default)]
pub struct Known {
    keys: Vec<u64>,
    length: usize,
    count: usize,
    /// Number of a state plus one by the hash of its key, open addressing; its length is a power of two.
    table: Vec<u32>,
    key: Vec<u64>,
}

/// Multiplier of a multiplicative hash: 2⁶⁴ over the golden ratio (Knuth, The Art of Computer Programming, 6.4).
const GOLDEN: u64 = 0x9E37_79B9_7F4A_7C15;

fn write_key(state: &State, key: &mut Vec<u64>) {
    key.clear();
    for chunk in state.positions.0.chunks(4) {
        key.push(chunk.iter().fold(0, |word, position| word << 16 | u64::from(*position)));
    }
    key.extend_from_slice(&state.memory.words);
}

fn hash(key: &[u64]) -> usize {
    let mixed = key.iter().fold(0u64, |h, word| (h.rotate_left(25) ^ word).wrapping_mul(GOLDEN));
    (mixed ^ (mixed >> 32)) as usize
}

impl Known {
    /// The place of a key in the table, or the place where it would go.
    fn place(&self, key: &[u64]) -> usize {
        let mask = self.table.len() - 1;
        let mut at = hash(key) & mask;
        while self.table[at] != 0 {
            let number = self.table[at] as usize - 1;
            if self.keys[number * self.length..(number + 1) * self.length] == *key {
                break;
            }
            at = (at + 1) & mask;
        }
        at
    }

    /// The number of a state.
    pub fn number(&self, state: &State) -> Option<usize> {
        if self.table.is_empty() {
            return None;
        }
        let mut key = vec![];
        write_key(state, &mut key);
        (self.table[self.place(&key)] as usize).checked_sub(1)
    }

    /// Records a state; `true` if it is new.
    pub fn insert(&mut self, state: &State) -> bool {
        self.meet(state).1
    }

    /// Records a state: its number, and whether it is new.
    pub fn meet(&mut self, state: &State) -> (usize, bool) {
        if 2 * (self.count + 1) > self.table.len() {
            self.grow();
        }
        let mut key = std::mem::take(&mut self.key);
        write_key(state, &mut key);
        self.length = key.len();
        let at = self.place(&key);
        let new = self.table[at] == 0;
        if new {
            self.count += 1;
            self.table[at] = self.count as u32;
            self.keys.extend_from_slice(&key);
        }
        self.key = key;
        (self.table[at] as usize - 1, new)
    }

    fn grow(&mut self) {
        let size = (2 * self.table.len()).max(64);
        self.table = vec![0; size];
        for number in 0..self.count {
            let key = &self.keys[number * self.length..(number + 1) * self.length];
            let at = self.place(key);
            self.table[at] = number as u32 + 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Circuit;

    #[test]
    fn numbers_are_the_order_met() {
        let mut circuit = Circuit::new();
        (0..12).for_each(|i| _ = circuit.input(format!("{i}"), &["off", "on"]));
        let state = |n: u32| {
            let mut state = State::at_rest(&circuit);
            (0..12).for_each(|i| state.positions.0[i] = (n >> i & 1) as u16);
            state
        };
        let mut known = Known::default();
        assert_eq!(known.number(&state(0)), None);
        assert!((0..4096).all(|n| known.insert(&state(n))));
        assert!((0..4096).all(|n| !known.insert(&state(n))));
        assert!((0..4096).all(|n| known.number(&state(n)) == Some(n as usize)));
    }
}
